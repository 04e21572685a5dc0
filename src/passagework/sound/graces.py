"""When grace notes are played, and what they take their time from.

* A single plain grace note (an appoggiatura) is played on the beat and takes its printed value from the note it leans
  on, at most half of it, or two thirds of a dotted one (C. P. E. Bach, 1753; Quantz, 1752).
* A slashed one, and every group, is played quickly before the beat and takes its time from what is before. Where
  there is no time before (the first beat of all, without a count-in; another note just before), it falls on the beat.
* Grace notes at the end of a bar lead out of the note before them: a trill ends where they begin.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from passagework.score.piece import Note, Piece, Position
from passagework.sound.clock import Speed
from passagework.sound.ornaments import QUICK_S, pace_factor
from passagework.sound.stroke import Stroke

BEFORE_SHARE = 0.5
"""Share of the time since the last attack of the voice that grace notes before the beat take at most."""
TIGHT_S = 0.04
"""Seconds for each note below which a group cannot be played before the beat, and falls on it."""
ON_BEAT_SHARE = 0.5
"""Share of its note that a quick group takes where it must fall on the beat."""
LEANING_SHARE, DOTTED_SHARE = Fraction(1, 2), Fraction(2, 3)

Line = tuple[int, str]
"""A staff and a voice in it."""


@dataclass(frozen=True)
class Graces:
    """The strokes of all grace notes, and what they do to the others (ids to seconds as written)."""

    strokes: list[Stroke]
    delayed: dict[str, float]
    """Notes that begin later than written, by what leans on them."""
    cut: dict[str, float]
    """Notes that end before grace notes that take their time, and where."""


@dataclass(frozen=True, slots=True)
class _Attacks:
    """Attacks of one line in order."""

    onsets: list[Position]
    notes: dict[Position, list[Note]]


def play_graces(piece: Piece, speed: Speed, own: Speed, lead: float) -> Graces:
    """Place every grace note; `lead` is the time before the piece (the count-in), in seconds."""
    groups: dict[tuple[Line, int, Position], list[Note]] = defaultdict(list)
    lines: dict[Line, dict[Position, list[Note]]] = defaultdict(dict)
    for note in piece.notes:
        line = (note.staff, note.voice)
        if note.grace:
            groups[line, note.bar, note.onset].append(note)
        else:
            lines[line].setdefault(note.onset, []).append(note)
    result = Graces([], {}, {})
    before = _before(groups, lines)
    for (line, bar, onset), notes in groups.items():
        here = [n for n in lines[line].get(onset, []) if n.bar == bar]
        _group(_strikes(notes), here, before[line, onset], speed, own, lead, result)
    return result


def _before(
    groups: dict[tuple[Line, int, Position], list[Note]],
    lines: dict[Line, dict[Position, list[Note]]],
) -> dict[tuple[Line, Position], list[Note]]:
    """For every group of graces the notes struck last before it in its line."""
    found: dict[tuple[Line, Position], list[Note]] = {}
    asked: dict[Line, set[Position]] = defaultdict(set)
    for line, _, onset in groups:
        asked[line].add(onset)
    for line, wanted in asked.items():
        attacks = sorted(lines[line])
        at = 0
        for onset in sorted(wanted):
            while at < len(attacks) and attacks[at] < onset:
                at += 1
            found[line, onset] = lines[line][attacks[at - 1]] if at else []
    return found


def _strikes(notes: list[Note]) -> list[list[Note]]:
    """Notes of one chord together, in order."""
    rows: dict[int, list[Note]] = {}
    for note in notes:
        rows.setdefault(note.chord, []).append(note)
    return list(rows.values())


def _group(
    strikes: list[list[Note]], here: list[Note], before: list[Note], speed: Speed, own: Speed,
    lead: float, result: Graces,
) -> None:  # fmt: skip
    first = strikes[0][0]
    beat = speed.seconds(first.onset)
    if len(strikes) == 1 and first.grace == "plain" and here and first.value > 0:
        _lean(strikes[0], _leaned_on(first, here), beat, speed, result)
        return
    since = beat - speed.seconds(before[0].onset) if before else beat + lead
    around = before or here
    quick = QUICK_S
    if around:
        note = around[0]
        lasting = speed.seconds(note.end) - speed.seconds(note.onset)
        quick *= pace_factor(lasting, own.seconds(note.end) - own.seconds(note.onset))
    wanted = len(strikes) * quick
    time = min(wanted, BEFORE_SHARE * since)
    principal = _leaned_on(first, here) if here else None
    if principal is not None and time < len(strikes) * TIGHT_S:
        within = ON_BEAT_SHARE * (speed.seconds(principal.end) - beat)
        if within > time:
            time = min(wanted, within)
            result.delayed[principal.id] = beat = beat + time
    elif time <= 0:
        time = wanted  # nothing before, nothing after: they begin where they stand
        beat += time
    each = time / len(strikes)
    for k, strike in enumerate(strikes):
        start = beat - time + k * each
        result.strokes.extend(Stroke(n, start, start + each, n.midi) for n in strike)
    for note in before:
        if note.end == first.onset and beat - time < speed.seconds(first.onset):
            result.cut[note.id] = beat - time


def _lean(strike: list[Note], principal: Note, beat: float, speed: Speed, result: Graces) -> None:
    dotted = principal.value in {Fraction(3, 2**k) for k in range(7)}
    share = DOTTED_SHARE if dotted else LEANING_SHARE
    taken = min(strike[0].value, share * principal.duration)
    end = speed.seconds(principal.onset + taken)
    result.delayed[principal.id] = end
    result.strokes.extend(Stroke(n, beat, end, n.midi) for n in strike)


def _leaned_on(grace: Note, here: list[Note]) -> Note:
    """The note of a chord that a grace note leans on: the nearest one."""
    return min(here, key=lambda n: (abs(n.pitch.diatonic - grace.pitch.diatonic), -n.midi))
