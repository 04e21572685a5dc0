"""The tune passes between the hands: its next note lies in the other hand.

Every place where the tune changes hands is one candidate (see `passagework.analysis.melody`; places
that it is not sure of are left out). What makes it hard is how little time there is to hear the note
that is given and to match the next to it: the demand is one over the seconds from the last note in the
one hand to the first in the other. It grows by half where the hand that takes over is busy with an
accompaniment just then and must change its part, and by the distance on the keyboard that this hand
travels from what it struck last, in octaves, by half for each.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from passagework.analysis.melody import Handover
from passagework.hands.keyboard import OCTAVE_MM, distance_mm
from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    note_name,
    other_places,
    seconds,
    start_of,
    tempo_words,
    where,
)

SURE = 0.5
"""Confidence below which a change of hands may be none."""

ORDINARY = (0.5, 2.5)
"""Demand (changes a second) that nobody minds, first-year and concert pieces: a change at a rest
between phrases, and one at an unhurried beat."""

HARD = (1.6, 7.0)
"""The same where the join must be practised on purpose: the next beat in a moderate tempo, and
passages dealt out between the hands at several notes a second."""

ONE_GESTURE_S = 0.25
"""Seconds below which less time makes it no harder: the two notes are one gesture dealt out between the
hands, and what limits it is the fingers' speed, which other kinds tell."""

BUSY = 0.5
"""How much harder it is for a hand that has been accompanying."""

TRAVEL = 0.5
"""How much harder for each octave that it travels."""

TRAVEL_MOST = 2.0
"""Octaves of travel that count."""

AROUND = 2
"""Notes of the tune on either side of the two that are shown with them."""


def find(context: Context) -> Iterable[Candidate]:
    """Every place where the tune passes to the other hand."""
    order = context.tune.sequence
    place = {note_id: at for at, note_id in enumerate(order)}
    for handover in context.tune.handovers:
        if handover.confidence < SURE:
            continue
        at = place[handover.before]
        yield _candidate(context, handover, order[max(0, at + 1 - AROUND) : at + 1 + AROUND])


def _candidate(context: Context, handover: Handover, ids: Sequence[str]) -> Candidate:
    piece = context.piece
    before, after = piece.by_id[handover.before], piece.by_id[handover.after]
    wait = context.seconds(after.onset) - context.seconds(before.onset)
    hole = context.seconds(after.onset) - context.seconds(before.end)
    last = _last_struck(context, after)
    travel = distance_mm(last.midi, after.midi) if last else 0.0
    busy = last is not None and after.onset - last.end < Fraction(1, 2) and last.id not in ids
    demand = (1.0 / max(wait, ONE_GESTURE_S) if wait > 0 else 0.0) * (1.0 + (BUSY if busy else 0.0))
    demand *= 1.0 + TRAVEL * min(travel / OCTAVE_MM, TRAVEL_MOST) if busy else 1.0
    near = [piece.by_id[i] for i in ids if abs(piece.by_id[i].bar - after.bar) <= 1]
    return Candidate(
        first_bar=min(n.bar for n in (before, after)),
        last_bar=after.bar,
        hand="both",
        note_ids=tuple(n.id for n in near if before.bar <= n.bar <= after.bar),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        numbers={
            "wait": wait,
            "hole": hole,
            "interval": float(handover.interval),
            "travel": travel if busy else 0.0,
            "busy": float(busy),
            "sure": handover.confidence,
            "demand": demand,
        },
        facts={
            "before": note_name(before.pitch),
            "after": note_name(after.pitch),
            "from": handover.from_hand,
            "to": handover.to_hand,
        },
    )


def _last_struck(context: Context, after: Note) -> Note | None:
    """What the hand that takes over struck last before `after`, within the bar before: its nearest."""
    start = after.onset - context.bar(after.bar).length
    attacks = context.attacks_between(after.hand, start, after.onset)
    if not attacks:
        return None
    return min(attacks[-1].notes, key=lambda n: abs(n.midi - after.midi))


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the changes of hand in one place."""
    worst = worst_first[0]
    n, f = worst.numbers, worst.facts
    bars = where(worst, context)
    start = start_of(worst, context)
    giving, taking = f["from"], f["to"]
    busy = (
        f" The {taking} hand has been accompanying until then and must sing from this note on."
        if n["busy"]
        else ""
    )
    return Wording(
        title="The tune passes from hand to hand",
        reason=(
            f"In {bars} the tune goes from {f['before']} in the {giving} hand to {f['after']} in the "
            f"{taking}, {seconds(n['wait'])} later.{busy}{other_places(worst_first, context)}"
        ),
        goes_wrong=(
            f"A hole before {f['after']}, or a bump on it: each hand has its own weight, and the "
            f"{taking} hand does not hear the {giving} hand's last note as its own beginning."
        ),
        try_=(
            f"Play the tune alone through {bars}, each note in the hand that will have it, until with "
            "closed eyes you cannot hear where it changes.",
            f"Stop on {f['before']} with the {taking} hand already over {f['after']}; listen to the sound "
            "that is left, and go on at that loudness. Make the stop shorter until it is gone.",
            f"The tune as it will be and the rest soft beyond need, at {tempo_words(context, start, 0.6)}; "
            "then all of it.",
        ),
        done_when=(
            f"{capital(bars)} three times in a row at {tempo_words(context, start, 0.8)}, and somebody "
            "who does not watch cannot say where the hands change."
        ),
        evidence=(
            Evidence("time from one hand's note to the other's", round(n["wait"], 2), "s"),
            Evidence(
                "silence between the two notes as written", round(max(n["hole"], 0.0), 2), "s"
            ),
            Evidence("interval of the tune at the change", int(n["interval"]), "semitones"),
            Evidence("travel of the hand that takes over", round(n["travel"]), "mm"),
            Evidence(
                "how sure it is that the tune changes hands",
                round(n["sure"], 2),
                "",
                "salience of the notes against those around them",
            ),
        ),
    )


KIND = Kind("tune-between-hands", "tune passing between the hands", find, describe, most=2)
