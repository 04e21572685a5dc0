"""A chord, or a held note with a played one, wider than the hand's comfortable reach.

Conventions
-----------
* Width is measured between the centres of the outer keys in millimetres (`hands.keyboard`) and
  compared with the student's own hand (`hands.hand`, after Boyle, Boyle and Booker, 2015): at the
  comfortable reach severity is 0.25, at the largest reach 0.5. It does not depend on the level.
* What the hand strikes at once is a *chord*; a note that it still holds counts as *held*.
* A chord with an arpeggio sign, a held note under a marked pedal, and an outer note that the other
  hand could take are milder, and said so. A held note farther away than the hand can stretch at all
  is not a stretch: the hand lets it go and the pedal keeps it.

Care: no stretch beyond comfort, above all for growing hands; the words say so wherever they speak of
reach.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp

from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Note, Position, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import severity
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    centimetres,
    counted,
    hand_name,
    letter,
    note_name,
    other_places,
    start_of,
    tempo_words,
    where,
)

SOURCE = "reach of the hand, Boyle, Boyle and Booker, 2015"

ROLLED_SHARE, PEDALLED_SHARE, SHARED_SHARE = 0.6, 0.6, 0.65
"""Share of the severity left where the chord is rolled by its sign, the held note lies under a marked
pedal, or the other hand is free and near enough to take the outer note. Our judgement."""

BEYOND_SHARE = 1.1
"""A held note farther away than this share of the largest reach must be let go: the pedal keeps it."""

SUSTAINED_S = 1.0
"""A wide chord held longer than this is a strain and not a snap of the hand."""

HURRIED_S = 0.35
"""With less time than this from the attack before, the hand cannot open early."""

BENT, MOST = 0.65, 0.85
"""A chord that this hand cannot strike at once asks for a change of the text, not for years of work: from
`BENT` on severity grows more and more slowly, towards `MOST`."""

DIVIDED, DIVIDED_SHARE = 1.25, 0.7
"""From this share of the largest reach on, a chord is not written for one hand to strike: it is
divided or taken one after the other under the pedal, and the question is only how."""

STRAIN = 0.05
"""Added to the severity of a wide chord that is sustained, and of one that is hurried."""


@dataclass(frozen=True, slots=True)
class Width:
    """What a hand spans at one moment."""

    attack: Attack
    low: Note
    high: Note
    mm: float
    held: bool
    """Whether the wider span needs a note that was struck before."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each attack at which a hand is open beyond comfort."""
    ticks = context.piece.ticks
    sides: tuple[Side, Side] = ("left", "right")
    for side in sides:
        before: Attack | None = None
        held: list[tuple[int, Note]] = []
        for attack in context.attacks[side]:
            held = [(end, n) for end, n in held if end > attack.tick]
            width = _width(context, attack, [n for _, n in held])
            if width is not None:
                yield _candidate(context, width, before)
            held += [(attack.tick + ticks(n.duration), n) for n in attack.notes]
            before = attack


def _width(context: Context, attack: Attack, held: Sequence[Note]) -> Width | None:
    """The widest span at `attack` that the hand must hold, None within comfort."""
    comfort, largest = context.hand.comfortable_mm, context.hand.largest_mm
    own = distance_mm(attack.midis[0], attack.midis[-1])
    best: Width | None = None
    if own > comfort:
        best = Width(attack, attack.low, attack.high, own, held=False)
    for note in held:
        low = min((note, attack.low), key=lambda n: n.midi)
        high = max((note, attack.high), key=lambda n: n.midi)
        mm = distance_mm(low.midi, high.midi)
        if not comfort < mm <= largest * BEYOND_SHARE:
            continue
        if best is None or (mm > best.mm and not best.mm > largest):
            best = Width(attack, low, high, mm, held=True)
    return best


def _candidate(context: Context, width: Width, before: Attack | None) -> Candidate:
    attack, hand = width.attack, context.hand
    value = severity(width.mm, hand.comfortable_mm, hand.largest_mm)
    end = max(n.end for n in (width.low, width.high))
    lasting = context.seconds(min(width.low.end, width.high.end)) - context.seconds(attack.onset)
    rolled = not width.held and any(n.arpeggio in {"up", "down"} for n in attack.notes)
    pedalled = context.pedalled(width.low.onset, min(end, attack.onset + 1))
    share = _shareable(context, width)
    hurried = False
    if before is not None and not rolled:
        gap = context.seconds(attack.onset) - context.seconds(before.onset)
        hurried = gap < HURRIED_S and not _open_already(before, width)
    if not rolled and not pedalled:
        value += STRAIN * (lasting > SUSTAINED_S) + STRAIN * hurried
    value = _bent(value) * (DIVIDED_SHARE if width.mm > hand.largest_mm * DIVIDED else 1.0)
    value *= ROLLED_SHARE if rolled else 1.0
    value *= PEDALLED_SHARE if width.held and pedalled else 1.0
    value *= SHARED_SHARE if share is not None else 1.0
    doubled = _doubled(context, width)
    inside = [n for n in attack.notes if n not in (width.low, width.high)]
    ids = (width.low.id, *(n.id for n in inside), width.high.id)
    return Candidate(
        attack.bar,
        attack.bar,
        attack.side,
        ids if width.held else attack.ids,
        value,
        family="held" if width.held else "chord",
        numbers={"mm": width.mm, "seconds": lasting, "notes": len(attack.notes)},
        facts={
            "low": note_name(width.low.pitch),
            "high": note_name(width.high.pitch),
            "held": _held_name(width),
            "rolled": "yes" if rolled else "",
            "pedalled": "yes" if pedalled else "",
            "hurried": "yes" if hurried else "",
            "share": note_name(share.pitch) if share else "",
            "doubled": note_name(doubled.pitch) if doubled else "",
            "letter": letter(doubled.pitch) if doubled else "",
        },
    )


def _bent(value: float) -> float:
    """`value`, beyond `BENT` drawn in towards `MOST`."""
    room = MOST - BENT
    return value if value <= BENT else MOST - room * exp(-(value - BENT) / room)


def _held_name(width: Width) -> str:
    if not width.held:
        return ""
    note = width.low if width.low.onset < width.attack.onset else width.high
    return note_name(note.pitch)


def _open_already(before: Attack, width: Width) -> bool:
    return distance_mm(before.low.midi, before.high.midi) >= width.mm


def _shareable(context: Context, width: Width) -> Note | None:
    """The outer note that the other hand could take: it strikes at that moment, or is silent, and
    reaches the note within comfort.
    """
    if width.held:
        return None
    side = width.attack.side
    other: Side = "left" if side == "right" else "right"
    note = width.low if side == "right" else width.high
    there = context.attack_at.get((other, width.attack.onset))
    if there is not None:
        near = distance_mm(min(there.low.midi, note.midi), max(there.high.midi, note.midi))
        return note if near <= context.hand.largest_mm else None
    return note if _silent(context, other, width.attack.onset, note.end) else None


def _silent(context: Context, side: Side, start: Position, end: Position) -> bool:
    """Whether a hand neither holds nor strikes anything from `start` to `end`."""
    bar = context.piece.bar_at(start)
    earlier = context.attacks_between(side, bar.onset - bar.time.length, end)
    return all(n.end <= start for a in earlier for n in a.notes)


def _doubled(context: Context, width: Width) -> Note | None:
    """An outer note whose letter is struck elsewhere at the same moment, so that it could be left out."""
    if width.held:
        return None
    struck = [n for side in ("left", "right") for n in _notes_at(context, side, width.attack.onset)]
    outer = (width.low, width.high) if width.attack.side == "right" else (width.high, width.low)
    for note in outer:
        if any(n is not note and n.midi % 12 == note.midi % 12 for n in struck):
            return note
    return None


def _notes_at(context: Context, side: Side, onset: Position) -> tuple[Note, ...]:
    attack = context.attack_at.get((side, onset))
    return attack.notes if attack else ()


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the stretches of one hand."""
    worst = worst_first[0]
    at, hand = start_of(worst, context), context.hand
    facts, mm, bars = worst.facts, worst.numbers["mm"], where(worst, context)
    side = hand_name(worst.hand)
    comfort, largest = centimetres(hand.comfortable_mm), centimetres(hand.largest_mm)
    beyond = mm > hand.largest_mm
    if facts["held"]:
        reason = f"In {bars} the {side} holds {facts['held']} while it plays as far as {facts['low'] if facts['held'] == facts['high'] else facts['high']}"
    else:
        reason = f"In {bars} the {side} has {facts['low']} and {facts['high']} in one chord"
    reason += (
        f": {centimetres(mm)} from key to key, where this hand is at ease up to {comfort} and reaches "
        f"{largest} at most."
    )
    reason += " The chord is marked to be rolled." if facts["rolled"] else ""
    reason += (
        " The pedal keeps what the fingers let go." if facts["held"] and facts["pedalled"] else ""
    )
    reason += " There is hardly time to open the hand before it." if facts["hurried"] else ""
    return Wording(
        title=f"Beyond this hand: {facts['low']} to {facts['high']}" if beyond else f"A wide {'grip' if not facts['held'] else 'hold'}: {facts['low']} to {facts['high']}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=_goes_wrong(worst, beyond),
        try_=_ways_out(worst, beyond),
        done_when=(
            f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)} with the way you chose, "
            "the wrist loose before and after, and nothing that aches."
        ),
        evidence=(
            Evidence("width", round(mm), "mm", "centres of the outer keys"),
            Evidence("comfortable reach", round(hand.comfortable_mm), "mm", SOURCE),
            Evidence("largest reach", round(hand.largest_mm), "mm", SOURCE),
            Evidence("length", round(worst.numbers["seconds"], 2), "s"),
        ),
    )  # fmt: skip


def _goes_wrong(worst: Candidate, beyond: bool) -> str:
    facts = worst.facts
    if facts["rolled"]:
        return f"The roll from {facts['low']} to {facts['high']} starts on the beat in one hand and before it in the other, and its notes are uneven."
    if facts["held"]:
        return f"{facts['held']} is dropped early, or the hand stays stretched and stiff until it may let go."
    if beyond:
        return f"The chord is broken at a place nobody chose, or the wrist turns to squeeze {facts['high']} in."
    return f"The hand stiffens on the way to {facts['low']} and {facts['high']}, and {counted(int(worst.numbers['notes']), 'note')} do not sound together."


def _ways_out(worst: Candidate, beyond: bool) -> tuple[str, ...]:
    facts = worst.facts
    outer = facts["high"] if worst.hand == "right" else facts["low"]
    steps: list[str] = []
    if facts["held"]:
        steps.append(
            f"Let {facts['held']} go and keep it with the pedal; listen that the pedal does not blur what follows."
            if not facts["pedalled"]
            else f"Trust the pedal: play {facts['held']}, let the finger go, and move the hand freely."
        )
    if facts["share"]:
        steps.append(
            f"Give {facts['share']} to the other hand, which is free for it; it costs one more thing to coordinate and nothing to the ear."
        )
    if facts["doubled"] and beyond:
        steps.append(
            f"Leave out {facts['doubled']}: {facts['letter']} is struck elsewhere in the same chord, so that only some fullness is lost."
        )
    if not facts["held"]:
        steps.append(
            f"Roll it evenly from {facts['low']} to {facts['high']}, and decide with your teacher which note falls on the beat; practise the notes one by one, then closer together."
            if facts["rolled"] or beyond
            else f"Prepare: open the hand in the air before the chord and let it fall with a loose wrist; if {outer} will not come freely, roll the chord, which costs its single attack."
        )
    if facts["share"] == "" and beyond and not facts["held"] and not facts["rolled"]:
        steps.append(
            "Ask your teacher before you change the text: a rolled chord is heard, a missing inner note hardly."
        )
    steps.append(
        "Never stretch beyond comfort: at the first pull in the hand close it, rest, and choose another way; pain is a reason to stop and to tell someone."
    )
    return tuple(steps[:4]) if len(steps) <= 4 else (*steps[:3], steps[-1])


KIND = Kind("stretch", "wide stretches", find, describe, most=2)
