"""When grace notes are played, and what they take their time from.

* A single plain grace note (an appoggiatura) is played on the beat and takes its printed value from the note it leans
  on, at most half of it, or two thirds of a dotted one (C. P. E. Bach, 1753; Quantz, 1752).
* A slashed one, and every group, is played quickly before the beat and takes its time from what is before. Where
  there is no time before (the first beat of all, without a count-in; another note just before), it falls on the beat.
* Grace notes at the end of a bar lead out of the note before them: a trill ends where they begin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.sound.cadenzas import LONG, LONG_SHARE
from passagework.sound.clock import Speed
from passagework.sound.grace_groups import GraceGroup
from passagework.sound.ornaments import QUICK_S, pace_factor
from passagework.sound.stroke import Stroke

BEFORE_SHARE = 0.5
"""Share of the time since the last attack of the voice that grace notes before the beat take at most; long runs take
more (`cadenzas`)."""
TIGHT_S = 0.04
"""Seconds for each note below which a group cannot be played before the beat, and falls on it."""
ON_BEAT_SHARE = 0.5
"""Share of its note that a quick group takes where it must fall on the beat."""
LEANING_SHARE, DOTTED_SHARE = Fraction(1, 2), Fraction(2, 3)


@dataclass(frozen=True)
class Graces:
    """The strokes of all grace notes, and what they do to the others (ids to seconds as written)."""

    strokes: list[Stroke]
    delayed: dict[str, float]
    """Notes that begin later than written, by what leans on them."""
    cut: dict[str, float]
    """Notes that end before grace notes that take their time, and where."""


def play_graces(groups: Sequence[GraceGroup], speed: Speed, own: Speed, lead: float) -> Graces:
    """Place every grace note; `lead` is the time before the piece (the count-in), in seconds."""
    result = Graces([], {}, {})
    for group in groups:
        if group.leaning:
            _lean(group, speed, result)
        else:
            _quick(group, speed, own, lead, result)
    return result


def _quick(group: GraceGroup, speed: Speed, own: Speed, lead: float, result: Graces) -> None:
    strikes, before = group.strikes, group.before
    beat = speed.seconds(group.onset)
    since = beat - speed.seconds(before[0].onset) if before else beat + lead
    around = before or group.here
    quick = QUICK_S
    if around:
        note = around[0]
        lasting = speed.seconds(note.end) - speed.seconds(note.onset)
        quick *= pace_factor(lasting, own.seconds(note.end) - own.seconds(note.onset))
    wanted = len(strikes) * quick
    share = LONG_SHARE if len(strikes) >= LONG else BEFORE_SHARE
    time = min(wanted, share * since)
    principal = group.principal
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
        if note.end == group.onset and beat - time < speed.seconds(group.onset):
            result.cut[note.id] = beat - time


def _lean(group: GraceGroup, speed: Speed, result: Graces) -> None:
    principal, strike = group.principal, group.strikes[0]
    assert principal is not None
    dotted = principal.value in {Fraction(3, 2**k) for k in range(7)}
    share = DOTTED_SHARE if dotted else LEANING_SHARE
    taken = min(strike[0].value, share * principal.duration)
    beat, end = speed.seconds(principal.onset), speed.seconds(principal.onset + taken)
    result.delayed[principal.id] = end
    result.strokes.extend(Stroke(n, beat, end, n.midi) for n in strike)
