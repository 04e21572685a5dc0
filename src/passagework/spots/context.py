"""What every detector may ask about a piece, computed once."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import TYPE_CHECKING

from passagework.analysis.form import Form, find_form
from passagework.analysis.harmony import Harmony, analyse_harmony
from passagework.analysis.loudness import LoudnessCurve, loudness_curve
from passagework.analysis.marks import Mark, read_marks
from passagework.analysis.melody import Tune, find_tune
from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.analysis.texture import BarTexture, find_texture
from passagework.hands.hand import Hand, Hands
from passagework.score.bar_names import bar_names
from passagework.score.piece import Bar, Note, Piece, Position, Side, sort_key
from passagework.spots.level import Level, estimate_level
from passagework.spots.spans import Spans

if TYPE_CHECKING:
    from passagework.hands.fingering import Fingering


@dataclass(frozen=True)
class Attack:
    """What one hand strikes at one position (grace notes apart), lowest note first."""

    onset: Position
    side: Side
    notes: tuple[Note, ...]
    midis: tuple[int, ...]
    """MIDI numbers of the notes, in their order."""
    tick: int
    """`onset` in whole ticks of the piece (`Piece.ticks`), for loops that ask often."""
    release: int
    """Tick at which its last note ends."""

    @property
    def low(self) -> Note:
        """Its lowest note."""
        return self.notes[0]

    @property
    def high(self) -> Note:
        """Its highest note."""
        return self.notes[-1]

    @property
    def bar(self) -> int:
        """Index of its bar."""
        return self.notes[0].bar

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of its notes."""
        return tuple(n.id for n in self.notes)


def is_plain(note: Note) -> bool:
    """Whether a student plays the note in time as it stands: printed, and no grace note.

    Notes in small print (cues) are played: in music for piano alone they are figures, cadenzas and
    accompaniments, hardly ever another player's part.
    """
    return note.printed and not note.grace


Struck = tuple[int, int, int, Note]
"""A note with its tick of onset, its MIDI number and its tick of release: what is sorted by."""


def _attacks(side: Side, notes: Iterable[Struck]) -> tuple[Attack, ...]:
    rows: dict[int, list[Struck]] = defaultdict(list)
    for struck in notes:
        rows[struck[0]].append(struck)
    result: list[Attack] = []
    for tick, row in sorted(rows.items()):
        row.sort(key=lambda struck: struck[1])
        members = tuple(struck[3] for struck in row)
        midis = tuple(struck[1] for struck in row)
        release = max(struck[2] for struck in row)
        result.append(Attack(members[0].onset, side, members, midis, tick, release))
    return tuple(result)


@dataclass(frozen=True)
class Context:
    """A piece with the student's hand; derived facts are cached properties."""

    piece: Piece
    hand: Hand = field(default_factory=Hand)
    """The hand that difficulties are judged by; of two that differ, the smaller."""
    both: Hands | None = None
    """Both hands, for the fingering, where they differ."""
    fixed: Mapping[str, tuple[int, ...]] = field(default_factory=dict, hash=False)
    """The teacher's fingers by note id."""

    @cached_property
    def tempo(self) -> TempoMap:
        """Tempo along the piece."""
        return tempo_map(self.piece, self.marks)

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        """The words on the page as phrases."""
        return read_marks(self.piece)

    @cached_property
    def tune(self) -> Tune:
        """Which notes carry the tune, and where it passes from hand to hand."""
        return find_tune(self.piece)

    @cached_property
    def harmony(self) -> Harmony:
        """Keys and chords along the piece."""
        return analyse_harmony(self.piece)

    @cached_property
    def texture(self) -> tuple[BarTexture, ...]:
        """How each hand is written, bar by bar."""
        return find_texture(self.piece)

    @cached_property
    def form(self) -> Form:
        """Sections, phrases, what comes back and where near-equal passages part."""
        return find_form(self.piece, self.tune, self.texture)

    @cached_property
    def fingering(self) -> Fingering:
        """Fingers for every note, the printed ones kept where this hand can take them."""
        from passagework.hands.fingering import finger_piece  # with numpy, and not always needed

        hands = self.both or Hands.alike(self.hand)
        return finger_piece(self.piece, hands, fixed=self.fixed, tempo=self.tempo)

    def with_fixed(
        self, fixed: Mapping[str, tuple[int, ...]], piece: Piece | None = None
    ) -> Context:
        """The same with other fingers fixed; what does not hang on them is not worked out again.

        `piece` is the same piece with these fingers in print, where they are to be.
        """
        other = Context(piece or self.piece, self.hand, self.both, fixed)
        own = {field_.name for field_ in fields(self)}
        known = {k: v for k, v in self.__dict__.items() if k not in own and k != "fingering"}
        other.__dict__.update(known)
        return other

    def seconds(self, position: Position) -> float:
        """Seconds from the start to `position`, repeats not unfolded."""
        cache = self._seconds
        key = position.as_integer_ratio()  # hashed in a fifth of the time of a fraction
        value = cache.get(key)
        if value is None:
            value = cache[key] = self.tempo.seconds(position)
        return value

    @cached_property
    def _seconds(self) -> dict[tuple[int, int], float]:
        return {}

    @cached_property
    def loudness(self) -> LoudnessCurve:
        """Loudness along the piece, for each staff."""
        return loudness_curve(self.piece, self.marks)

    @cached_property
    def level(self) -> Level:
        """The level the piece is for."""
        return estimate_level(self)

    @cached_property
    def struck(self) -> list[Struck]:
        """Every note that a student plays in time, in order, with its ticks."""
        ticks = self.piece.ticks
        rows: list[Struck] = []
        for note in self.piece.notes:
            if is_plain(note):
                tick = ticks(note.onset)
                rows.append((tick, note.midi, tick + ticks(note.duration), note))
        return rows

    @cached_property
    def attacks(self) -> dict[Side, tuple[Attack, ...]]:
        """For each hand its attacks in order; grace notes, and notes that are not printed (an
        ornament played out by the file), apart.
        """
        rows: dict[Side, list[Struck]] = {"left": [], "right": []}
        for struck in self.struck:
            rows[struck[3].hand].append(struck)
        return {side: _attacks(side, notes) for side, notes in rows.items()}

    @cached_property
    def streams(self) -> dict[tuple[Side, str], tuple[Attack, ...]]:
        """The same for each voice of each hand, as the notation writes voices."""
        rows: dict[tuple[Side, str], list[Struck]] = defaultdict(list)
        for struck in self.struck:
            rows[struck[3].hand, struck[3].voice].append(struck)
        return {key: _attacks(key[0], notes) for key, notes in sorted(rows.items())}

    @cached_property
    def attack_at(self) -> dict[tuple[Side, Position], Attack]:
        """The attack of a hand at a position."""
        return {(a.side, a.onset): a for attacks in self.attacks.values() for a in attacks}

    @cached_property
    def _onsets(self) -> dict[Side, list[float]]:
        return {
            side: [sort_key(a.onset) for a in attacks] for side, attacks in self.attacks.items()
        }

    def attacks_between(self, side: Side, start: Position, end: Position) -> tuple[Attack, ...]:
        """Attacks of a hand from `start` on, before `end`."""
        onsets = self._onsets[side]
        return self.attacks[side][
            bisect_left(onsets, sort_key(start)) : bisect_left(onsets, sort_key(end))
        ]

    @cached_property
    def _pedal(self) -> Spans:
        return Spans((p.onset, p.end) for p in self.piece.pedals)

    def pedalled(self, start: Position, end: Position) -> bool:
        """Whether one pedal is marked over all of `start` to `end`."""
        return self._pedal.cover(start, end)

    @cached_property
    def _slurs(self) -> dict[int, Spans]:
        rows: dict[int, list[tuple[Position, Position]]] = defaultdict(list)
        for slur in self.piece.slurs:
            rows[slur.staff].append((slur.onset, slur.end))
        return {staff: Spans(pairs) for staff, pairs in rows.items()}

    def slurred(self, staff: int, start: Position, end: Position) -> bool:
        """Whether one slur of that staff spans `start` to `end`."""
        spans = self._slurs.get(staff)
        return spans is not None and spans.cover(start, end)

    @cached_property
    def _signs(self) -> tuple[list[float], list[str]]:
        rows = [(d.onset, d.text) for d in self.piece.dynamics if d.text.strip("pfm") == ""]
        return [sort_key(onset) for onset, _ in rows], [text for _, text in rows]

    def dynamic_at(self, position: Position) -> str:
        """The last sign of loudness at or before `position` (``"pp"``, ``"mf"``); ``""`` for none."""
        onsets, texts = self._signs
        at = bisect_right(onsets, sort_key(position)) - 1
        return texts[at] if at >= 0 else ""

    def bar(self, index: int) -> Bar:
        """The bar of that index."""
        return self.piece.bars[index]

    def bar_names(self, indices: Sequence[int]) -> str:
        """Bars in words: ``"bar 12"``, ``"bars 12 to 16"``, ``"bars 3, 7 and 12 to 14"``."""
        return bar_names(self.piece, indices)
