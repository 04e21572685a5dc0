"""Hands on the same keys: both hands need one key at once or one directly after the other.

Three cases, each a family of its own:

* ``taken``: one hand strikes a key that the other still holds; the held note is cut short by the
  time that was left of it, or the second stroke does not sound;
* ``unison``: both hands are written on the same key at once; one of them must leave it;
* ``quick``: one hand strikes a key that the other has just left. What counts is the time between
  the two strokes, in which a finger must get away and the key must come up.

The demand of ``taken`` and ``quick`` is the time between the two strokes in seconds (less is harder), of
``taken`` also the part of the held note that is lost, whichever is the graver;
of ``unison`` it is how many such keys there are in a second of the bar.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity
from passagework.spots.sounding import moments
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import capital, listed, note_name, seconds, tempo_words, times

ORDINARY_GAP = (1.0, 0.35)
"""Seconds between the strokes of the two hands on one key that nobody of the level minds."""

KEY_REPEAT = 1 / 14
"""Seconds that a key of a grand needs to come up and speak again: makers of actions with double escapement
give some fourteen strokes a second. An upright is slower."""

HARD_GAP = (0.45, 2 * KEY_REPEAT)
"""The same where it must be practised: in concert music twice what the key alone needs, as one finger must also
get out of the other's way."""

TAKEN_SHARE = 0.6
"""A key still held by the other hand is as hard as one that is free and comes so much sooner: the
finger must first be told to leave against what is written."""

ORDINARY_LOST, HARD_LOST = 0.3, 1.2
"""Seconds cut off a held note that pass unnoticed, and that leave a hole: a long note that stops in its middle."""

ORDINARY_UNISONS = (0.15, 1.2)
"""Keys per second of the bar on which both hands are written at once."""

HARD_UNISONS = (0.8, 4.0)

HEARD_APART = 0.05
"""Seconds of a gap that is worth a number in a sentence."""

CLOSE = 2.0
"""Seconds after which a key left by the other hand no longer matters."""


def find(context: Context) -> Iterable[Candidate]:
    """Every key that both hands need within a short time, and every bar of unisons."""
    last: tuple[dict[int, Note], dict[int, Note]] = ({}, {})
    unisons: dict[int, list[tuple[Note, Note]]] = {}
    for moment in moments(context):
        keys = [{n.midi: n for n in row} for row in moment.struck]
        for midi in keys[0].keys() & keys[1].keys():
            unisons.setdefault(moment.bar, []).append((keys[0][midi], keys[1][midi]))
        for i, other in ((0, 1), (1, 0)):
            for midi, note in keys[i].items():
                earlier = last[other].get(midi)
                own = last[i].get(midi)
                if earlier is None or midi in keys[other]:
                    continue
                if own is not None and own.onset >= earlier.onset:
                    continue
                found = _exchange(context, earlier, note)
                if found is not None:
                    yield found
        for i in (0, 1):
            last[i].update(keys[i])
    for bar, pairs in unisons.items():
        yield _unison(context, bar, pairs)


def _exchange(context: Context, earlier: Note, note: Note) -> Candidate | None:
    gap = context.seconds(note.onset) - context.seconds(earlier.onset)
    taken = earlier.end > note.onset
    if gap > CLOSE:
        return None
    demand = gap * TAKEN_SHARE if taken else gap
    left = context.seconds(earlier.end) - context.seconds(note.onset)
    pedal = "yes" if taken and context.pedalled(note.onset, earlier.end) else ""
    grade = severity(
        demand, by_level(context.level, *ORDINARY_GAP), by_level(context.level, *HARD_GAP)
    )
    if taken:
        grade = max(grade, severity(left, ORDINARY_LOST, HARD_LOST))
    return Candidate(
        first_bar=earlier.bar,
        last_bar=note.bar,
        hand="both",
        note_ids=(earlier.id, note.id),
        severity=grade,
        family="taken" if taken else "quick",
        numbers={"gap": gap, "lost": max(left, 0.0), "free": max(-left, 0.0)},
        facts={
            "key": note_name(note.pitch),
            "first": earlier.hand,
            "second": note.hand,
            "pedal": pedal,
        },
    )


def _unison(context: Context, bar: int, pairs: Sequence[tuple[Note, Note]]) -> Candidate:
    written = context.bar(bar)
    length = context.seconds(written.end) - context.seconds(written.onset)
    rate = len(pairs) / length if length > 0 else 0.0
    longer = [max(pair, key=lambda n: (n.duration, n.hand == "right")).hand for pair in pairs]
    keeps = "right" if longer.count("right") * 2 >= len(longer) else "left"
    return Candidate(
        first_bar=bar,
        last_bar=bar,
        hand="both",
        note_ids=tuple(n.id for pair in pairs for n in pair),
        severity=severity(
            rate, by_level(context.level, *ORDINARY_UNISONS), by_level(context.level, *HARD_UNISONS)
        ),
        family="unison",
        numbers={"count": float(len(pairs)), "rate": rate},
        facts={
            "key": "|".join(dict.fromkeys(note_name(p[1].pitch) for p in pairs)),
            "first": keeps,
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a key that both hands need."""
    worst = worst_first[0]
    if worst.family == "unison":
        return _describe_unison(worst, context)
    n, facts = worst.numbers, worst.facts
    bars = context.bar_names(range(worst.first_bar, worst.last_bar + 1))
    start = context.bar(worst.first_bar).onset
    key, first, second = facts["key"], facts["first"], facts["second"]
    taken = worst.family == "taken"
    others = len(worst_first) - 1
    more = f" It comes {times(others)} more near here." if others else ""
    pedal = (
        " The pedal marked here keeps the sound, but the finger must leave all the same."
        if taken and worst.facts["pedal"]
        else ""
    )
    if taken:
        held = f"still held, with {seconds(n['lost'])} of it left to sound"
    elif n["free"] >= HEARD_APART:
        held = f"free for only {seconds(n['free'])} between"
    else:
        held = "left at the same moment"
    return Wording(
        title=f"Both hands need {key}",
        reason=(
            f"In {bars} the {second} hand strikes {key} {seconds(n['gap'])} after the {first} hand did; the key is "
            f"{held}.{more}{pedal}"
        ),
        goes_wrong=(
            f"The {second} hand finds {key} down and its note does not sound, or the held note of the {first} hand breaks off "
            "without anyone having decided it."
            if taken
            else f"The {first} hand stays on {key} a moment too long, and the {second} hand's note is silent."
        ),
        try_=(
            f"Play {bars} with the {first} hand letting {key} go early, like a short note, and the {second} hand coming "
            "in without hurry.",
            f"Only the two strokes on {key}, {first} hand then {second} hand, as one even repeated note at "
            f"{tempo_words(context, start, 0.5)}.",
            f"Decide whose finger lies nearer the fallboard, and write in where the {first} hand leaves.",
        ),
        done_when=(
            f"{capital(bars)} three times in a row at {tempo_words(context, start, 0.75)}, both strokes of {key} heard."
        ),
        evidence=(
            Evidence("time between the two strokes", round(n["gap"], 3), "s"),
            *((Evidence("left of the held note", round(n["lost"], 2), "s"),) if taken else ()),
            Evidence(
                "time a key needs to repeat",
                round(KEY_REPEAT, 2),
                "s",
                "some fourteen strokes a second on a grand",
            ),
        ),
    )


def _describe_unison(worst: Candidate, context: Context) -> Wording:
    n = worst.numbers
    bar = context.bar_names([worst.first_bar])
    start = context.bar(worst.first_bar).onset
    names = worst.facts["key"].split("|")
    keys = listed(names[:4])
    keeps = worst.facts["first"]
    leaves = "left" if keeps == "right" else "right"
    one = int(n["count"]) == 1
    return Wording(
        title=f"Both hands written on {names[0] if len(names) == 1 else 'the same keys'}",
        reason=(
            f"In {bar} both hands are written on {keys} at the same moment"
            + (
                ", so one of them must leave it out."
                if one
                else f", {int(n['count'])} times: one must leave them out."
            )
        ),
        goes_wrong=(
            f"Two fingers push one key: the {leaves} hand's finger is in the way, and the note after {names[-1]} comes late."
        ),
        try_=(
            f"Mark who plays {keys}: the {keeps} hand, whose note is "
            f"{'as long or longer' if keeps == 'right' else 'longer'}; the {leaves} hand leaves it out and keeps its place in the line.",
            f"Play the {leaves} hand's line of {bar} alone with a silent finger over the shared key.",
            f"Both together at {tempo_words(context, start, 0.5)}, listening that neither line has a hole.",
        ),
        done_when=f"{capital(bar)} three times in a row at {tempo_words(context, start, 0.75)}, both lines complete to the ear.",
        evidence=(
            Evidence("keys written for both hands at once", int(n["count"])),
            Evidence("rate of these keys", round(n["rate"], 2), "notes/s"),
        ),
    )


KIND = Kind("same-keys", "hands on the same keys", find, describe, most=2, moves=False)
