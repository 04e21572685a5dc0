"""Hands not together: notes that are written at one moment, and struck one hand after the other, as a habit.

Conventions
-----------
* *Asynchrony* is the median onset of the left hand's strokes less that of the right hand's, in milliseconds: above 0 the right hand
  leads. Rolled chords, ornaments, grace notes and chords that are spread by hand are left out.
* The tune comes some 30 ms early because it is struck harder, and is meant to (Goebl, 2001). What the player does
  throughout, between none and that, is taken for granted; a stretch departs from it.
* Some players let the bass come first, with much freedom; what varies from chord to chord is freedom, what stays the same is a habit.
* The notes on the beat must show it too: where only those between beats are apart, one hand bends its figures
  (`passagework.listening.findings.proportions`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import fmean, median

from passagework.listening.beat_groups import Group
from passagework.listening.behind import preferred
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import Stretch, habits, noise
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted, times

SOURCE = "left less right onset, mean of the stretch; melody lead, Goebl, 2001"

MELODY_LEAD_MS = 30.0
"""Lead of the tune that is taken for granted where a player has it throughout (Goebl, 2001)."""

LEAST_MS = 40.0
"""Mean departure from that from which a stretch is named: two onsets 20 ms apart are told in order by trained
listeners (Hirsh, 1959), 40 ms is heard as an accident in a plain texture."""

HEARD_MS = 32.0
"""Mean asynchrony that a stretch must have in all."""

NORMAL_SHARE = 0.6
"""What is normal for one chord, as a share of that."""

SPREAD_MS = 90.0
"""Milliseconds over which one hand's own strokes may lie; beyond, the chord is rolled."""

FEWEST = 6
"""Moments that make a habit."""

STEADY = 1.8
"""The mean must be so many times what the moments vary: less is freedom."""

TIMES_NOISE = 2.2
"""And so many times what one moment differs from the next by chance."""

ON_BEAT_SHARE = 0.5
"""Share of the mean that the moments on the beat must show."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment at which both hands strike."""

    run: int
    group: Group
    ms: float
    """Left less right onset."""
    on_beat: bool


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each stretch in which one hand leads."""
    found: list[list[Moment]] = []
    moments = list(asynchronies(heard))
    values = [m.ms for m in moments]
    least = max(LEAST_MS, TIMES_NOISE * noise(values))
    lead = min(max(median(values), 0.0), MELODY_LEAD_MS) if values else 0.0
    for stretch in habits([v - lead for v in values], NORMAL_SHARE * least, FEWEST, least):
        part = moments[stretch.first : stretch.last + 1]
        if _is_habit(part, stretch):
            found.append(part)
    for part in sorted(found, key=lambda row: (row[0].run, row[0].group.position)):
        yield _finding(heard, part)


def asynchronies(heard: Heard) -> Iterable[Moment]:
    """Every moment at which both hands strike and nothing spreads them, in order of time."""
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        for group in beat.struck:
            left, right = group.onset_of("left"), group.onset_of("right")
            if left is None or right is None or group.loose or _spread(group) > SPREAD_MS:
                continue
            bar = heard.piece.bars[group.bar]
            place = group.strokes[0].note.onset - bar.onset
            on_beat = (place / bar.time.beat).denominator == 1 and place >= Fraction(0)
            yield Moment(run, group, 1000.0 * (left - right), on_beat)


def _spread(group: Group) -> float:
    """Milliseconds over which the strokes of one hand lie, the wider hand."""
    rows = (
        [s.played.onset for s in group.strokes if s.note.hand == side] for side in ("left", "right")
    )
    return max(1000.0 * (max(row) - min(row)) for row in rows)


def _is_habit(part: Sequence[Moment], stretch: Stretch) -> bool:
    mean = fmean(m.ms for m in part)
    sign = 1.0 if stretch.mean > 0 else -1.0
    if sign * mean < HEARD_MS or abs(stretch.mean) < STEADY * stretch.spread:
        return False
    if len({(m.run, m.group.bar) for m in part}) < 2:
        return False
    beats = [m.ms for m in part if m.on_beat]
    return not beats or sign * fmean(beats) >= ON_BEAT_SHARE * sign * mean


def _finding(heard: Heard, part: Sequence[Moment]) -> Finding:
    bars = sorted({m.group.bar for m in part})
    mean = fmean(m.ms for m in part)
    leader, follower = ("right", "left") if mean > 0 else ("left", "right")
    size = abs(mean)
    ids = tuple(dict.fromkeys(s.note.id for m in part for s in m.group.strokes))
    runs = tuple(sorted({m.run for m in part}))
    same = sum(1 for m in part if m.ms * mean > 0) / len(part)
    where = heard.context.bar_names(range(bars[0], bars[-1] + 1))
    again = f" It was heard {times(len(runs))}." if len(runs) > 1 else ""
    return Finding(
        "hands-together",
        bars[0],
        bars[-1],
        "both",
        ids,
        (
            Evidence("asynchrony, left less right", round(mean), "ms", SOURCE),
            Evidence("moments", len(part)),
            Evidence("led by the same hand", round(100 * same), "%"),
        ),
        f"{capital(where)}: the {leader} hand comes first, {size:.0f} ms before the {follower} on average over {counted(len(part), 'moment')} "
        f"where both strike together.{again}",
        f"Play only the notes that fall together, slowly, and listen until they sound as one; then put the others back, the {follower} hand leading in your mind.",
        min(0.6 + 0.1 * (size / LEAST_MS - 1.0) + 0.01 * len(part), 0.95),
        min(0.25 + size / 250.0 + 0.005 * min(len(part), 30), 0.9),
        runs,
        (),
        preferred(heard, ids, ("hands-together", "syncopation", "polyrhythm"), "hands-together"),
    )  # fmt: skip


KIND = FindingKind("hands-together", "hands not together", find)
