"""The teacher's edits: kept apart from what is computed, and laid over it each time it is shown.

An edit holds on to the music by an `Anchor`: a note's id, and where that note stood, so that it is found again
when a score is read anew and its ids have changed. What finds no place any more is kept and listed, never dropped.

* `Edit` and its kinds: values; `passagework.teaching.edit_rows` turns them into rows for storage and back.
* `NoteIndex`: the notes of a reading by id and by place; `index_of(piece)` makes one.
* `lay_over(spots, edits, index)`: what is shown, what is hidden, what has no place.
* `with_fixed_fingers(piece, edits)`: the piece with the teacher's fingers printed on its notes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any

from passagework.score.piece import Piece
from passagework.spots.spot import Place, Spot, SpotHand, Wording

OWN_KIND = "own"
"""Kind of a spot that the teacher added; no kind of the table is called so."""

OWN_SEVERITY = 0.5
"""Severity of such a spot: a place to be practised on purpose, the middle of the scale."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A note, and how to find it again."""

    note_id: str
    bar: int
    """Index of its bar."""
    onset: Fraction
    """Quarters from the start of that bar."""
    pitch: int
    """MIDI number."""

    @property
    def place(self) -> tuple[int, Fraction, int]:
        """Bar, onset and pitch."""
        return self.bar, self.onset, self.pitch


@dataclass(frozen=True, slots=True)
class OwnNote:
    """The teacher's own words at a bar, or at a note of it."""

    key: str
    """What tells it from the teacher's other notes."""
    bar: int
    text: str
    anchor: Anchor | None = None


@dataclass(frozen=True, slots=True)
class SpotName:
    """Which computed spot is meant: its id, and what finds it again when its id has changed."""

    spot_id: str
    kind: str
    hand: SpotHand
    anchor: Anchor
    """First note of its worst place."""


@dataclass(frozen=True, slots=True)
class HiddenSpot:
    """A spot that the teacher does not want to see."""

    spot: SpotName


@dataclass(frozen=True, slots=True)
class Words:
    """Words of a card; None where nothing was changed."""

    title: str | None = None
    reason: str | None = None
    goes_wrong: str | None = None
    try_: tuple[str, ...] | None = None
    done_when: str | None = None

    @property
    def changed(self) -> frozenset[str]:
        """Names of the fields that the teacher wrote."""
        return frozenset(n for n in WORD_FIELDS if getattr(self, n) is not None)


WORD_FIELDS = ("title", "reason", "goes_wrong", "try_", "done_when")


@dataclass(frozen=True, slots=True)
class ChangedWords:
    """Other words on the card of a computed spot."""

    spot: SpotName
    words: Words


@dataclass(frozen=True, slots=True)
class AddedSpot:
    """A place that the teacher marked."""

    key: str
    """What tells it from the teacher's other places."""
    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    hand: SpotHand
    anchors: tuple[Anchor, ...]
    """The notes in question, in order; empty for all notes of that hand in these bars."""
    words: Words


@dataclass(frozen=True, slots=True)
class FixedFinger:
    """The teacher's finger for a note, with those it is changed for while the key is down."""

    anchor: Anchor
    fingers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SkippedExercise:
    """An exercise that is not to be offered for a spot."""

    spot: SpotName
    technique: str


@dataclass(frozen=True)
class OtherEdit:
    """An edit of a kind, or in a form, that this version does not know: kept as it came."""

    kind: str
    key: str
    payload: Any = field(hash=False)


Edit = OwnNote | HiddenSpot | ChangedWords | AddedSpot | FixedFinger | SkippedExercise | OtherEdit


@dataclass(frozen=True)
class NoteIndex:
    """The notes of a reading, in order; tied notes once, by the id of their first head."""

    anchors: tuple[Anchor, ...]
    hands: Mapping[str, str]
    """The hand of every note, by id."""
    bars: int
    """How many bars there are."""
    heads: Mapping[str, str] = field(default_factory=dict)
    """Ids of tied heads to the id of their note."""

    @cached_property
    def by_id(self) -> dict[str, Anchor]:
        """Every note by its id."""
        return {a.note_id: a for a in self.anchors}

    @cached_property
    def by_place(self) -> dict[tuple[int, Fraction, int], str]:
        """The id of the first note at a place."""
        found: dict[tuple[int, Fraction, int], str] = {}
        for anchor in self.anchors:
            found.setdefault(anchor.place, anchor.note_id)
        return found

    def find(self, anchor: Anchor) -> str | None:
        """The note that `anchor` means in this reading; None where there is none.

        The id counts where its note stands in the same bar with the same pitch or at the same moment (a note
        that was corrected); otherwise the note of that bar, moment and pitch does.
        """
        note_id = self.heads.get(anchor.note_id, anchor.note_id)
        own = self.by_id.get(note_id)
        if own is not None and own.place == anchor.place:
            return note_id
        there = self.by_place.get(anchor.place)
        if there is not None:
            return there
        if own is not None and own.bar == anchor.bar:
            same = own.pitch == anchor.pitch or own.onset == anchor.onset
            return note_id if same else None
        return None

    def within(self, first_bar: int, last_bar: int, hand: SpotHand) -> tuple[str, ...]:
        """Ids of the notes of a hand (or of both) that begin in these bars."""
        return tuple(
            a.note_id
            for a in self.anchors
            if first_bar <= a.bar <= last_bar and hand in {"both", self.hands.get(a.note_id)}
        )


def index_of(piece: Piece) -> NoteIndex:
    """The index of a piece."""
    return NoteIndex(
        tuple(Anchor(n.id, n.bar, n.onset - piece.bars[n.bar].onset, n.midi) for n in piece.notes),
        {n.id: n.hand for n in piece.notes},
        len(piece.bars),
        {head: n.id for n in piece.notes for head in n.tied_ids},
    )


def name_of(spot: Spot, index: NoteIndex) -> SpotName:
    """How an edit names `spot`. Raises `KeyError` where its note is not in the reading."""
    first = spot.focus.note_ids[0]
    anchor = index.by_id[index.heads.get(first, first)]
    return SpotName(spot.id, spot.kind, spot.hand, anchor)


@dataclass(frozen=True)
class Shown:
    """What the page shows: spots with the teacher's edits laid over them."""

    spots: tuple[Spot, ...]
    """Computed spots that are not hidden, in their order, and those that the teacher added."""
    hidden: tuple[tuple[Spot, HiddenSpot], ...] = ()
    changed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """By spot id the names of the words that the teacher wrote."""
    notes: tuple[tuple[OwnNote, str | None], ...] = ()
    """The teacher's notes in order of their bars, each with its note in the music where it has one."""
    fingers: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    """The teacher's fingers by note id."""
    skipped: frozenset[tuple[str, str]] = frozenset()
    """(spot id, technique) of exercises that are not to be offered."""
    unplaced: tuple[Edit, ...] = ()
    """Edits whose place is not in this reading, or whose spot is not found for this hand: kept."""


def lay_over(spots: Sequence[Spot], edits: Iterable[Edit], index: NoteIndex) -> Shown:
    """`spots` as the teacher wants them. Every edit takes effect or is in `Shown.unplaced`.

    Numbers of the short list stay as they are when a spot is hidden, as on paper; spots that the teacher added
    take the next ones.
    """
    laid = _Laid(spots, index)
    for edit in edits:
        if not laid.take(edit):
            laid.unplaced.append(edit)
    return laid.shown()


def find_spot(spots: Sequence[Spot], name: SpotName, index: NoteIndex) -> str | None:
    """The id of the spot that is meant: the one so called, else one of its kind and hand that holds its note."""
    if any(s.id == name.spot_id and s.kind == name.kind for s in spots):
        return name.spot_id
    head = index.find(name.anchor)
    if head is None:
        return None
    alike = (s for s in spots if s.kind == name.kind and s.hand == name.hand)
    return next((s.id for s in alike if head in s.note_ids), None)


class _Laid:
    """The edits as they are taken, one by one."""

    def __init__(self, spots: Sequence[Spot], index: NoteIndex) -> None:
        self.spots, self.index = list(spots), index
        self.hidden: dict[str, HiddenSpot] = {}
        self.words: dict[str, Words] = {}
        self.added: list[Spot] = []
        self.notes: list[tuple[OwnNote, str | None]] = []
        self.fingers: dict[str, tuple[int, ...]] = {}
        self.skipped: set[tuple[str, str]] = set()
        self.unplaced: list[Edit] = []

    def take(self, edit: Edit) -> bool:
        """Whether `edit` has found its place."""
        if isinstance(edit, OwnNote):
            return self._note(edit)
        if isinstance(edit, FixedFinger):
            return self._finger(edit)
        if isinstance(edit, AddedSpot):
            return self._add(edit)
        if isinstance(edit, OtherEdit):
            return False
        spot = find_spot(self.spots, edit.spot, self.index)
        if spot is None:
            return False
        if isinstance(edit, HiddenSpot):
            return self.hidden.setdefault(spot, edit) == edit
        if isinstance(edit, ChangedWords):
            return self.words.setdefault(spot, edit.words) == edit.words
        self.skipped.add((spot, edit.technique))
        return True

    def _note(self, edit: OwnNote) -> bool:
        head = self.index.find(edit.anchor) if edit.anchor else None
        if head is None and not 0 <= edit.bar < self.index.bars:
            return False
        self.notes.append((edit, head))
        return True

    def _finger(self, edit: FixedFinger) -> bool:
        head = self.index.find(edit.anchor)
        if head is None:
            return False
        return self.fingers.setdefault(head, edit.fingers) == edit.fingers

    def _add(self, edit: AddedSpot) -> bool:
        spot = added_spot(edit, self.index)
        if spot is None:
            return False
        self.added.append(spot)
        return True

    def shown(self) -> Shown:
        """Everything taken so far."""
        by_id = {s.id: s for s in self.spots}
        ranks = max((s.rank for s in self.spots), default=0)
        added = [replace(s, rank=ranks + i) for i, s in enumerate(self.added, start=1)]
        kept = [s for s in self.spots if s.id not in self.hidden]
        listed = [s for s in kept if s.rank] + added + [s for s in kept if not s.rank]
        changed = {i: w.changed for i, w in self.words.items()}
        changed.update({s.id: frozenset(WORD_FIELDS) for s in added})
        return Shown(
            spots=tuple(self._worded(s) for s in listed),
            hidden=tuple((by_id[i], edit) for i, edit in self.hidden.items()),
            changed=changed,
            notes=tuple(sorted(self.notes, key=lambda row: (row[0].bar, row[0].key))),
            fingers=self.fingers,
            skipped=frozenset(self.skipped),
            unplaced=tuple(self.unplaced),
        )

    def _worded(self, spot: Spot) -> Spot:
        words = self.words.get(spot.id)
        return spot if words is None else replace(spot, wording=reworded(spot.wording, words))


def reworded(wording: Wording, words: Words) -> Wording:
    """`wording` with what the teacher wrote instead; the measured evidence stays."""
    return replace(wording, **{name: getattr(words, name) for name in words.changed})


def added_spot(edit: AddedSpot, index: NoteIndex) -> Spot | None:
    """The spot of a place that the teacher marked; None where nothing of it is in the reading.

    Notes that are gone are left out; where all are gone, all notes of its bars stand for them.
    """
    ids = tuple(dict.fromkeys(i for a in edit.anchors if (i := index.find(a)) is not None))
    if ids:
        bars = [index.by_id[i].bar for i in ids]
        first, last = min(bars), max(bars)
    else:
        first, last = max(edit.first_bar, 0), min(edit.last_bar, index.bars - 1)
        ids = index.within(first, last, edit.hand)
    if not ids:
        return None
    words = edit.words
    place = Place(first, last, ids, OWN_SEVERITY)
    return Spot(
        id=f"{OWN_KIND}-{edit.key}",
        kind=OWN_KIND,
        hand=edit.hand,
        severity=OWN_SEVERITY,
        places=(place,),
        focus=place,
        wording=Wording(
            title=words.title or "A place of your own",
            reason=words.reason or "",
            goes_wrong=words.goes_wrong or "",
            try_=words.try_ or (),
            done_when=words.done_when or "",
        ),
    )


def fixed_by_id(edits: Iterable[Edit], index: NoteIndex) -> dict[str, tuple[int, ...]]:
    """The teacher's fingers by note id, the first edit for a note counting: what `finger_piece` takes
    as `fixed`.
    """
    found: dict[str, tuple[int, ...]] = {}
    for edit in edits:
        if isinstance(edit, FixedFinger):
            head = index.find(edit.anchor)
            if head is not None:
                found.setdefault(head, edit.fingers)
    return found


def with_fixed_fingers(piece: Piece, edits: Iterable[Edit]) -> Piece:
    """`piece` with the teacher's fingers as the printed ones of their notes."""
    fixed = fixed_by_id(edits, index_of(piece))
    if not fixed:
        return piece
    notes = tuple(replace(n, fingers=fixed[n.id]) if n.id in fixed else n for n in piece.notes)
    return replace(piece, notes=notes)
