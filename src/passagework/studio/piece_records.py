"""What the studio hands out and takes in about pieces; the conventions stand in `passagework.studio.records`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from passagework.score.titles import title_of_file


@dataclass(frozen=True, kw_only=True)
class PieceFacts:
    """What is computed from a score once, so that the library can list, sort and search it."""

    title: str = ""
    """As the score says."""
    composer: str = ""
    key: str = ""
    """``"Eb major"``; empty where it cannot be told."""
    metre: str = ""
    """``"3/4"``, of the first bar that is whole."""
    bars: int = 0
    notes: int = 0
    minutes: float | None = None
    """Playing time with repeats; None where the tempo cannot be told."""
    lowest: int | None = None
    """MIDI numbers of the range."""
    highest: int | None = None
    warnings: tuple[str, ...] = ()
    profile: Mapping[str, Any] | None = None
    """The demand profile (`passagework.demands`) as JSON; None while it is not measured."""
    profile_version: int | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)
    """What of the profile is searched and sorted by: ``"kind:leap"`` (the hardest), ``"descriptor:..."``."""


@dataclass(frozen=True, kw_only=True)
class Edition:
    """A book that the piece is printed in."""

    title: str
    publisher: str = ""
    place: str = ""
    """Page or number in it."""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class PieceLevel:
    """Where the piece stands on one of the teacher's lists."""

    list_name: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Background:
    """Something worth knowing about the piece, and where it is from."""

    text: str
    source: str


@dataclass(frozen=True, kw_only=True)
class PieceDetails:
    """What a teacher notes about a piece. Sequences are kept in the order given."""

    own_title: str = ""
    """In place of the score's; empty to take that."""
    own_composer: str = ""
    notes: str = ""
    tags: tuple[str, ...] = ()
    editions: tuple[Edition, ...] = ()
    levels: tuple[PieceLevel, ...] = ()
    """At most one on each list."""
    backgrounds: tuple[Background, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PieceRecord(PieceDetails):
    """A piece of the library."""

    id: int
    uid: str
    hash: str
    """SHA-256 of the score's file, in hexadecimal."""
    file_name: str
    size: int
    """Bytes."""
    facts: PieceFacts
    """Without `profile` and `numbers` in lists; `Pieces.get` has both."""
    level_score: float | None
    """Orders pieces finer than levels (`passagework.demands`); None while not measured."""
    deleted: bool
    added_at: datetime
    changed_at: datetime

    @property
    def title(self) -> str:
        """The teacher's title, else the score's, else the file's name."""
        return self.own_title or self.facts.title or title_of_file(self.file_name)

    @property
    def composer(self) -> str:
        """The teacher's word, else the score's."""
        return self.own_composer or self.facts.composer


@dataclass(frozen=True, slots=True)
class Added:
    """A score that was brought in."""

    piece: PieceRecord
    known: bool
    """True where the same content was in the library already; nothing is doubled."""
    undo: str


@dataclass(frozen=True, kw_only=True)
class LevelList:
    """One of the teacher's own or local lists of levels."""

    id: int
    name: str
    labels: tuple[str, ...]
    """Easiest first."""
    pieces: int
    """Pieces placed on it."""


@dataclass(frozen=True, slots=True)
class Between:
    """A range, ends included; None for open."""

    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, kw_only=True)
class PieceQuery:
    """What to look for in the library; what is left out does not matter."""

    text: str = ""
    """Beginnings of words, all of which must occur in what is known of the piece; accents and case do not count."""
    composer: str = ""
    """The whole name, as in `PieceRecord.composer`."""
    key: str = ""
    metre: str = ""
    tag: str = ""
    collection: str = ""
    """Title of an edition."""
    level_list: str = ""
    level_labels: tuple[str, ...] = ()
    """Any of these, on `level_list`; empty for every piece placed on it."""
    bars: Between | None = None
    minutes: Between | None = None
    level_score: Between | None = None
    numbers: Mapping[str, Between] = field(default_factory=dict)
    """Ranges for `PieceFacts.numbers`."""
    studied_by: int | None = None
    """Id of a student who studies or studied it."""
    not_studied_by: int | None = None
    deleted: bool = False
    """True to list what was deleted and can still come back."""
    sort: str = "title"
    """``title``, ``composer``, ``added``, ``level``, ``bars``, ``notes``, ``minutes``, ``relevance`` (with `text`), or a name
    of `PieceFacts.numbers`; pieces without a value come last."""
    descending: bool = False
    page: int = 1
    page_size: int = 50


@dataclass(frozen=True, kw_only=True)
class PiecePage:
    """One page of what was found."""

    pieces: tuple[PieceRecord, ...]
    total: int
    page: int
    pages: int
