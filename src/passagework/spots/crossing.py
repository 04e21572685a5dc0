"""Hands crossing: for a time the left hand lies higher on the keyboard than the right.

At every attack the keys that each hand strikes or still holds are compared. The hands cross where the
left hand's highest key lies above the right hand's lowest. They *interlock* where a hand's keys lie
between those of the other, and *change sides* where all of the left hand lies above all of the right. A right
hand that waits in its place while the left passes over it, to play on there within a bar, is crossed as well.
Crossed attacks of one bar are one candidate. The demand is the number of attacks per second that the
two hands make while crossed, made larger by how far one reaches over the other (in octaves): arms
in each other's way, and eyes that must follow the hand that travels. Notes whose hand is only a
guess (see `Note.hand_sure`) are not used: a crossing that a guess made is none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from passagework.hands.keyboard import OCTAVE_MM, distance_mm, key_mm
from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.sounding import Moment, moments
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import capital, note_name, tempo_words, times

SURE = 0.65
"""Notes whose hand is less sure than this are left out (the reader's own scale of guesses)."""

ORDINARY = (0.3, 1.2)
"""Crossed attacks per second of the bar, weighted by depth: first-year and concert pieces."""

HARD = (1.2, 5.0)


@dataclass
class _Bar:
    attacks: int = 0
    seconds: float = 0.0
    deepest: float = 0.0
    apart: int = 0
    notes: dict[str, Note] = field(default_factory=dict)
    left: Note | None = None
    right: Note | None = None
    travel: dict[str, float] = field(default_factory=lambda: {"left": 0.0, "right": 0.0})


def find(context: Context) -> Iterable[Candidate]:
    """Every bar in which the left hand lies above the right."""
    bars: dict[int, _Bar] = defaultdict(_Bar)
    before: dict[str, float] = {}
    for moment in moments(context):
        waiting = _waiting(context, moment)
        _look(moment, bars, before, waiting)
    for index, bar in sorted(bars.items()):
        yield _candidate(context, index, bar)


def _waiting(context: Context, moment: Moment) -> list[Note]:
    """Notes over which the right hand waits while the left hand plays alone above it: what it struck last and
    what it strikes next, where both lie wholly below the left hand's notes and no more than a bar apart.
    """
    if moment.struck[1] or moment.held[1] or not moment.struck[0]:
        return []
    length = context.bar(moment.bar).time.length
    last = context.attacks_between("right", moment.onset - length, moment.onset)[-1:]
    following = context.attacks_between("right", moment.onset, moment.onset + length)[:1]
    if not last or not following or following[0].onset - last[0].onset > length:
        return []
    lowest = min(n.midi for n in moment.struck[0])
    notes = [*last[0].notes, *following[0].notes]
    return notes if max(n.midi for n in notes) < lowest else []


def _look(
    moment: Moment, bars: dict[int, _Bar], before: dict[str, float], waiting: Sequence[Note]
) -> None:
    left = [n for n in (*moment.struck[0], *moment.held[0]) if n.hand_sure >= SURE]
    right = [n for n in (*moment.struck[1], *moment.held[1], *waiting) if n.hand_sure >= SURE]
    place = {
        name: sum(key_mm(n.midi) for n in struck) / len(struck)
        for name, struck in zip(("left", "right"), moment.struck, strict=True)
        if struck
    }
    if left and right:
        top = max(left, key=lambda n: n.midi)
        low = min(right, key=lambda n: n.midi)
        if top.midi > low.midi:
            bar = bars[moment.bar]
            bar.attacks += bool(moment.struck[0]) + bool(moment.struck[1])
            depth = distance_mm(top.midi, low.midi)
            if depth > bar.deepest:
                bar.deepest, bar.left, bar.right = depth, top, low
            bar.apart += min(n.midi for n in left) > max(n.midi for n in right)
            bar.notes |= {n.id: n for n in left if n.midi > low.midi}
            bar.notes |= {
                n.id: n
                for n in right
                if n.midi < top.midi and (n.bar == moment.bar or n not in waiting)
            }
            for name, mm in place.items():
                moved = abs(mm - before.get(name, mm))
                bar.travel[name] = max(bar.travel[name], moved)
    before.update(place)


def _candidate(context: Context, index: int, bar: _Bar) -> Candidate:
    written = context.bar(index)
    length = context.seconds(written.end) - context.seconds(written.onset)
    rate = bar.attacks / length if length > 0 else 0.0
    demand = rate * (0.5 + bar.deepest / OCTAVE_MM)
    assert bar.left is not None
    assert bar.right is not None
    notes = sorted(bar.notes.values(), key=lambda n: (n.onset, n.midi))
    mover = max(bar.travel, key=lambda side: bar.travel[side])
    return Candidate(
        first_bar=index,
        last_bar=index,
        hand="both",
        note_ids=tuple(n.id for n in notes),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        numbers={
            "attacks": float(bar.attacks),
            "rate": rate,
            "depth": bar.deepest,
            "apart": float(bar.apart),
            "travel": bar.travel[mover],
        },
        facts={
            "left": note_name(bar.left.pitch),
            "right": note_name(bar.right.pitch),
            "mover": mover,
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for hands that cross."""
    worst = worst_first[0]
    n, facts = worst.numbers, worst.facts
    bar = context.bar_names([worst.first_bar])
    start = context.bar(worst.first_bar).onset
    clear = n["apart"] > 0
    mover = facts["mover"]
    how = "passes over" if clear else "lies inside"
    title = f"The {mover} hand crosses to {facts[mover]}" if clear else "Hands inside each other"
    return Wording(
        title=title,
        reason=(
            f"In {bar} the left hand's {facts['left']} lies above the right hand's {facts['right']}, "
            f"{n['depth']:.0f} mm across; the hands strike {times(int(n['attacks']))} "
            f"while one {how} the other, {n['rate']:.1f} a second."
        ),
        goes_wrong=(
            f"The {mover} hand, which moves {n['travel']:.0f} mm at once, arrives late, and its first note is struck "
            "harder than the line it belongs to."
            if clear
            else f"The thumbs meet on the keys round {facts['right']}; one hand is pushed aside and its note does not sound."
        ),
        try_=(
            f"Decide which hand lies over and write it in at {bar}: the hand that comes from further away, here the {mover}, "
            "usually goes over, the other stays low and near the front edge of the keys."
            if clear
            else f"Decide which hand lies over in {bar} and keep it so: one hand nearer the fallboard, the other at the front edge.",
            f"Without sound: put both hands on their crossed keys of {bar}, {facts['left']} and {facts['right']}, from the "
            "position before, five times.",
            f"Then in time at {tempo_words(context, start, 0.5)}, looking ahead to the key that is reached, not at the hand.",
        ),
        done_when=(
            f"{capital(bar)} with the bar before it, three times in a row at {tempo_words(context, start, 0.75)}, "
            "no key missed and no stop before the crossing."
        ),
        evidence=(
            Evidence("distance that the left hand lies above the right", round(n["depth"]), "mm"),
            Evidence("attacks while crossed", int(n["attacks"])),
            Evidence("rate of attacks while crossed", round(n["rate"], 2), "notes/s"),
            Evidence(f"widest move of the {mover} hand there", round(n["travel"]), "mm"),
        ),
    )


KIND = Kind("hands-crossing", "hands crossing", find, describe, most=2, moves=False)
