"""What has been worked out about pieces: found in memory, else in the studio's cache, else begun in a worker's process."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from typing import Any, Final, TypeVar

from passagework.engraving.layered import LayeredSystem
from passagework.hands.hand import Hands
from passagework.studio.computed import ComputedKey
from passagework.studio.piece_records import PieceRecord
from passagework.web.jobs import Job, Jobs
from passagework.web.piece import work
from passagework.web.piece.drawing import layered_from_json, layered_to_json
from passagework.web.piece.fingers_document import Fingers
from passagework.web.piece.hold import Fixed
from passagework.web.piece.places_document import Places
from passagework.web.piece.score_document import Score

VERSION: Final = 5
"""Raised whenever a document changes its form."""

KEPT: Final = 24
"""Documents that are kept in memory: the pieces of an afternoon."""

MOST_DRAWN: Final = 3000
"""Drawn systems kept in memory, some 20 kB each."""

Value = TypeVar("Value")


@dataclass(frozen=True)
class Whose:
    """A piece for somebody's hands, with the teacher's fingers."""

    piece: PieceRecord
    hands: Hands
    fixed: Fixed = ()

    @property
    def hand(self) -> str:
        """The hands in a few letters, for keys."""
        return digest(repr((self.hands.left, self.hands.right)))

    @property
    def fingers(self) -> str:
        """What names the fingers document."""
        return f"fingers/{digest(repr(self.fixed)) if self.fixed else ''}"


def digest(text: str) -> str:
    """A short name for `text`."""
    return blake2b(text.encode(), digest_size=10).hexdigest()


class Shelf:
    """The documents of all pieces. Safe to share by threads."""

    def __init__(self, studio: Any, jobs: Jobs) -> None:
        self.studio, self.jobs = studio, jobs
        self._held: OrderedDict[ComputedKey, Any] = OrderedDict()
        self._drawn: OrderedDict[tuple[str, str], LayeredSystem] = OrderedDict()
        self._latest: OrderedDict[tuple[str, str], Whose] = OrderedDict()
        self._lock = threading.RLock()

    # what is there

    def score(self, piece: PieceRecord) -> Score | None:
        """The score document."""
        return self._get(key_of(piece.hash, "score"), Score)

    def places(self, whose: Whose) -> Places | None:
        """The places document."""
        return self._get(key_of(whose.piece.hash, "places", whose.hand), Places)

    def fingers(self, whose: Whose) -> Fingers | None:
        """The fingers document for just these fixed fingers."""
        return self._get(key_of(whose.piece.hash, whose.fingers, whose.hand), Fingers)

    def note_fingers(self, whose: Whose) -> None:
        """Remember these fixed fingers as the last ones that were shown."""
        with self._lock:
            self._latest[whose.piece.hash, whose.hand] = whose
            while len(self._latest) > KEPT:
                self._latest.popitem(last=False)

    def latest_fingers(self, whose: Whose) -> Fingers | None:
        """The fingers that were shown last for these hands, or those with none fixed: to be shown until
        the new ones are found.
        """
        with self._lock:
            last = self._latest.get((whose.piece.hash, whose.hand))
        known = self.fingers(last) if last else None
        return known or self.fingers(replace(whose, fixed=()))

    def document(self, whose: Whose, what: str) -> Any:
        """Another document as JSON values; None where it is not there."""
        return self._get(key_of(whose.piece.hash, what, whose.hand), lambda value: value)

    def file(self, whose: Whose, what: str) -> bytes | None:
        """A document that is no JSON: a file to be taken away."""
        found: bytes | None = self.studio.computed.get(key_of(whose.piece.hash, what, whose.hand))
        return found

    def drawn(self, whose: Whose) -> Drawn:
        """The drawn systems of a piece, those of the cache first."""
        key = key_of(whose.piece.hash, "drawn", whose.hand)
        known = self._get(key, layered_from_json)
        return Drawn(self, key, whose.piece.hash, known or {})

    # what is begun

    def prepare(self, whose: Whose, title: str) -> Job:
        """Begin to work out what is missing of a piece, but its fingering.

        Raises `StudioError` where its file is not there.
        """
        piece = whose.piece
        with_score = self.score(piece) is None
        names = {
            "score": key_of(piece.hash, "score"),
            "places": key_of(piece.hash, "places", whose.hand),
        }

        def keep(found: work.Documents) -> None:
            for name, data in found.items():
                self._put(names[name], data)

        data = self.studio.pieces.score(piece.id)
        arguments = (data, piece.file_name, whose.hands, with_score)
        key = f"piece:{piece.hash}:{whose.hand}:{with_score}"
        return self.jobs.submit(
            "piece", work.prepare, arguments, key, title=title, near=piece.hash, keep=keep
        )

    def refinger(self, whose: Whose) -> Job:
        """Begin to find the fingering, in a worker of its own if one is free."""
        title, near = "Finding fingers", f"{whose.piece.hash} fingers"
        return self.work(whose, whose.fingers, work.refinger, title=title, near=near)

    def work(
        self,
        whose: Whose,
        what: str,
        function: Callable[..., Any],
        more: tuple[Any, ...] = (),
        *,
        title: str,
        near: str = "",
        keep: bool = True,
    ) -> Job:
        """Begin to work out one document, `what`, by a function of `work`.

        Without `keep` it stays with the job. Raises `StudioError` where the piece's file is not there.
        """
        piece = whose.piece
        key = key_of(piece.hash, what, whose.hand)
        return self.jobs.submit(
            what.split("/", maxsplit=1)[0],
            function,
            (self.studio.pieces.score(piece.id), piece.file_name, whose.hands, whose.fixed, *more),
            f"{what}:{piece.hash}:{whose.hand}:{digest(repr(whose.fixed))}",
            title=title,
            near=near or piece.hash,
            keep=(lambda data: self._put(key, data)) if keep else None,
        )

    # the memory

    def _get(self, key: ComputedKey, read: Callable[[Any], Value]) -> Value | None:
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                value: Value = self._held[key]
                return value
        data = self.studio.computed.get(key)
        if data is None:
            return None
        value = read(json.loads(data))
        with self._lock:
            self._held[key] = value
            while len(self._held) > KEPT:
                self._held.popitem(last=False)
        return value

    def _put(self, key: ComputedKey, data: bytes) -> None:
        self.studio.computed.put(key, data)
        with self._lock:
            self._held.pop(key, None)

    def remembered(self, piece_hash: str, print_: str) -> LayeredSystem | None:
        """A system drawn since the program started."""
        with self._lock:
            found = self._drawn.get((piece_hash, print_))
            if found is not None:
                self._drawn.move_to_end((piece_hash, print_))
            return found

    def remember(self, piece_hash: str, print_: str, drawn: LayeredSystem) -> None:
        """Keep a drawn system in memory."""
        with self._lock:
            self._drawn[piece_hash, print_] = drawn
            while len(self._drawn) > MOST_DRAWN:
                self._drawn.popitem(last=False)


class Drawn(dict[str, LayeredSystem]):
    """Drawings by print, as `draw_sheet` asks for them: those of the cache, of the memory, and new ones."""

    def __init__(
        self, shelf: Shelf, key: ComputedKey, piece_hash: str, known: dict[str, LayeredSystem]
    ) -> None:
        super().__init__(known)
        self._shelf, self._key, self._piece = shelf, key, piece_hash
        self.new = 0

    def get(self, print_: str, default: Any = None) -> Any:
        """A drawing, or `default`."""
        found = super().get(print_)
        return found or self._shelf.remembered(self._piece, print_) or default

    def __setitem__(self, print_: str, drawn: LayeredSystem) -> None:
        super().__setitem__(print_, drawn)
        self._shelf.remember(self._piece, print_, drawn)
        self.new += 1

    def keep(self, prints: Sequence[str]) -> None:
        """Put the drawings of `prints`, what the page shows now, into the cache for the next time."""
        rows = {p: drawn for p in prints if (drawn := self.get(p)) is not None}
        self._shelf._put(self._key, work.to_bytes(layered_to_json(rows)))


def key_of(piece_hash: str, what: str, hand: str = "") -> ComputedKey:
    """Where a document is kept."""
    return ComputedKey(piece_hash, f"piece-page/{VERSION}/{what}", hand)
