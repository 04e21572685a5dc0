"""The hands do different things at once: another touch, another rhythm, or both for the first time.

Conventions
-----------
* *touch*: within one bar one hand plays under a slur, joined, and the other with dots; each for at least half of its
  attacks. Only what is printed counts.
* *rhythm*: each hand strikes at moments when the other does not. The demand counts the lesser of the two
  numbers: an accompaniment that goes on under a tune costs little, since one hand's moments hold all of
  the other's; two rhythms of which neither holds the other cost most (the pattern that both make
  together is what is hard: Deutsch, 1983).
* *entry*: the first bar in which both hands strike, after `ALONE` bars and more in which they took turns. A
  difficulty of first-year pieces only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from passagework.score.piece import Bar, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    note_name,
    other_places,
    start_of,
    tempo_basis,
    tempo_words,
    where,
)

SOURCE = "the joint pattern of two hands, Deutsch, 1983"

DETACHED = frozenset({"staccato", "staccatissimo", "spiccato"})

HALF = 0.5
"""Share of a hand's attacks in a bar that must have a touch for the hand to have it."""

LEAST = 2
"""Attacks of each hand below which a bar says nothing of its touch or rhythm."""

ALONE = 2
"""Bars in which the hands take turns, after which their meeting is new."""

HIGHEST_ENTRY_LEVEL = 0.2
"""Level beyond which playing with both hands is taken for granted: first-year pieces."""

TOUCH_ORDINARY, TOUCH_HARD = (1.0, 7.0), (2.4, 15.0)
"""Attacks per second of both hands in two touches, for first-year and concert pieces."""

RHYTHM_ORDINARY, RHYTHM_HARD = (0.5, 4.0), (1.3, 10.0)
"""Attacks per second of the hand that has fewer of its own, for first-year and concert pieces."""

ENTRY_ORDINARY, ENTRY_HARD = (0.6, 1.2), (2.0, 4.0)
"""Attacks per second of both hands in the bar in which they meet."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield candidates for each bar in which the hands differ, and for their first meeting."""
    left, right = (_by_bar(context, side) for side in ("left", "right"))
    apart = 0
    for bar, low, high in zip(context.piece.bars, left, right, strict=True):
        time = context.seconds(bar.end) - context.seconds(bar.onset)
        if low and high and time > 0:
            if apart >= ALONE:
                yield from _entry(context, bar, low, high, time)
            apart = -1
            yield from _differ(context, bar, low, high, time)
        elif apart >= 0 and (low or high):
            apart += 1


def _by_bar(context: Context, side: Side) -> list[list[Attack]]:
    rows: list[list[Attack]] = [[] for _ in context.piece.bars]
    for attack in context.attacks[side]:
        rows[attack.bar].append(attack)
    return rows


def _differ(
    context: Context, bar: Bar, low: list[Attack], high: list[Attack], time: float
) -> Iterable[Candidate]:
    if min(len(low), len(high)) < LEAST:
        return
    level, rate = context.level, (len(low) + len(high)) / time
    touches = _touch(context, low), _touch(context, high)
    if set(touches) == {"joined", "detached"}:
        value = severity_by_ratio(
            rate, by_level(level, *TOUCH_ORDINARY), by_level(level, *TOUCH_HARD)
        )
        facts = {"joined": "left" if touches[0] == "joined" else "right"}
        yield _candidate(bar, low, high, value, "touch", {"rate": rate}, facts)
    mine = {a.tick for a in low}
    theirs = {a.tick for a in high}
    alone = min(len(mine - theirs), len(theirs - mine))
    if alone >= LEAST:
        value = severity_by_ratio(
            alone / time, by_level(level, *RHYTHM_ORDINARY), by_level(level, *RHYTHM_HARD)
        )
        numbers = {
            "rate": alone / time,
            "left": len(mine - theirs),
            "right": len(theirs - mine),
            "together": len(mine & theirs),
        }
        yield _candidate(bar, low, high, value, "rhythm", numbers, {})


def _entry(
    context: Context, bar: Bar, low: list[Attack], high: list[Attack], time: float
) -> Iterable[Candidate]:
    level = context.level
    if level.value > HIGHEST_ENTRY_LEVEL:
        return
    rate = (len(low) + len(high)) / time
    value = severity_by_ratio(rate, by_level(level, *ENTRY_ORDINARY), by_level(level, *ENTRY_HARD))
    meet = next((a for a in high if any(b.tick == a.tick for b in low)), high[0])
    under = next((b for b in low if b.tick == meet.tick), low[0])
    facts = {"right": note_name(meet.high.pitch), "left": note_name(under.low.pitch)}
    same = any(b.tick == meet.tick for b in low)
    yield _candidate(bar, low, high, value, "entry", {"rate": rate, "same": float(same)}, facts)


def _touch(context: Context, attacks: Sequence[Attack]) -> str:
    """``"joined"``, ``"detached"``, or ``""`` where the page does not say."""
    detached = sum(bool(DETACHED & n.articulations) for a in attacks for n in a.notes[:1])
    if detached >= HALF * len(attacks) and detached >= LEAST:
        return "detached"
    joined = sum(context.slurred(a.low.staff, a.onset, b.onset) for a, b in pairwise(attacks))
    return "joined" if joined >= HALF * (len(attacks) - 1) and joined and not detached else ""


def _candidate(
    bar: Bar,
    low: Sequence[Attack],
    high: Sequence[Attack],
    value: float,
    family: str,
    numbers: dict[str, float],
    facts: dict[str, str],
) -> Candidate:
    ids = tuple(i for a in sorted((*low, *high), key=lambda a: a.tick) for i in a.ids)
    return Candidate(bar.index, bar.index, "both", ids, value, family, numbers, facts)


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the bars in which the hands differ in one way."""
    family = worst_first[0].family
    return {"touch": _of_touch, "rhythm": _of_rhythm, "entry": _of_entry}[family](
        worst_first, context
    )


def _of_touch(worst_first: Sequence[Candidate], context: Context) -> Wording:
    worst = worst_first[0]
    at, bars = start_of(worst, context), where(worst, context)
    joined = worst.facts["joined"]
    detached = "left" if joined == "right" else "right"
    return Wording(
        title="One hand legato, the other staccato",
        reason=(
            f"In {bars} the {joined} hand plays under slurs and the {detached} hand with dots, {worst.numbers['rate']:.1f} notes "
            f"or chords a second between them {tempo_basis(context, at)}.{other_places(worst_first, context)}"
        ),
        goes_wrong=f"The {joined} hand lifts whenever the {detached} hand does, or the {detached} hand's dots grow as long as the {joined} hand's notes.",
        try_=(
            f"Play the {joined} hand of {bars} on the keys and the {detached} hand on the wood beside them: one stays, the other bounces.",
            f"Play two notes of the {joined} hand with one of the {detached} and stop: is the {joined} hand still holding? Then the next two.",
            f"{capital(bars)} with the touches exchanged, once, and then as written at {tempo_words(context, at, 0.5)}.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.8)}, the {joined} hand without a gap and the {detached} hand without a note held on.",
        evidence=(Evidence("attacks of both hands", round(worst.numbers["rate"], 2), "a second", "slurs and dots as printed"),),
    )  # fmt: skip


def _of_rhythm(worst_first: Sequence[Candidate], context: Context) -> Wording:
    worst = worst_first[0]
    at, bars, n = start_of(worst, context), where(worst, context), worst.numbers
    left, right, both = int(n["left"]), int(n["right"]), int(n["together"])
    return Wording(
        title="Each hand its own rhythm",
        reason=(
            f"In {bars} the left hand strikes {counted(left, 'time')} when the right does not, the right {counted(right, 'time')} when the "
            f"left does not, and they strike together {counted(both, 'time') if both else 'nowhere'}.{other_places(worst_first, context)}"
        ),
        goes_wrong="The hands are drawn together: a note of the one waits for the other, or comes early to meet it.",
        try_=(
            f"Tap {bars} on your knees, each hand its own rhythm, and say right, left or both as they fall.",
            f"Play {bars} from one note to the next, whichever hand has it, stopping on each, in the right order and without counting time.",
            f"Then in time with both hands at {tempo_words(context, at, 0.5)}, one bar more each time.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.8)}; then once while you count the beats aloud.",
        evidence=(
            Evidence("strokes of the left hand alone", left),
            Evidence("strokes of the right hand alone", right),
            Evidence("strokes together", both),
            Evidence("strokes of its own, of the hand with fewer", round(n["rate"], 2), "a second", SOURCE),
        ),
    )  # fmt: skip


def _of_entry(worst_first: Sequence[Candidate], context: Context) -> Wording:
    worst = worst_first[0]
    at, bars, facts = start_of(worst, context), where(worst, context), worst.facts
    meet = (
        f"first on {facts['right']} over {facts['left']}"
        if worst.numbers["same"]
        else f"{facts['right']} and {facts['left']} one after the other"
    )
    return Wording(
        title="Both hands for the first time",
        reason=f"Up to {bars} the hands take turns; here both play in one bar, {meet}, {worst.numbers['rate']:.1f} notes or chords a second {tempo_basis(context, at)}.",
        goes_wrong="The music stops before the bar, and the two notes that belong together fall one after the other.",
        try_=(
            f"Set both hands on their keys, {facts['left']} and {facts['right']}, and look away before you play.",
            f"Each hand alone through {bars} until it needs no thought, counting aloud.",
            f"Both hands to the first place where they meet, and stop there; then one beat further each time, at {tempo_words(context, at, 0.6)}.",
        ),
        done_when=f"From the bar before into {bars} three times in a row at {tempo_words(context, at, 0.8)}, with no wait and the hands together.",
        evidence=(Evidence("attacks of both hands", round(worst.numbers["rate"], 2), "a second"),),
    )  # fmt: skip


KIND = Kind(
    "hands-together", "hands doing different things", find, describe, most=2, by_family=True
)
