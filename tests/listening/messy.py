"""Practice takes with known truth: clean performances cut up, slowed down and spoilt as students spoil them.

A stroke carries the note that it plays, or None. What a student does with them is a function from rows of strokes to rows of strokes; `KINDS` are the
mixtures that the benchmark and the tests ask for. Everything follows from the seed.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

from passagework.listening.alignment import Alignment
from passagework.listening.take import PlayedNote, Take
from passagework.score.piece import Piece
from passagework.sound.perform import perform


@dataclass(frozen=True)
class Stroke:
    """A stroke and its truth."""

    onset: float
    duration: float
    pitch: int
    velocity: int
    note: str | None
    bar: int
    hand: str


Strokes = list[Stroke]
Spoil = Callable[[Strokes, random.Random], Strokes]


def played(piece: Piece, *, unfold: bool = False) -> Strokes:
    """`piece` as the house's own player plays it; of an ornament the first stroke of the written key is the note."""
    found: Strokes = []
    last: dict[tuple[str, int], bool] = {}
    for stroke in perform(piece, unfold=unfold).notes:
        note = piece.by_id[stroke.id]
        first = stroke.pitch == note.midi and not last.get((note.id, stroke.pass_))
        if first:
            last[(note.id, stroke.pass_)] = True
        found.append(
            Stroke(stroke.start, max(stroke.end - stroke.start, 0.03), stroke.pitch, stroke.velocity,
                   note.id if first else None, note.bar, note.hand)
        )  # fmt: skip
    return found


def from_truth(piece: Piece, take: Take, note_of: dict[int, str]) -> Strokes:
    """A real performance with its truth; strokes that are no note's belong to the bar and hand of those around them."""
    found: Strokes = []
    bar, hands = 0, {"left": 45.0, "right": 70.0}
    for index, n in enumerate(take.notes):
        note = piece.by_id[note_of[index]] if index in note_of else None
        if note is not None:
            bar = note.bar
            hands[note.hand] += 0.1 * (n.pitch - hands[note.hand])
        near = min(hands, key=lambda side: abs(hands[side] - n.pitch))
        found.append(
            Stroke(n.onset, n.duration, n.pitch, n.velocity, note.id if note else None, bar,
                   note.hand if note else near)
        )  # fmt: skip
    return found


def load_truth(path: Path, take: Take) -> dict[int, str]:
    """For the strokes of `take`, the notes that a ``.match`` file names (its own clock may begin at another second)."""
    import partitura

    performance, rows = partitura.load_match(str(path))[:2]
    notes = sorted(performance.note_array(), key=lambda n: n["onset_sec"])
    ours: dict[int, list[int]] = defaultdict(list)
    theirs: dict[int, list[tuple[float, str]]] = defaultdict(list)
    for index, n in enumerate(take.notes):
        ours[n.pitch].append(index)
    for n in notes:
        theirs[int(n["pitch"])].append((float(n["onset_sec"]), str(n["id"])))
    late = median(
        take.notes[index].onset - onset
        for pitch, row in theirs.items()
        if len(row) == len(ours[pitch])
        for index, (onset, _) in zip(ours[pitch], row, strict=True)
    )
    index_of = {
        name: min(ours[pitch], key=lambda i: abs(take.notes[i].onset - late - onset))
        for pitch, row in theirs.items()
        for onset, name in row
    }
    return {
        index_of[row["performance_id"]]: row["score_id"].rpartition("-")[0]
        for row in rows
        if row["label"] == "match"
    }


def as_take(strokes: Sequence[Stroke]) -> tuple[Take, dict[int, str]]:
    """The take and, by index, the notes that were played."""
    rows = sorted(strokes, key=lambda s: (s.onset, s.pitch))
    start = rows[0].onset if rows else 0.0
    notes = tuple(PlayedNote(s.onset - start, s.duration, s.pitch, s.velocity) for s in rows)
    return Take(notes), {i: s.note for i, s in enumerate(rows) if s.note is not None}


def shifted(strokes: Strokes, seconds: float) -> Strokes:
    """The same, later."""
    return [replace(s, onset=s.onset + seconds) for s in strokes]


def passage(strokes: Strokes, first: int, last: int) -> Strokes:
    """Bars of the first playing that holds them, from second 0."""
    inside = [i for i, s in enumerate(strokes) if first <= s.bar <= last]
    if not inside:
        return []
    stop = inside[0]
    for i in inside:  # strokes of neighbouring bars overlap a little; a later playing lies far away
        if i - stop > 60:
            break
        stop = i
    kept = [s for s in strokes[inside[0] : stop + 1] if first <= s.bar <= last]
    return shifted(kept, -kept[0].onset)


def after(one: Strokes, other: Strokes, pause: float) -> Strokes:
    """`other` after `one`."""
    if not one or not other:
        return one or other
    return one + shifted(other, one[-1].onset + pause - other[0].onset)


def at_tempo(
    strokes: Strokes, rng: random.Random, slowest: float = 0.5, fastest: float = 2.0
) -> Strokes:
    """Slower or faster (`slowest` 0.5 is half the tempo), drifting by some percent a second."""
    pace = 1 / rng.uniform(slowest, fastest)
    clock, last, found = 0.0, strokes[0].onset if strokes else 0.0, []
    for s in strokes:
        clock += (s.onset - last) * pace
        pace *= 1 + rng.gauss(0, 0.03) * min(1.0, s.onset - last)
        last = s.onset
        found.append(replace(s, onset=clock, duration=s.duration * pace))
    return found


def unsteady(strokes: Strokes, rng: random.Random, spread: float = 0.012) -> Strokes:
    """Hands and fingers not quite together, seconds."""
    moved = [replace(s, onset=max(0.0, s.onset + rng.gauss(0, spread))) for s in strokes]
    return sorted(moved, key=lambda s: (s.onset, s.pitch))


def rolled(strokes: Strokes, rng: random.Random) -> Strokes:
    """Some chords rolled upwards."""
    chords: dict[float, list[int]] = defaultdict(list)
    for i, s in enumerate(strokes):
        chords[round(s.onset, 2)].append(i)
    found = list(strokes)
    for row in chords.values():
        if len(row) > 2 and rng.random() < 0.25:
            step = rng.uniform(0.04, 0.09)
            for place, i in enumerate(sorted(row, key=lambda i: strokes[i].pitch)):
                found[i] = replace(found[i], onset=found[i].onset + place * step)
    return sorted(found, key=lambda s: (s.onset, s.pitch))


def slips(strokes: Strokes, rng: random.Random, share: float = 0.03) -> Strokes:
    """Wrong, missing and extra notes, a `share` of each."""
    found = []
    for s in strokes:
        chance = rng.random()
        if chance < share:
            continue
        if chance < 2 * share:
            step = rng.choice((-2, -1, 1, 2))
            s = replace(s, pitch=min(108, max(21, s.pitch + step)), note=None)
        elif chance < 3 * share:
            pitch = min(108, max(21, s.pitch + rng.choice((-5, -2, -1, 1, 2, 4))))
            found.append(
                replace(s, pitch=pitch, onset=s.onset + rng.uniform(0.02, 0.15), note=None)
            )
        found.append(s)
    return sorted(found, key=lambda s: (s.onset, s.pitch))


def wrong_octave(strokes: Strokes, rng: random.Random) -> Strokes:
    """Some bars of one hand an octave off."""
    bars = sorted({s.bar for s in strokes})
    start = rng.choice(bars)
    stop, hand, step = (
        start + rng.randint(1, 4),
        rng.choice(("left", "right")),
        rng.choice((-12, 12)),
    )
    found = []
    for s in strokes:
        if start <= s.bar < stop and s.hand == hand and 21 <= s.pitch + step <= 108:
            s = replace(s, pitch=s.pitch + step, note=None)
        found.append(s)
    return sorted(found, key=lambda s: (s.onset, s.pitch))


def one_hand(strokes: Strokes, rng: random.Random) -> Strokes:
    """The hand that has something to play, alone."""
    hand = rng.choice(("left", "right"))
    kept = [s for s in strokes if s.hand == hand]
    return kept if len(kept) > 15 else [s for s in strokes if s.hand != hand]


def long_pauses(strokes: Strokes, rng: random.Random) -> Strokes:
    """Stops of two to ten seconds."""
    found, late, last = [], 0.0, strokes[0].bar if strokes else 0
    for s in strokes:
        if s.bar != last and rng.random() < 0.2:
            late += rng.uniform(2, 10)
        last = s.bar
        found.append(replace(s, onset=s.onset + late))
    return found


def session(
    whole: Strokes, rng: random.Random, *, back: bool, ahead: bool, spoil: Spoil | None = None
) -> Strokes:
    """Six to ten passages: starts anywhere, goes back to the start of a bar, skips ahead, with a breath between."""
    bars = max(s.bar for s in whole) + 1
    at = rng.randrange(max(1, bars - 8))
    found: Strokes = []
    for _ in range(rng.randint(6, 10)):
        length = rng.randint(3, 9)
        row = passage(whole, at, min(at + length, bars) - 1)
        if rng.random() < 0.5 and len(row) > 30:  # stops in the middle of a bar
            row = row[: -rng.randint(1, 10)]
        if spoil is not None and row:
            row = spoil(row, rng)
        found = after(found, row, rng.uniform(0.4, 4.0))
        at += length
        if back and rng.random() < 0.6:
            at -= rng.randint(1, length)
        elif ahead and rng.random() < 0.6:
            at += rng.randint(2, 12)
        at = max(0, at if at < bars - 3 else rng.randrange(max(1, bars - 8)))
    return found


def _everything(row: Strokes, rng: random.Random) -> Strokes:
    row = slips(at_tempo(row, rng, 0.5, 1.3), rng)
    if rng.random() < 0.3:
        row = one_hand(row, rng)
    if rng.random() < 0.2 and row:
        row = wrong_octave(row, rng)
    return unsteady(rolled(row, rng), rng)


def _anywhere(whole: Strokes, rng: random.Random, most: int = 24) -> Strokes:
    bars = max(s.bar for s in whole) + 1
    at = rng.randrange(max(1, bars - most))
    return passage(whole, at, at + most - 1)


KINDS: dict[str, Spoil] = {
    "starts anywhere": lambda w, r: unsteady(_anywhere(w, r), r),
    "one hand alone": lambda w, r: unsteady(one_hand(_anywhere(w, r), r), r),
    "restarts": lambda w, r: unsteady(session(w, r, back=True, ahead=False), r),
    "skips": lambda w, r: unsteady(session(w, r, back=False, ahead=True), r),
    "slow": lambda w, r: unsteady(at_tempo(_anywhere(w, r), r, 0.4, 0.6), r),
    "any tempo": lambda w, r: unsteady(at_tempo(_anywhere(w, r), r), r),
    "wrong octaves": lambda w, r: unsteady(wrong_octave(_anywhere(w, r), r), r),
    "long pauses": lambda w, r: unsteady(long_pauses(_anywhere(w, r), r), r),
    "rolled chords": lambda w, r: unsteady(rolled(_anywhere(w, r), r), r),
    "slips": lambda w, r: unsteady(slips(_anywhere(w, r), r, 0.05), r),
    "all at once": lambda w, r: session(w, r, back=True, ahead=True, spoil=_everything),
}  # fmt: skip


def bar_prints(piece: Piece) -> list[tuple[object, ...]]:
    """What each bar holds: bars that are alike in every note cannot be told apart by ear."""
    return [
        tuple(sorted((n.onset - bar.onset, n.midi) for n in piece.notes_of_bar[bar.index]))
        for bar in piece.bars
    ]


def f1(piece: Piece, alignment: Alignment, truth: dict[int, str], *, alike: bool = False) -> float:
    """F1 of the pairs (key of the page, stroke). With `alike`, the same note of a bar that holds the same is as good."""
    prints = bar_prints(piece) if alike else []

    def unit(name: str) -> tuple[object, ...]:
        n = piece.by_id[name]
        grace = n.id if n.grace else ""
        if alike and not grace:
            return (n.onset - piece.bars[n.bar].onset, n.midi, prints[n.bar])
        return (n.onset, n.midi, grace)

    found = {m.played: unit(m.note) for m in alignment.matches}
    right = sum(1 for k, note in truth.items() if found.get(k) == unit(note))
    return 2 * right / (len(truth) + len(found)) if truth or found else 1.0
