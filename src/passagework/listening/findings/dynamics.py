"""Dynamics against the marks: their direction and their contrast, never the absolute level.

Conventions
-----------
* A *change* is a step or a hairpin of the page: the stretch before it, at one marked level, and the stretch after it, at another,
  each up to `REACH` bars long and as far as nothing else is marked. Only marked levels count, no assumed ones.
* Its *contrast* is the mean key velocity after it less the mean before it, in MIDI velocity steps, and it is compared for tune and
  accompaniment alike: a thinner texture is not softer playing.
* A change is *lost* where the contrast does not go the marked way at all, and *turned round* where it clearly goes the other way. Pianists
  play the same sign at many levels (Kosta, Bandtlow and Chew, 2014), so that nothing is said of a contrast that is merely small.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from statistics import fmean, variance

from passagework.analysis.loudness import LoudnessSpan
from passagework.analysis.loudness_levels import level_name
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.heard import Heard
from passagework.score.piece import Note, Position, sort_key
from passagework.spots.context import is_plain
from passagework.spots.spot import Evidence

SOURCE = "direction of the mean key velocity across a marked change; the level itself is the player's (Kosta et al., 2014)"

REACH = 2
"""Bars before and after a change that are compared."""
LEAST_LEVELS = 2.0
"""Signs between the two levels (*p* to *f* is 3) below which a change may be a matter of colour."""
FEWEST = 5
"""Strokes on each side that can be compared."""
FEWEST_OF_A_PART = 2
"""The same of the tune, or of what a hand plays besides."""
LEAST_SCATTER = 3.0
"""Standard deviation, in velocity steps, of strokes meant to be alike (skilled pianists: Goebl and Bresin, 2003)."""
LOST = 1.5
"""Velocity steps in the marked direction up to which a change is lost: four of 37 changes in the concert takes were smaller, and
half of them above 10."""
LEAST_CONTRAST = 5.0
"""The contrast with its standard error added must stay below this, so that chance loses no change."""
LEAST_LONG_BARS = 2
"""Bars of a hairpin (or *cresc.*, *dim.*) that leads to no sign of its own, from which its two ends are compared."""
END_SHARE = 0.35
"""Share of it that is an end."""
TURNED = 3.0
"""Velocity steps the wrong way from which such a hairpin counts as lost: how much it asks for is not marked."""


@dataclass(frozen=True, slots=True)
class Change:
    """A marked change of loudness: what it leads from and to, and the positions that bound the two sides."""

    before: tuple[Position, Position]
    after: tuple[Position, Position]
    from_level: float
    to_level: float
    at: Position
    staff: int
    gradual: bool
    assumed: bool = False
    """Whether the page gives the direction only."""


def find(heard: Heard) -> Iterable[Finding]:
    """Yield a finding for each marked change that is not heard."""
    found = changes(heard)
    for run in range(len(heard.alignment.passes)):
        rows = sorted(
            (
                (sort_key(n.onset), n, m.played)
                for m in heard.alignment.by_pass[run]
                if is_plain(n := heard.note(m))
            ),
            key=lambda row: row[0],
        )
        places = [row[0] for row in rows]
        for change in found:
            finding = _judge(heard, run, change, rows, places)
            if finding is not None:
                yield finding


def changes(heard: Heard) -> list[Change]:
    """The changes of the page that are clear enough to be heard, in order; one for all staves where they agree."""
    found: dict[Position, Change] = {}
    for staff, spans in heard.context.loudness.spans.items():
        for change in _of_staff(heard, staff, spans):
            found.setdefault(change.at, change)
    return [found[at] for at in sorted(found)]


def _of_staff(heard: Heard, staff: int, spans: Sequence[LoudnessSpan]) -> Iterable[Change]:
    level = [s for s in spans if s.end > s.onset]
    yield from _hairpins(heard, staff, level)
    for k, span in enumerate(level[:-1]):
        after = level[k + 1]
        gradual = after.start != after.stop
        if gradual:
            if k + 2 >= len(level):
                continue
            after = level[k + 2]
        if span.start != span.stop or after.start != after.stop:
            continue
        if span.source != "marked" or after.source != "marked":
            continue
        if abs(after.start - span.stop) < LEAST_LEVELS:
            continue
        reach = REACH * heard.piece.bar_at(after.onset).length
        yield Change(
            (max(span.onset, span.end - reach), span.end),
            (after.onset, min(after.end, after.onset + reach)),
            span.stop,
            after.start,
            after.onset,
            staff,
            gradual,
        )


def _hairpins(heard: Heard, staff: int, spans: Sequence[LoudnessSpan]) -> Iterable[Change]:
    """Hairpins that lead to no sign: their beginnings and ends."""
    for span in spans:
        long = LEAST_LONG_BARS * heard.piece.bar_at(span.onset).length
        if abs(span.stop - span.start) >= 1.0 and span.id and span.end - span.onset >= long:
            end = (span.end - span.onset) * Fraction(END_SHARE).limit_denominator(20)
            yield Change(
                (span.onset, span.onset + end), (span.end - end, span.end),
                span.start, span.stop, span.onset, staff, gradual=True, assumed=True,
            )  # fmt: skip


Row = tuple[float, Note, int]


def _judge(
    heard: Heard, run: int, change: Change, rows: Sequence[Row], places: Sequence[float]
) -> Finding | None:
    sides = []
    for start, end in (change.before, change.after):
        part = rows[bisect_left(places, sort_key(start)) : bisect_left(places, sort_key(end))]
        sides.append([row for row in part if not row[1].articulations & ACCENTED])
    if min(len(side) for side in sides) < FEWEST:
        return None
    compared = _contrast(heard, sides)
    if compared is None:
        return None
    contrast, error = compared
    sign = 1.0 if change.to_level > change.from_level else -1.0
    heard_as = sign * contrast
    if change.assumed:
        if heard_as > -TURNED or heard_as + 2 * error > 0:
            return None
    elif heard_as > LOST or heard_as + error > LEAST_CONTRAST:
        return None
    return _finding(heard, run, change, heard_as, [row for side in sides for row in side])


def _contrast(heard: Heard, sides: Sequence[Sequence[Row]]) -> tuple[float, float] | None:
    """Mean velocity after less before, and its standard error: tune with tune, each hand's other notes with themselves,
    weighted by how many strokes can be compared; None where too few can.
    """
    tune = heard.context.tune.melody
    groups: dict[tuple[bool, str], tuple[list[int], list[int]]] = {}
    for k, side in enumerate(sides):
        for _, note, played in side:
            key = (note.id in tune, note.hand)
            groups.setdefault(key, ([], []))[k].append(heard.take.notes[played].velocity)
    total = weights = squared = 0.0
    count = 0
    for before, after in groups.values():
        if min(len(before), len(after)) < FEWEST_OF_A_PART:
            continue
        weight = len(before) * len(after) / (len(before) + len(after))
        spread = variance_of(before) / len(before) + variance_of(after) / len(after)
        total += weight * (fmean(after) - fmean(before))
        squared += weight * weight * spread
        weights += weight
        count += min(len(before), len(after))
    if count < FEWEST:
        return None
    return total / weights, sqrt(squared) / weights


def variance_of(row: Sequence[int]) -> float:
    """Variance of velocities, never below what one player's strokes scatter by."""
    return max(variance(row), LEAST_SCATTER**2)


ACCENTED = frozenset({"accent", "strong-accent"})


def _finding(
    heard: Heard, run: int, change: Change, heard_as: float, rows: Sequence[Row]
) -> Finding:
    bars = [row[1].bar for row in rows]
    place = heard.piece.bar_at(change.at).index
    name = heard.context.bar_names([place])
    louder = change.to_level > change.from_level
    asked = f"{level_name(change.from_level)} to {level_name(change.to_level)}"
    way = "louder" if louder else "softer"
    other = "softer" if louder else "louder"
    turned = heard_as < -LOST
    how = f"it grew {other} by {-heard_as:.0f} velocity steps" if turned else "no change is heard"
    how_marked = "The way from" if change.gradual else "The change from"
    if change.assumed:
        asked_for = (
            f"The {'crescendo' if louder else 'diminuendo'} from {name} on asks for {way} playing"
        )
    else:
        asked_for = f"{how_marked} {asked} at {name} asks for {way} playing"
    hands = {row[1].hand for row in rows}
    return Finding(
        "dynamics",
        min(bars),
        max(bars),
        hands.pop() if len(hands) == 1 else "both",
        tuple(row[1].id for row in rows),
        (
            Evidence(
                "contrast in the marked direction", round(heard_as, 1), "velocity steps", SOURCE
            ),
            Evidence(
                "signs between the two levels", round(abs(change.to_level - change.from_level), 1)
            ),
            Evidence("strokes compared", len(rows)),
        ),
        f"{asked_for}: {how}.",
        f"Play the last bar before {name} and the first one of it, first with twice the contrast you want, then with what you want.",
        min(0.6 + 0.03 * (LOST - heard_as), 0.9),
        min(0.35 + 0.02 * (LOST - heard_as), 0.75),
        (run,),
        (),
        ("sudden-dynamics",) if not change.gradual else ("sudden-dynamics", "soft-playing"),
    )


KIND = FindingKind("dynamics", "dynamics", find, needs_sound=True)
