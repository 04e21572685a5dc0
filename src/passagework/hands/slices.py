"""One hand's part cut into slices: what its fingers strike together, and what they go on holding.

Both hands are seen as a right hand. The keyboard is its own mirror image about the D keys, so the left
hand's key `p` becomes ``124 - p``: black stays black, distances stay, and thumb and little finger come
to lie as in the right hand. Everything after this file knows only right hands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from passagework.analysis.tempo import TempoMap
from passagework.score.piece import Note, Piece, Side

MIRROR_SUM = 124
"""Twice the MIDI number of D4, about which the keyboard mirrors itself."""

GRACE_SECONDS = 0.09
"""Time given to each grace note: a quick ornament, about eleven notes a second."""

STACCATO_SHARE = Fraction(1, 2)
"""Share of its written length that a staccato note is held."""

DETACHED = frozenset({"staccato", "staccatissimo", "spiccato", "detached-legato"})

MOST_FINGERS = 5


@dataclass(slots=True)
class Slice:
    """What one hand strikes at one moment. Keys are mirrored for the left hand (see the module)."""

    keys: tuple[int, ...]
    """Keys under the fingers, struck or held, from the thumb's side upwards."""
    struck: tuple[bool, ...]
    """For each key, whether it is struck now."""
    notes: tuple[tuple[Note, ...], ...]
    """For each key, the notes that lie on it (two voices may share a key)."""
    seconds: float
    """Time of the attack."""
    wait: float = 0.0
    """Seconds from the attack before."""
    gap: float = 0.0
    """Seconds in which no finger of this hand is down before the attack."""
    longest: float = 0.0
    """Seconds for which the longest of the struck notes lasts."""
    breath: bool = False
    """Whether a phrase ended just before (a slur that ends, or a rest)."""
    rolled: bool = False
    loudness: float = 0.5
    sustained: tuple[tuple[int, int], ...] = ()
    """Pairs (place in the slice before, place here) of keys that stay down between the two."""
    let_go: tuple[Note, ...] = field(default=())
    """Held notes that the hand cannot keep down while it strikes this."""
    thumbed: tuple[Note, ...] = field(default=())
    """Notes that the thumb takes besides its own key, or that find no finger of their own."""


def hand_slices(
    piece: Piece,
    side: Side,
    tempo: TempoMap,
    loudness: Callable[[Fraction], float],
    fits: Callable[[Sequence[int]], bool],
) -> list[Slice]:
    """The slices of one hand in order; `fits` says whether some fingers reach a set of keys."""
    clock = _clock(tempo)
    breaths = _breaths(piece)
    slices: list[Slice] = []
    active: list[tuple[Fraction, Note]] = []
    released = 0.0
    for onset, notes, grace, count in _attacks(piece, side):
        at = clock(onset) - GRACE_SECONDS * count
        active = [(end, n) for end, n in active if end > onset]
        made = _slice(notes, [n for _, n in active], side, at, fits)
        made.breath = bool(slices) and any(n in breaths for s in slices[-1].notes for n in _ids(s))
        made.rolled = not grace and any(n.arpeggio in {"up", "down"} for n in notes)
        made.loudness = loudness(onset)
        made.gap = 0.0 if not all(made.struck) else max(0.0, at - released)
        if slices:
            made.wait = max(at - slices[-1].seconds, 0.0)
            made.sustained = _sustained(slices[-1], made)
        for note in notes:
            end = _release(note)
            if note.duration > 0 and end > onset:
                active.append((end, note))
        made.longest = (
            GRACE_SECONDS if grace else max(clock(_release(n)) for n in notes) - clock(onset)
        )
        released = max(released, at + made.longest)
        gone = {n.id for n in made.let_go}
        if gone:
            active = [(end, n) for end, n in active if n.id not in gone]
        slices.append(made)
    return slices


def _ids(notes: Iterable[Note]) -> Iterable[str]:
    return (i for n in notes for i in n.ids)


def _attacks(piece: Piece, side: Side) -> Iterable[tuple[Fraction, list[Note], bool, int]]:
    """(onset, notes, whether grace, grace attacks still to come before the beat) in playing order."""
    groups: dict[Fraction, tuple[dict[int, list[Note]], list[Note]]] = {}
    for note in piece.of_hand(side):
        graces, mains = groups.setdefault(note.onset, ({}, []))
        if note.grace:
            graces.setdefault(note.chord, []).append(note)
        else:
            mains.append(note)
    for onset in sorted(groups):
        graces, mains = groups[onset]
        columns = _grace_columns(list(graces.values()))
        for place, column in enumerate(columns):
            yield onset, column, True, len(columns) - place
        if mains:
            yield onset, mains, False, 0


def _grace_columns(chords: list[list[Note]]) -> list[list[Note]]:
    """Grace chords of several voices at one place, lined up from the beat backwards."""
    voices: dict[tuple[int, str], list[list[Note]]] = {}
    for chord in chords:
        voices.setdefault((chord[0].staff, chord[0].voice), []).append(chord)
    depth = max((len(v) for v in voices.values()), default=0)
    columns: list[list[Note]] = [[] for _ in range(depth)]
    for rows in voices.values():
        for place, chord in enumerate(rows):
            columns[depth - len(rows) + place].extend(chord)
    return columns


def _release(note: Note) -> Fraction:
    if note.articulations & DETACHED:
        return note.onset + note.duration * STACCATO_SHARE
    return note.end


def _slice(
    notes: Sequence[Note],
    held: Sequence[Note],
    side: Side,
    at: float,
    fits: Callable[[Sequence[int]], bool],
) -> Slice:
    struck = _by_key(notes, side)
    below = {k: v for k, v in _by_key(held, side).items() if k not in struck}
    thumbed: list[Note] = []
    while len(struck) > MOST_FINGERS:
        thumbed.extend(struck.pop(_spare(sorted(struck))))
    let_go: list[Note] = []
    while below and not fits(sorted([*struck, *below])):
        let_go.extend(below.pop(_furthest(below, struck)))
    keys = tuple(sorted([*struck, *below]))
    return Slice(
        keys=keys,
        struck=tuple(k in struck for k in keys),
        notes=tuple(tuple(struck.get(k) or below[k]) for k in keys),
        seconds=at,
        let_go=tuple(let_go),
        thumbed=tuple(thumbed),
    )


def _by_key(notes: Iterable[Note], side: Side) -> dict[int, list[Note]]:
    found: dict[int, list[Note]] = {}
    for note in notes:
        key = note.midi if side == "right" else MIRROR_SUM - note.midi
        found.setdefault(key, []).append(note)
    return found


def _spare(keys: Sequence[int]) -> int:
    """The key that shares a finger when there are more keys than fingers: the closest neighbour,
    the thumb's side first, because a thumb lies across two keys more easily than a finger.
    """
    place = min(
        range(1, len(keys)), key=lambda k: (keys[k] - keys[k - 1] > 2, k, keys[k] - keys[k - 1])
    )
    return keys[place]


def _furthest(below: dict[int, list[Note]], struck: dict[int, list[Note]]) -> int:
    """The held key that lies furthest from what is struck; the longer held one of two."""
    low, high = min(struck), max(struck)
    return max(below, key=lambda k: (max(low - k, k - high), -below[k][0].onset, k))


def _sustained(before: Slice, now: Slice) -> tuple[tuple[int, int], ...]:
    places = {n.id: i for i, row in enumerate(before.notes) for n in row}
    return tuple(
        (places[row[0].id], j)
        for j, (row, struck) in enumerate(zip(now.notes, now.struck, strict=True))
        if not struck and row[0].id in places
    )


def _breaths(piece: Piece) -> frozenset[str]:
    """Ids of noteheads at which a phrase ends: the last of a slur that no other slur goes on from."""
    firsts = {s.first for s in piece.slurs}
    return frozenset(s.last for s in piece.slurs if s.last not in firsts)


def _clock(tempo: TempoMap) -> Callable[[Fraction], float]:
    """Position to seconds, remembered: the same positions are asked for again and again."""
    known: dict[Fraction, float] = {}

    def clock(position: Fraction) -> float:
        found = known.get(position)
        if found is None:
            found = known[position] = tempo.seconds(position)
        return found

    return clock
