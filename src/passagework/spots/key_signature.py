"""A change of key signature: for the first bars after it the old signature's notes are played.

The letters that the old and the new signature treat differently are the ones that habit gets wrong.
Their first appearances in each hand in the bars after the change are looked up: a note of such a
letter, played as the new signature says. The demand is the number of these first appearances, each
counting less the later it comes (half after `HALF_AFTER` bars: by then the eye has read other notes of the new
key) and less where the edition prints a reminder at the note. A change whose altered letters do not
appear within `LOOK` bars is not a difficulty and is not reported.

In a piece for beginners (level below `BEGINNER`) the signature at its head is a difficulty of its own (family
``head``): the sharp or flat stands once at the beginning of the line and is forgotten at the note. There
the demand is the number of letters it alters in each hand that come in the piece.
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

BEGINNER = 0.4
"""Level below which the signature at the head is worth a word: the first years, in which keys are new."""

ORDINARY_HEAD, HARD_HEAD = (1.0, 4.0), (2.5, 9.0)
"""Letters of the signature at the head, counted in each hand, for a beginner and towards `BEGINNER`."""

HEAD = "head"

_ALTERATIONS = {-1: "flat", 0: "natural", 1: "sharp"}


def find(context: Context) -> Iterable[Candidate]:
    """Every change of signature whose altered letters come soon."""
    changes = Signatures(context.piece).changes
    for i, (old, new) in enumerate(changes):
        until = changes[i + 1][1].bar if i + 1 < len(changes) else len(context.piece.bars)
        found = _change(context, old, new, min(new.bar + LOOK, until))
        if found is not None:
            yield found
    if context.level.value < BEGINNER:
        yield from _head(context)


def _head(context: Context) -> Iterable[Candidate]:
    """The signature at the head of a piece for beginners: the bars in which its letters first come."""
    rows = Signatures(context.piece).rows
    if not rows or not rows[0].fifths:
        return
    fifths, until = rows[0].fifths, rows[1].onset if len(rows) > 1 else context.piece.end
    firsts: dict[tuple[str, str], Note] = {}
    total: dict[str, int] = {}
    for note in context.piece.notes:
        pitch = note.pitch
        if note.onset >= until or not note.printed or not pitch.alter:
            continue
        if signature_alter(pitch.step, fifths) == pitch.alter:
            firsts.setdefault((pitch.step, note.hand), note)
            total[letter(pitch)] = total.get(letter(pitch), 0) + 1
    grade = severity_by_ratio(
        len(firsts),
        by_level(context.level, *ORDINARY_HEAD),
        by_level(context.level, *HARD_HEAD),
    )
    first = min(firsts.values(), key=lambda n: n.onset, default=None)
    if first is None:
        return
    near = [n for n in firsts.values() if n.bar < first.bar + SHOWN]
    yield Candidate(
        first_bar=first.bar,
        last_bar=max(n.bar for n in near),
        hand="both" if len({n.hand for n in near}) > 1 else first.hand,
        note_ids=tuple(n.id for n in sorted(near, key=lambda n: (n.onset, n.midi))),
        severity=grade,
        family=HEAD,
        numbers={
            "new": float(fifths),
            "firsts": float(len(firsts)),
            "total": float(sum(total.values())),
        },
        facts={
            "letters": ", ".join(total),
            "first": note_name(first.pitch),
            "first_hand": first.hand,
            "key": key_names(fifths, rows[0].mode),
        },
    )


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
    if worst.family == HEAD:
        return _describe_head(worst, context)
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


def _describe_head(worst: Candidate, context: Context) -> Wording:
    n, facts = worst.numbers, worst.facts
    letters = facts["letters"].split(", ")
    first_bar = context.bar_names([worst.first_bar])
    start = context.bar(worst.first_bar).onset
    natural = f"{letters[0][0]} natural"
    return Wording(
        title=f"{capital(listed(letters))} from the signature",
        reason=(
            f"The signature of {signature_words(int(n['new']))} alters {counted(int(n['total']), 'note')} of the piece, "
            f"{listed(letters)}; the first is {facts['first']} in {first_bar}, {facts['first_hand']} hand."
        ),
        goes_wrong=f"{natural} is played, first in {first_bar}: the sign stands at the head of the line and not at the note.",
        try_=(
            f"Find every {listed(letters)} with a finger on the page, before playing, and say it.",
            f"Five fingers or the scale of {facts['key']} up and down, hands separately, then the piece.",
            f"In {first_bar} stop before {facts['first']}, look at the key, then play; then without the stop.",
        ),
        done_when=(
            f"The piece once through at {tempo_words(context, start, 0.6)} with every {listed(letters)} right, "
            "without a pencil ring to help."
        ),
        evidence=(
            Evidence("notes altered by the signature", int(n["total"])),
            Evidence("letters of the signature, in each hand", int(n["firsts"])),
        ),
    )


KIND = Kind("key-signature", "change of key signature", find, describe, most=2, moves=False)
