"""Two voices in one hand: some fingers hold or sing one line while others play another.

A note of a hand is *bound* while it is held and the same hand strikes other keys; the notes that are struck under
(or over) it are *moving*. Every bar of a hand is one candidate if it has such notes. Two things make it
hard, and they are multiplied: how often a finger must move while others stay down (moving attacks per
second of the bar), and how crowded the free fingers are (different keys that the free fingers have to
play, for each free finger). Fingers of one hand are not independent: a finger that is held
makes its neighbours weaker and less even (Haeger-Ross and Schieber, 2000), so each bound finger counts.

A held note does not count where no finger can hold it: further from the moving note than the hand's
largest reach (then only the pedal holds it), or let go before half of the moving note is over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from passagework.score.piece import Note, Side
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.sounding import SIDES, moments
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    hand_name,
    listed,
    note_name,
    number,
    other_places,
    seconds,
    tempo_words,
)

ORDINARY = (0.4, 1.8)
"""Moving attacks per second, weighted by crowding, that nobody of the level minds: a first-year piece
(one held note in a bar), a concert piece (counted in chorale-like and accompanied inner voices)."""

HARD = (1.2, 5.5)
"""The same where the place must be practised on purpose."""

FINGERS = 5

SOURCE = "fingers of one hand are not independent (Haeger-Ross and Schieber, 2000)"


@dataclass
class _Bar:
    """What one hand does in one bar while some of its fingers are bound."""

    attacks: int = 0
    moving: dict[str, Note] = field(default_factory=dict)
    held: dict[str, Note] = field(default_factory=dict)
    keys: set[int] = field(default_factory=set)
    most_held: int = 0
    above: int = 0
    below: int = 0


def find(context: Context) -> Iterable[Candidate]:
    """Every bar of every hand in which notes move while others are held."""
    bars: dict[tuple[int, Side], _Bar] = defaultdict(_Bar)
    ticks = context.piece.ticks
    for moment in moments(context):
        for i, side in enumerate(SIDES):
            if not moment.struck[i] or not moment.held[i]:
                continue
            moving = _moving(moment.struck[i], moment.held[i])
            if not moving:
                continue
            shortest = min(ticks(m.duration) for m in moving)
            bound = [
                note
                for note, end in zip(moment.held[i], moment.until[i], strict=True)
                if (end - moment.tick) * 2 >= shortest  # down for half of what moves
            ]
            if not bound:
                continue
            bar = bars[moment.bar, side]
            bar.attacks += 1
            bar.moving |= {m.id: m for m in moving}
            bar.held |= {h.id: h for h in bound}
            bar.keys |= {m.midi for m in moving}
            bar.most_held = max(bar.most_held, len({h.midi for h in bound}))
            top, low = max(h.midi for h in bound), min(h.midi for h in bound)
            bar.above += sum(m.midi > top for m in moving)
            bar.below += sum(m.midi < low for m in moving)
    for (index, side), bar in sorted(bars.items()):
        yield _candidate(context, index, side, bar)


def _moving(struck: Sequence[Note], held: Sequence[Note]) -> list[Note]:
    keys = {h.midi for h in held}
    return [n for n in struck if n.midi not in keys]


def _candidate(context: Context, index: int, side: Side, bar: _Bar) -> Candidate:
    written = context.bar(index)
    length = context.seconds(written.end) - context.seconds(written.onset)
    rate = bar.attacks / length if length > 0 else 0.0
    free = max(FINGERS - bar.most_held, 1)
    crowding = min(len(bar.keys) / free, 2.0)
    demand = rate * (0.5 + 0.5 * bar.most_held) * (0.75 + 0.25 * crowding)
    longest = max(bar.held.values(), key=lambda n: n.duration)
    where = "both" if bar.above and bar.below else "above" if bar.above else "below"
    notes = sorted({**bar.held, **bar.moving}.values(), key=lambda n: (n.onset, n.midi))
    return Candidate(
        first_bar=index,
        last_bar=index,
        hand=side,
        note_ids=tuple(n.id for n in notes),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        numbers={
            "moving": float(bar.attacks),
            "rate": rate,
            "bound": float(bar.most_held),
            "keys": float(len(bar.keys)),
            "free": float(free),
            "held_seconds": context.seconds(longest.end) - context.seconds(longest.onset),
            "demand": demand,
        },
        facts={
            "held": note_name(longest.pitch),
            "held_names": ", ".join(dict.fromkeys(note_name(n.pitch) for n in bar.held.values())),
            "where": where,
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for one place where a hand holds and plays."""
    worst = worst_first[0]
    n = worst.numbers
    hand, bar = hand_name(worst.hand), context.bar_names([worst.first_bar])
    held = worst.facts["held_names"].split(", ")
    names = listed(held) if len(held) <= 3 else f"{counted(len(held), 'long note')}"
    if int(n["bound"]) == 1 and len(held) > 1:
        names += ", one after the other,"
    side = {"above": "on above", "below": "on below", "both": "on both sides of"}[
        worst.facts["where"]
    ]
    start = context.bar(worst.first_bar).onset
    outer = _tune_end(worst)
    bound, free = int(n["bound"]), int(n["free"])
    it = "it" if len(held) == 1 else "them"
    return Wording(
        title=f"Two voices in the {hand}",
        reason=(
            f"In {bar} the {hand} holds {names} and plays {side} {it}: "
            f"{counted(int(n['moving']), 'attack')}, {n['rate']:.1f} a second, with "
            f"{counted(bound, 'finger')} bound and {counted(int(n['keys']), 'key')} for the other {number(free)}."
            f"{other_places(worst_first, context)}"
        ),
        goes_wrong=(
            f"{worst.facts['held']} should last {seconds(n['held_seconds'])}, and is let go as soon as the moving notes "
            f"begin; or the moving notes come out as loud as {'the tune' if outer else 'the held line'}."
        ),
        try_=(
            f"Hold {names} down silently and play the moving notes of {bar} over it, lightly, the wrist free."
            if len(held) == 1
            else f"Play only the held line of {bar}, each note with the finger it will have later, full length.",
            f"The held line loud and the moving notes soft beyond need, slowly, at {tempo_words(context, start, 0.5)}.",
            "The two lines as a duet: one in each hand first, then both in "
            f"the {hand}, listening for the same sound.",
        ),
        done_when=(
            f"{capital(bar)} three times in a row at {tempo_words(context, start, 0.75)}, every held note "
            "sounding until its end, without pedal."
        ),
        evidence=(
            Evidence("attacks while a note is held", int(n["moving"])),
            Evidence("rate of these attacks", round(n["rate"], 2), "notes/s"),
            Evidence("fingers bound at once", bound, "", SOURCE),
            Evidence("different keys for the free fingers", int(n["keys"])),
            Evidence("longest held note", round(n["held_seconds"], 2), "s"),
        ),
    )


def _tune_end(candidate: Candidate) -> bool:
    """Whether the held line lies where a tune does: on top of the right hand's notes."""
    return candidate.hand == "right" and candidate.facts["where"] == "below"


KIND = Kind("two-voices", "two voices in one hand", find, describe, most=2)
