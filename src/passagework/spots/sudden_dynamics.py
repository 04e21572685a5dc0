"""Sudden dynamics: *f* followed at once by *p*, *subito*, *fp*, an accent in soft surroundings.

Two levels that follow each other are sudden where nothing leads from one to the other: no hairpin and no word
that goes in the same direction. Where the sound grows towards a soft sign (a crescendo that breaks off), the
level before is what the loudness curve assumes of a crescendo without a goal (`passagework.analysis.loudness`), and
the reason says that it is assumed; the change counts as `BROKEN_OFF` levels more, for the arm is still adding
weight at the moment at which it must take it back.

The demand is the distance in levels (*p*, *mp*, *mf*, *f*: 3 from *f* to *p*) times how little time there is: the
time from the last attack before the change to the first one after it. Getting softer
is harder than getting louder, since the arm's weight must be taken back before the key goes down.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from passagework.analysis.loudness import ASSUMED_STEPS
from passagework.score.piece import Note, Position
from passagework.spots.context import Context, is_plain
from passagework.spots.kinds import Kind
from passagework.spots.loudness_signs import LEVELS, NAMES, Sign, Slope, signs, slopes
from passagework.spots.severity import by_level, severity
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    number,
    seconds,
    tempo_words,
    times,
)

CRESCENDO = round(ASSUMED_STEPS)
"""Levels that a crescendo without a sign at its end is taken to rise, to *ff* at most."""

CRESCENDO_TOP = LEVELS["ff"]

BROKEN_OFF = 1.5
"""Levels added to the distance where a crescendo breaks off: our judgement, which puts *p* crescendo *p* a little
below *f* followed by *p*."""

SUDDEN = 2
"""Levels from which a change without a slope is sudden; 1 is enough where the page says *subito*."""

ACCENT_RISE = 2
"""Levels that *sf* and *fz* rise above their surroundings."""

SOFT_ACCENT_BELOW = 4
"""Accents count in surroundings of *mp* or less: elsewhere they are loud among loud."""

LOUDER_SHARE = 0.55
"""A sudden change to loud against the same change to soft."""

NO_TIME, TIME_SHARE, TIME_HALF = 0.6, 0.9, 0.4
"""Weight of a change with all the time in the world; what is added with no time at all; and the
seconds at which half of that is left (a reaction and the lift of an arm take about 0.4 s)."""

ORDINARY = (1.2, 2.0)
"""Levels, weighted by time, that nobody of the level minds."""

HARD = (2.1, 3.7)
"""The same where it must be practised: mf to p at once for a beginner, f to p at once in concert music."""

NEAR_BARS = 1
"""A slope leads to a sign if it is still going on within so many bars before it."""


@dataclass(frozen=True, slots=True)
class _Attacks:
    """Onsets at which anything is struck, and the notes of each."""

    onsets: list[Position]
    notes: dict[Position, list[Note]]

    def before(self, position: Position) -> Position | None:
        at = bisect_left(self.onsets, position) - 1
        return self.onsets[at] if at >= 0 else None

    def after(self, position: Position, *, strictly: bool = False) -> Position | None:
        at = bisect_left(self.onsets, position)
        if strictly and at < len(self.onsets) and self.onsets[at] == position:
            at += 1
        return self.onsets[at] if at < len(self.onsets) else None


def find(context: Context) -> Iterable[Candidate]:
    """Every sudden change of loudness."""
    attacks = _attacks(context)
    row, lines = signs(context.piece), slopes(context.piece)
    level: int | None = None
    since: Position | None = None
    at = 0
    for sign in row:
        between: list[Slope] = []
        while at < len(lines) and lines[at].onset < sign.onset:
            between.append(lines[at])
            at += 1
        found = None
        if sign.accent:
            found = _accent(context, attacks, sign, level)
        elif sign.level is not None and level is not None and since is not None:
            found = _change(context, attacks, sign, level, since, between)
        if found is not None:
            yield found
        if sign.level is not None:
            level, since = sign.level, sign.onset
        elif level is not None and between and between[-1].kind == "crescendo":
            level = _risen(level)


def _risen(level: int) -> int:
    """Level after a crescendo whose end has no sign."""
    return max(level, min(level + CRESCENDO, CRESCENDO_TOP))


def _attacks(context: Context) -> _Attacks:
    notes: dict[Position, list[Note]] = {}
    for note in context.piece.notes:
        if is_plain(note):
            notes.setdefault(note.onset, []).append(note)
    return _Attacks(sorted(notes), notes)


def _change(
    context: Context,
    attacks: _Attacks,
    sign: Sign,
    level: int,
    since: Position,
    between: Sequence[Slope],
) -> Candidate | None:
    assert sign.level is not None
    bar = context.bar(max(sign.bar - NEAR_BARS, 0)).onset
    leading = [s for s in between if (s.end is None and s.onset >= since) or (s.end or bar) > bar]
    last = leading[-1] if leading else None
    grown = last is not None and last.kind == "crescendo"
    faded = last is not None and last.kind == "diminuendo"
    start = _risen(level) if grown and sign.level <= level else level
    distance = sign.level - start
    if (distance < 0 and faded) or (distance > 0 and grown):
        return None
    if abs(distance) < (1 if sign.subito or start != level else SUDDEN):
        return None
    target = attacks.after(sign.onset)
    before = attacks.before(target) if target is not None else None
    if target is None or before is None:
        return None
    facts = {
        "from": NAMES[start],
        "to": NAMES[sign.level],
        "grown": NAMES[level] if start != level else "",
        "subito": "yes" if sign.subito else "",
    }
    family = "softer" if distance < 0 else "louder"
    more = BROKEN_OFF if start != level else 0.0
    return _candidate(context, attacks, before, target, abs(distance), family, facts, more)


def _accent(context: Context, attacks: _Attacks, sign: Sign, level: int | None) -> Candidate | None:
    """*fp* and *sfp*: the drop after the accent; *sf* in soft surroundings: the drop back to them."""
    target = attacks.after(sign.onset)
    after = attacks.after(target, strictly=True) if target is not None else None
    if target is None or after is None or after - target > context.bar(sign.bar).time.length:
        return None
    if sign.level is not None:
        distance = 6 - sign.level if level is None else max(level + ACCENT_RISE, 6) - sign.level
        to = NAMES[sign.level]
    elif level is not None and level < SOFT_ACCENT_BELOW:
        distance, to = ACCENT_RISE, NAMES[level]
    else:
        return None
    facts = {"from": sign.text, "to": to, "grown": "", "subito": ""}
    return _candidate(context, attacks, target, after, distance, "accent", facts)


def _candidate(
    context: Context,
    attacks: _Attacks,
    before: Position,
    target: Position,
    distance: int,
    family: str,
    facts: dict[str, str],
    more: float = 0.0,
) -> Candidate:
    gap = context.seconds(target) - context.seconds(before)
    ends = max(context.seconds(n.end) for n in attacks.notes[before])
    rest = max(context.seconds(target) - ends, 0.0)
    weight = NO_TIME + TIME_SHARE / (1.0 + gap / TIME_HALF)
    demand = (distance + more) * weight * (LOUDER_SHARE if family == "louder" else 1.0)
    notes = [*attacks.notes[before], *attacks.notes[target]]
    return Candidate(
        first_bar=notes[0].bar,
        last_bar=notes[-1].bar,
        hand="both",
        note_ids=tuple(n.id for n in notes),
        severity=severity(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        family=family,
        numbers={
            "levels": float(distance),
            "gap": gap,
            "rest": rest,
            "notes": float(len(attacks.notes[target])),
            "where": float(notes[-1].bar),
        },
        facts=facts,
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a sudden change of loudness."""
    worst = worst_first[0]
    n, facts = worst.numbers, worst.facts
    old, new = facts["from"], facts["to"]
    bar = context.bar_names([int(n["where"])])
    start = context.bar(worst.first_bar).onset
    bars = [c.first_bar for c in worst_first]
    others = f" The same happens {times(len(bars) - 1)} more here." if len(bars) > 1 else ""
    assumed = (
        f" The crescendo from {facts['grown']} is taken to reach {old}, which is not printed."
        if facts["grown"]
        else ""
    )
    rest = f", {seconds(n['rest'])} of it silent" if n["rest"] >= 0.05 else ""
    softer = worst.family != "louder"
    entry = "note is" if n["notes"] == 1 else f"{number(int(n['notes']))} notes are"
    title = {
        "softer": f"Suddenly soft: {old} to {new}",
        "louder": f"Suddenly loud: {old} to {new}",
        "accent": f"Accent and back: {old}, then {new}",
    }[worst.family]
    lead = " with the bar before it" if n["where"] > 0 else ""
    return Wording(
        title=title,
        reason=(
            f"In {bar} the sound goes from {old} to {new} at once, {counted(int(n['levels']), 'level')}, "
            f"with {seconds(n['gap'])} from the last {'loud' if softer else 'soft'} attack to the first {'soft' if softer else 'loud'} one{rest}."
            f"{assumed}{others}"
        ),
        goes_wrong=(
            f"The weight of the {old} stays in the arm and the notes after it are not {new}; or, to spare them, the accent is never played."
            if worst.family == "accent"
            else f"The {new} comes late, or its first {entry} still {old}; "
            "or the loud end is softened in advance and the surprise is gone."
            if softer
            else f"A swell creeps in before {bar} and gives the {new} away, or the first chord is hit and the rest falls back."
        ),
        try_=(
            f"Stop before the {new} in {bar}: hands off, breathe, then the {new} alone. Shorten the stop until it is gone.",
            (
                f"Play the {new} softer than you believe possible, fingers already touching the keys, five times; then with the {old} before it."
                if softer
                else f"Prepare the {new} with the arm while the {old} is still sounding, without playing; then play it."
            ),
            f"The join from {context.bar_names([worst.first_bar])} at {tempo_words(context, start, 0.6)}, then at {tempo_words(context, start, 0.8)}.",
        ),
        done_when=(
            f"{capital(bar)}{lead} three times in a row at {tempo_words(context, start, 0.9)}: someone in the next room can say "
            "where it changes, and the beat has not waited."
        ),
        evidence=(
            Evidence("distance", int(n["levels"]), "levels", "steps of ppp, pp, p, mp, mf, f, ff"),
            Evidence("time between the attacks", round(n["gap"], 2), "s"),
            Evidence("silence between them", decimal(n["rest"], 2), "s"),
        ),
    )


KIND = Kind("sudden-dynamics", "sudden changes of loudness", find, describe, most=2, moves=False)
