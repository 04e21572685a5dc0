"""A change of key signature: for the first bars after it the old signature's notes are played.

The letters that the old and the new signature treat differently are the ones that habit gets wrong.
Their first appearances in each hand in the bars after the change are looked up: a note of such a
letter, played as the new signature says. The demand is the number of these first appearances, each
counting less the later it comes (half after `HALF_AFTER` bars: by then the eye has read other notes of the new
key) and less where the edition prints a reminder at the note. A change whose altered letters do not
appear within `LOOK` bars is not a difficulty and is not reported.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.score.piece import KeySignature, Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.signature import (
    Signatures,
    key_names,
    signature_alter,
    signature_words,
)
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    letter,
    listed,
    note_name,
    tempo_words,
    times,
)

LOOK = 8
"""Bars after the change in which a first appearance is still a surprise: a period."""

SHOWN = 4
"""Bars that the spot covers at most: a phrase."""

HALF_AFTER = 4.0
"""Bars after which a first appearance counts half."""

REMINDER = 0.4
"""Share that a note with a printed reminder counts: the sign is seen, the habit remains."""

ORDINARY = (0.6, 1.6)
"""Weighted first appearances that nobody of the level minds: part of one letter, a letter in both hands."""

HARD = (1.4, 5.0)
"""The same where the new notes must be prepared: one new letter for both hands of a beginner; three for
both hands in concert music."""

_ALTERATIONS = {-1: "flat", 0: "natural", 1: "sharp"}


def find(context: Context) -> Iterable[Candidate]:
    """Every change of signature whose altered letters come soon."""
    changes = Signatures(context.piece).changes
    for i, (old, new) in enumerate(changes):
        until = changes[i + 1][1].bar if i + 1 < len(changes) else len(context.piece.bars)
        found = _change(context, old, new, min(new.bar + LOOK, until))
        if found is not None:
            yield found


def _change(context: Context, old: KeySignature, new: KeySignature, until: int) -> Candidate | None:
    altered = {
        step: signature_alter(step, new.fifths)
        for step in "CDEFGAB"
        if signature_alter(step, old.fifths) != signature_alter(step, new.fifths)
    }
    firsts: dict[tuple[str, str], Note] = {}
    total = 0
    for bar in range(new.bar, max(until, new.bar + 1)):
        for note in context.piece.notes_of_bar[bar]:
            pitch = note.pitch
            if not note.printed or note.onset < new.onset or altered.get(pitch.step) != pitch.alter:
                continue
            total += 1
            firsts.setdefault((pitch.step, note.hand), note)
    if not firsts:
        return None
    weights = [
        (REMINDER if n.accidental else 1.0) / (1.0 + (n.bar - new.bar) / HALF_AFTER)
        for n in firsts.values()
    ]
    shown = sorted(firsts.values(), key=lambda n: (n.onset, n.midi))
    near = [n for n in shown if n.bar < new.bar + SHOWN] or shown[:1]
    first = shown[0]
    letters = sorted(
        {n.pitch.step for n in shown}, key=lambda s: [n.pitch.step for n in shown].index(s)
    )
    return Candidate(
        first_bar=new.bar,
        last_bar=max(n.bar for n in near),
        hand="both",
        note_ids=tuple(n.id for n in shown),
        severity=severity_by_ratio(
            sum(weights), by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        numbers={
            "old": float(old.fifths),
            "new": float(new.fifths),
            "letters": float(len(altered)),
            "firsts": float(len(firsts)),
            "total": float(total),
            "bars": float(max(until - new.bar, 1)),
            "first_bar": float(first.bar),
            "reminders": float(sum(bool(n.accidental) for n in shown)),
        },
        facts={
            "changed": ", ".join(f"{s} {_ALTERATIONS[altered[s]]}" for s in letters),
            "first": note_name(first.pitch),
            "first_hand": first.hand,
            "first_habit": f"{first.pitch.step} {_ALTERATIONS[signature_alter(first.pitch.step, old.fifths)]}",
            "first_letter": letter(first.pitch)
            if first.pitch.alter
            else f"{first.pitch.step} natural",
            "key": key_names(new.fifths, new.mode),
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a change of signature."""
    worst = worst_first[0]
    n, facts = worst.numbers, worst.facts
    changed = facts["changed"].split(", ")
    bar = context.bar_names([worst.first_bar])
    span = context.bar_names(range(worst.first_bar, worst.last_bar + 1))
    first_bar = context.bar_names([int(n["first_bar"])])
    before = context.bar_names([max(worst.first_bar - 1, 0)])
    last = context.bar_names([worst.last_bar])
    start = context.bar(worst.first_bar).onset
    new, old = signature_words(int(n["new"])), signature_words(int(n["old"]))
    reminders = int(n["reminders"])
    printed = (
        f" The edition prints a reminder at {counted(reminders, 'of them', 'of them')}."
        if reminders
        else ""
    )
    return Wording(
        title=f"New signature: {new}",
        reason=(
            f"At {bar} the signature changes from {old} to {new}. {capital(listed(changed))} "
            f"{'is' if len(changed) == 1 else 'are'} new, and {'they come' if len(changed) > 1 else 'it comes'} "
            f"{times(int(n['total']))} within {counted(int(n['bars']), 'bar')}, first as {facts['first']} in {first_bar}, "
            f"{facts['first_hand']} hand.{printed}"
        ),
        goes_wrong=(
            f"The hands stay in the old signature: {facts['first_habit']} is played for {facts['first_letter']} in {first_bar}"
            + (f", and then {listed(changed[1:])} are missed in turn." if len(changed) > 2 else ".")
        ),
        try_=(
            f"Before playing, read {span} aloud and name every {listed(changed[:4])}; touch each key as you say it.",
            f"The scale and the three main chords of {facts['key']}, hands separately, then {span}.",
            f"From {before}: stop before the change, say the new signature, go on; then make the stop shorter until it is gone.",
        ),
        done_when=(
            f"From {before} to the end of {last} three times in a row at {tempo_words(context, start, 0.6)}, without a stop at the change and "
            f"without one {facts['first_habit']}."
        ),
        evidence=(
            Evidence("letters that change", int(n["letters"])),
            Evidence("first appearances in either hand", int(n["firsts"])),
            Evidence(f"notes of these letters within {int(n['bars'])} bars", int(n["total"])),
            Evidence("reminders printed", reminders),
        ),
    )


KIND = Kind("key-signature", "change of key signature", find, describe, most=2)
