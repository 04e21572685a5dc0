"""Faults at random places of a piece, of a size that a teacher would remark on, for tests and for the benchmark."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from passagework.listening.misreadings import lapsed, unsigned
from passagework.listening.simulate import Simulated, play
from passagework.listening.simulate import faults as f
from passagework.listening.simulate.figures import figures
from passagework.listening.simulate.time_faults import polyrhythms
from passagework.score.piece import Note, Side
from passagework.spots.context import Context
from passagework.spots.signature import Signatures

Span = tuple[int, int]
Maker = Callable[[Context, Span, np.random.Generator], "f.Fault | None"]
SIDES: tuple[Side, Side] = ("left", "right")
INNER = 2
"""Bars kept free of faults at either end of an excerpt: a listener needs some music round a place."""


def _notes(context: Context, span: Span, rng: np.random.Generator) -> list[Note]:
    """The plain notes of a random bar inside `span`, those that a listener can tell from an ornament."""
    low, high = _inside(span)
    bar = int(rng.integers(low, high + 1))
    busy = {n.bar for n in context.piece.notes if n.grace or n.ornaments or not n.printed}
    keys: dict[tuple[object, int], int] = {}
    for note in context.piece.notes_of_bar[bar]:
        keys[note.onset, note.midi] = keys.get((note.onset, note.midi), 0) + 1
    return [
        n
        for n in context.piece.notes_of_bar[bar]
        if bar not in busy and n.duration and keys[n.onset, n.midi] == 1 and not n.arpeggio
    ]


def _inside(span: Span) -> Span:
    low, high = span
    return (low + INNER, high - INNER) if high - low > 2 * INNER else span


def _some_bars(span: Span, rng: np.random.Generator, count: int) -> Span:
    low, high = _inside(span)
    first = int(rng.integers(low, max(high - count + 1, low) + 1))
    return first, min(first + count - 1, high)


def _one(context: Context, span: Span, rng: np.random.Generator) -> Note | None:
    notes = _notes(context, span, rng)
    return notes[int(rng.integers(len(notes)))] if notes else None


def wrong(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    note = _one(context, span, rng)
    return f.WrongNote(note.id) if note else None


def missing(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    note = _one(context, span, rng)
    return f.MissingNote(note.id) if note else None


def extra(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    note = _one(context, span, rng)
    return f.ExtraNote(note.id) if note else None


def old_key(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    low, high = _inside(span)
    bars = [new.bar for _, new in Signatures(context.piece).changes if low <= new.bar <= high - 2]
    return f.OldKey(bars[int(rng.integers(len(bars)))], int(rng.integers(2, 5))) if bars else None


def lapsed_accidental(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    low, high = _inside(span)
    bars = sorted(
        {n.bar for n in context.piece.notes if low <= n.bar <= high and lapsed(context.piece, n)}
    )
    if not bars:
        return None
    bar = bars[int(rng.integers(len(bars)))]
    return f.LapsedAccidental(bar, bar)


def forgotten_signature(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 3)
    letters = [
        n.pitch.step
        for n in context.piece.notes
        if first <= n.bar <= last and n.duration and n.printed and unsigned(context.piece, n)
    ]
    often = sorted({x for x in letters if letters.count(x) > 2})
    return f.UnsignedNotes(first, last, often[int(rng.integers(len(often)))]) if often else None


def misreading(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    notes = _notes(context, span, rng)
    if not notes:
        return None
    side = SIDES[int(rng.integers(2))]
    staffs = sorted({n.staff for n in notes if n.hand == side})
    if not staffs:
        return None
    staff = staffs[int(rng.integers(len(staffs)))]
    row = [n.id for n in notes if n.hand == side and n.staff == staff]
    if len(row) < 5:
        return None
    steps = (2, -2, 5, -2, 2, 7, -7, 3)[int(rng.integers(8))]
    return f.Misreading(tuple(row[: int(rng.integers(5, 13))]), steps)


def dropped(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 3)
    side = SIDES[int(rng.integers(2))]
    place: f.Place = ("top", "inner", "bottom")[int(rng.integers(3))]
    fewest = 3 if place == "inner" else 2
    chords = [
        a for a in context.attacks[side] if first <= a.bar <= last and len(set(a.midis)) >= fewest
    ]
    plain = all(not n.ornaments and not n.arpeggio for a in chords for n in a.notes)
    return f.DroppedNote(first, last, side, place) if len(chords) >= 4 and plain else None


def hesitation(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    note = _one(context, span, rng)
    return f.Hesitation(note.id, float(rng.uniform(0.9, 2.0))) if note else None


def restart(_: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    low, high = _inside(span)
    bar = int(rng.integers(min(low + 2, high), high + 1))
    return f.Restart(bar, int(rng.integers(1, 3)), int(rng.integers(1, 4)), int(rng.integers(1, 3)))


def skip(_: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    low, high = _inside(span)
    if high - low < 8:
        return None
    bar = int(rng.integers(low, high - 6))
    return f.Skip(bar, bar + int(rng.integers(3, 6)))


def rushing(_: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, int(rng.integers(3, 6)))
    return f.Rushing(first, last, float(rng.uniform(1.25, 1.5)))


def slowing(_: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, int(rng.integers(3, 6)))
    return f.Slowing(first, last, float(rng.uniform(0.6, 0.75)))


def proportion(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 8)
    side = SIDES[int(rng.integers(2))]
    shapes = [x.shape for x in figures(context, first, last, side)]
    often = [s for s in ("triplet", "pair", "four", "dotted") if shapes.count(s) >= 8]
    if not often:
        return None
    shape = often[int(rng.integers(len(often)))]
    parts = {"triplet": 3, "pair": 2, "four": 4, "dotted": 2}[shape]
    size = float(rng.uniform(9, 13)) * (1 if rng.random() < 0.5 else -1)
    return f.Proportion(first, last, side, shape, int(rng.integers(parts)), size)  # type: ignore[arg-type]


def polyrhythm(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _inside(span)
    side = SIDES[int(rng.integers(2))]
    found = polyrhythms(context, first, last, side)
    if len(found) < 4:
        return None
    size = float(rng.uniform(9, 13)) * (1 if rng.random() < 0.5 else -1)
    return f.Polyrhythm(found[0].bar, found[-1].bar, side, int(rng.integers(2)), size)


def hands_apart(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 8)
    both = set.intersection(
        *({a.onset for a in context.attacks[s] if first <= a.bar <= last} for s in SIDES)
    )
    if len(both) < 8:
        return None
    return f.HandsApart(first, last, float(rng.uniform(70, 110)), SIDES[int(rng.integers(2))])


def uneven(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 4)
    side = SIDES[int(rng.integers(2))]
    row = [a.onset for a in context.attacks[side] if first <= a.bar <= last]
    quick = [b - a for a, b in pairwise(row)]
    fast = [q for q in quick if context.seconds(row[0] + q) - context.seconds(row[0]) < 0.3]
    if len(fast) < 20:
        return None
    return f.Uneven(first, last, side, float(rng.uniform(35, 50)), float(rng.uniform(10, 16)))


def balance(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 6)
    notes = [n for n in context.piece.notes if first <= n.bar <= last and n.duration]
    tune = sum(n.id in context.tune.melody for n in notes)
    return (
        f.FlatBalance(first, last, float(rng.uniform(-6, 2)))
        if tune >= 12 and len(notes) - tune >= 12
        else None
    )


def dynamics(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _inside(span)
    levels = [context.loudness.at(context.bar(b).onset, 1).level for b in range(first, last + 1)]
    if not levels or max(levels) - min(levels) < 2:
        return None
    return f.Dynamics(first, last, (0.0, -1.0)[int(rng.integers(2))])


def legato(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 4)
    slurs = sum(
        context.piece.by_id[s.first].bar in range(first, last + 1) for s in context.piece.slurs
    )
    return f.LegatoCut(first, last, "both", float(rng.uniform(0.4, 0.6))) if slurs >= 3 else None


def staccato(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 4)
    dots = sum("staccato" in n.articulations for n in context.piece.notes if first <= n.bar <= last)
    return f.StaccatoHeld(first, last, "both", 0.97) if dots >= 8 else None


def pedal_held(context: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 3)
    start, end = context.bar(first).onset, context.bar(last).end
    changes = [c for c in context.harmony.chords if start < c.onset < end]
    return f.PedalHeld(first, last) if len(changes) >= 2 else None


def pedal_late(_: Context, span: Span, rng: np.random.Generator) -> f.Fault | None:
    first, last = _some_bars(span, rng, 6)
    return f.PedalLate(first, last, float(rng.uniform(0.3, 0.5)))


MAKERS: dict[str, Maker] = {
    "wrong note": wrong,
    "missing note": missing,
    "extra note": extra,
    "old key": old_key,
    "lapsed accidental": lapsed_accidental,
    "forgotten signature": forgotten_signature,
    "misreading": misreading,
    "dropped chord note": dropped,
    "hesitation": hesitation,
    "restart": restart,
    "skip": skip,
    "rushing": rushing,
    "slowing": slowing,
    "proportion": proportion,
    "polyrhythm": polyrhythm,
    "hands apart": hands_apart,
    "uneven run": uneven,
    "balance": balance,
    "dynamics": dynamics,
    "legato cut": legato,
    "staccato held": staccato,
    "pedal held": pedal_held,
    "pedal late": pedal_late,
}
"""Faults by name."""

FEWEST_NOTES = {"old key": 2, "forgotten signature": 2, "misreading": 4, "dropped chord note": 3}
"""Notes that a fault must have reached to be one of its kind."""


def spoiled(
    context: Context, name: str, span: Span, seed: int, tries: int = 8, tempo_scale: float = 1.0
) -> Simulated | None:
    """An excerpt with one fault of that name at a random place; None where the excerpt offers none."""
    rng = np.random.default_rng(seed)
    for _ in range(tries):
        fault = MAKERS[name](context, span, rng)
        if fault is None:
            continue
        made = play(context, seed=seed, faults=[fault], bars=span, tempo_scale=tempo_scale)
        if not made.truth.faults:
            continue
        if len(made.truth.faults[0].note_ids) >= FEWEST_NOTES.get(name, 0):
            return made
    return None
