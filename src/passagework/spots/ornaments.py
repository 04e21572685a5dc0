"""Trills, mordents, turns and grace notes.

Conventions
-----------
* Names as printed signs have them in MusicXML: ``mordent`` is the sign with the stroke (lower
  neighbour), ``inverted-mordent`` the one without (upper neighbour, a short trill).
* The notes that a sign adds are spelled from the sign's accidental, the bar and the key signature.
* Demand is counted in points: what the sign asks of the fingers, how little time each of its notes
  has, what the other hand plays meanwhile, and whether the same hand holds another line. Grace notes
  that directly follow a trill and lead out of it are its termination.

The points are our judgement, ordered as books of technique order ornaments: a single short grace
note, the mordent, the turn, the short trill, the long trill, the trill beside another voice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2

from passagework.score.piece import Note, Ornament, Side
from passagework.spots.context import Context, is_plain
from passagework.spots.kinds import Kind
from passagework.spots.ornament_notes import (
    GraceGroup,
    auxiliaries,
    grace_groups,
    strikes_to_play,
)
from passagework.spots.severity import by_level, severity
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    letter,
    listed,
    note_name,
    other_places,
    seconds,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

SIGNS = {
    "trill-mark": ("trill", 1.0, 0),
    "shake": ("trill", 1.0, 0),
    "wavy-line": ("trill", 1.0, 0),
    "inverted-mordent": ("short trill", 0.8, 3),
    "mordent": ("mordent", 0.8, 3),
    "turn": ("turn", 1.0, 4),
    "inverted-turn": ("inverted turn", 1.1, 4),
    "delayed-turn": ("turn after the note", 1.1, 5),
    "delayed-inverted-turn": ("inverted turn after the note", 1.2, 5),
    "vertical-turn": ("turn", 1.1, 4),
    "schleifer": ("slide", 0.8, 3),
    "haydn": ("turn", 1.0, 4),
}
"""Sign to its name, its points, and the notes to be played (0: as many as the time holds)."""

TRILL_RATE = 8.0
"""Notes per second of a lively trill that stays even."""

LONG_TRILL_S, TRILL_WEIGHT = 0.5, 0.25
"""Points added for each doubling of a trill's length beyond this."""

GRACE_POINTS, GRACE_WEIGHT, MOST_GRACES = 0.5, 0.15, 6
"""Points of one grace note, and of each one more."""

TIGHT_S, TIGHT_POINTS = 0.11, 0.4
"""Time for each note of the ornament below which it is squeezed, and what that adds; about nine notes
a second."""

OTHER_HAND_POINTS, MOST_OTHERS = 0.08, 6
"""Points for each attack of the other hand while the ornament lasts."""

SECOND_VOICE_POINTS, TERMINATION_POINTS = 0.5, 0.15

GRACE_SHARE = 0.5
"""Grace notes have this share of the beat before they are late, at most."""

ORDINARY, HARD = (0.5, 1.1), (1.1, 2.1)
"""Points, for first-year and concert pieces."""


@dataclass(frozen=True, slots=True)
class Ornamented:
    """A note with its ornament: what must be played, and in what time."""

    note: Note
    name: str
    points: float
    strikes: int
    time: float
    notes: tuple[Note, ...]
    auxiliary: str = ""
    termination: int = 0


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each ornamented note."""
    groups = grace_groups(context)
    endings: dict[str, GraceGroup] = {}
    for group in groups:
        before = group.before
        if before is not None and _trills(before) and 1 < strikes_to_play(group) <= 3:
            endings[before.id] = group
    taken = {n.id for g in endings.values() for n in g.notes}
    for note in context.piece.notes:
        if is_plain(note):
            sign = next((o for o in note.ornaments if o.kind in SIGNS and o.role != "stop"), None)
            if sign is not None:
                yield _candidate(context, _signed(context, note, sign, endings.get(note.id)))
    for group in groups:
        if group.notes[0].id not in taken and group.principal is not None:
            yield _candidate(context, _graced(context, group, group.principal))


def _trills(note: Note) -> bool:
    return any(SIGNS.get(o.kind, ("",))[0] == "trill" for o in note.ornaments)


def _signed(context: Context, note: Note, sign: Ornament, ending: GraceGroup | None) -> Ornamented:
    name, points, strikes = SIGNS[sign.kind]
    time = context.seconds(note.end) - context.seconds(note.onset)
    if name == "trill":
        strikes = max(round(time * TRILL_RATE), 3)
        points += TRILL_WEIGHT * max(log2(max(time, 0.01) / LONG_TRILL_S), 0.0)
    added = auxiliaries(context, note, sign)
    after = ending.notes if ending else ()
    return Ornamented(
        note, name, points, strikes, time, (note, *after),
        listed([letter(p) for p in added]), len(after),
    )  # fmt: skip


def _graced(context: Context, group: GraceGroup, principal: Note) -> Ornamented:
    strikes = strikes_to_play(group)
    beat = context.bar(principal.bar).time.beat
    room = min(principal.duration, beat)
    time = GRACE_SHARE * (
        context.seconds(principal.onset + room) - context.seconds(principal.onset)
    )
    points = GRACE_POINTS + GRACE_WEIGHT * (min(strikes, MOST_GRACES) - 1)
    slashed = any(n.grace == "slashed" for n in group.notes)
    name = ("short grace note" if slashed else "grace note") if strikes == 1 else "grace notes"
    return Ornamented(principal, name, points, strikes, time, (*group.notes, principal))


def _candidate(context: Context, what: Ornamented) -> Candidate:
    note = what.note
    share = what.time / what.strikes if what.strikes else what.time
    points = what.points + (TIGHT_POINTS if share < TIGHT_S else 0.0)
    other: Side = "left" if note.hand == "right" else "right"
    others = len(context.attacks_between(other, note.onset, note.end))
    points += OTHER_HAND_POINTS * min(max(others - 1, 0), MOST_OTHERS)
    second = _second_voice(context, note)
    points += SECOND_VOICE_POINTS * (second > 0)
    points += TERMINATION_POINTS * (what.termination > 0)
    level = context.level
    names = [note_name(n.pitch) for n in what.notes if n.grace]
    return Candidate(
        note.bar,
        note.bar,
        note.hand,
        tuple(n.id for n in what.notes),
        severity(points, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=_family(what.name),
        numbers={
            "points": points, "strikes": what.strikes, "seconds": what.time, "share": share,
            "others": others, "second": second, "termination": what.termination,
        },
        facts={
            "name": what.name,
            "note": note_name(note.pitch),
            "auxiliary": what.auxiliary,
            "graces": listed(names) if len(names) <= 5 else f"{names[0]} to {names[-1]}",
        },
    )  # fmt: skip


def _family(name: str) -> str:
    if name in {"trill", "short trill"}:
        return "trills"
    return "grace notes" if "grace" in name else "turns and mordents"


def _second_voice(context: Context, note: Note) -> int:
    """Attacks of another voice of the same hand while the ornament lasts, after its first moment."""
    inside = context.attacks_between(note.hand, note.onset, note.end)
    return sum(1 for a in inside if a.onset > note.onset)


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for ornaments of one sort and hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    numbers, facts = worst.numbers, worst.facts
    name, note, strikes = facts["name"], facts["note"], int(numbers["strikes"])
    others, graced = int(numbers["others"]), "grace" in name
    if graced:
        reason = f"In {bars} the {hand} has {facts['graces']} before {note}: {counted(strikes, 'attack')} in at most {seconds(numbers['seconds'])}"
    else:
        reason = f"In {bars} the {hand} has a {name} on {note} with {facts['auxiliary'] or 'its neighbour'}: about {counted(strikes, 'note')} in {seconds(numbers['seconds'])}"
    reason += f" {tempo_basis(context, at)}"
    reason += (
        f", with an ending of {counted(int(numbers['termination']), 'grace note')} ({facts['graces']})"
        if numbers["termination"]
        else ""
    )
    if numbers["second"]:
        reason += f". The same hand plays {counted(int(numbers['second']), 'other note')} meanwhile"
    if others > 1:
        reason += f". The other hand strikes {counted(others, 'time')} while it lasts"
    reason += "."
    return Wording(
        title=f"{capital(name)} on {note}" if not graced else f"{capital(name)} before {note}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=_goes_wrong(worst),
        try_=_steps(worst, context),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.95)}: {note if graced else 'the note after the ' + name} exactly in time, and the beat unmoved for someone who taps along.",
        evidence=(
            Evidence("notes of the ornament", strikes, "", "as many as an even trill of 8 notes a second holds" if name == "trill" else "as the sign is usually played" if not graced else "as printed"),
            Evidence("time for each", round(numbers["share"], 3), "s", tempo_source(context, at)),
            Evidence("attacks of the other hand meanwhile", others),
            Evidence("added notes", facts["auxiliary"] or facts["graces"] or "none", "", "sign, bar and key signature" if facts["auxiliary"] else ""),
        ),
    )  # fmt: skip


def _goes_wrong(worst: Candidate) -> str:
    facts, numbers = worst.facts, worst.numbers
    name, note = facts["name"], facts["note"]
    if name == "trill":
        text = f"The trill starts late and runs into the note after {note}"
        if numbers["termination"]:
            text += f"; its ending ({facts['graces']}) is squeezed in"
        return text + (
            "; the other hand slows down to wait for it." if numbers["others"] > 1 else "."
        )
    if "grace" in name:
        if numbers["strikes"] == 1:
            return f"{facts['graces']} becomes a note with a length of its own, and {note} is late."
        return f"The {counted(int(numbers['strikes']), 'grace note')} start too late and push {note} off the beat."
    return f"The {name} is squeezed in {decimal(numbers['share'], 2)} seconds a note, and the beat after {note} is late; the {facts['auxiliary'] or 'neighbour'} may be read with the wrong accidental."


def _steps(worst: Candidate, context: Context) -> tuple[str, ...]:
    facts, numbers = worst.facts, worst.numbers
    at, bars, note = start_of(worst, context), where(worst, context), facts["note"]
    slow = tempo_words(context, at, 0.6)
    steps = [f"{capital(bars)} without the ornament, both hands in time, at {slow}."]
    if facts["name"] == "trill":
        steps.append(
            f"Choose how many notes the trill has at your tempo and which note of the other hand each group meets; play it measured, {note} and {facts['auxiliary']} in fours."
        )
        steps.append(
            "Then twice as many notes in the same time, light and close to the keys; the ending slower than the trill, never faster."
            if numbers["termination"]
            else "Then twice as many notes in the same time, light and close to the keys, stopping on the last one."
        )
    elif "grace" in facts["name"]:
        steps.append(
            f"{facts['graces']} and {note} as one gesture of the hand, with the weight on {note}; decide with your teacher whether the beat falls on {note} or on the first grace note."
        )
        steps.append(f"Put them in with the beat tapped by the other hand, from {slow} up.")
    else:
        steps.append(
            f"Write the {facts['name']} out in notes, with {facts['auxiliary'] or 'its neighbour'}, and play it slowly in rhythm."
        )
        steps.append(f"Stop on its last note, then go on; from {slow} up the stop disappears.")
    if numbers["second"]:
        steps.append(
            "The other voice of the same hand alone with the fingers that the ornament leaves free."
        )
    return tuple(steps[:4])


KIND = Kind("ornaments", "ornaments", find, describe)
