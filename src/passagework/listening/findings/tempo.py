"""Tempo: against the mark, drifting over long stretches, and slower where it is hard.

Conventions
-----------
* *Overall tempo* is the median of the own beat over a pass, pauses taken out. It is told as information where a metronome mark is
  printed, and weighs little: slow practice is no fault.
* *Drift*: the tempo gets faster or slower over a whole pass, or most of it, and nothing on the page says so. Measured with the
  median slope of all pairs of bars (Theil and Sen), which single bars do not bend, of the logarithm of the tempo against the marked one.
* *Slower bars* are stretches that are slower than the bars around by more than the player's tempo varies anyway: the hard
  places (`passagework.listening.tempo_stretches`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp
from statistics import median

from passagework.listening.beat import OwnBeat
from passagework.listening.behind import NAMES
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.heard import Heard
from passagework.listening.tempo_stretches import (
    TempoStretch,
    broadening,
    joined_stretches,
    notes_of,
    relative_tempos,
    texture_of,
)
from passagework.spots.spot import Evidence
from passagework.spots.words_of import listed, times, value_name

STRETCH_SOURCE = "tempo of the own beat against the bars around"
DRIFT_SOURCE = "median slope of all pairs of bars (Sen, 1968)"

DRIFT_BARS = 16
"""Bars of a pass below which a drift cannot be told from phrasing."""

LEAST_DRIFT = 0.15
"""Change of tempo from end to end, as a share. The steadier concert takes stay within 9 per cent; in the freer ones the slope is larger
and accounts for hardly anything (`DRIFT_SHARE`: 0.41 at most in any of 13 takes)."""

DRIFT_SHARE = 0.6
"""How much the drift must account for: 1 less the spread about the line over the spread about the median."""

MOST_POINTS = 120
"""Bars that are compared with each other; longer passes are thinned evenly, so that the cost stays bounded."""

OFF_MARK = 0.3
"""Share by which the tempo must differ from a printed mark to be told: concert players take marks up to that much slower."""


def find(heard: Heard) -> Iterable[Finding]:
    """Yield slower stretches, drifts, and the overall tempo where a mark is printed."""
    for same in joined_stretches(heard, faster=False):
        yield _slower(heard, same)
    for run, beat in enumerate(heard.beats):
        if beat is not None:
            yield from _drift(heard, run, beat)
    yield from _overall(heard)


def _slower(heard: Heard, same: list[TempoStretch]) -> Finding:
    worst = min(same, key=lambda s: s.change)
    first, last = min(s.first_bar for s in same), max(s.last_bar for s in same)
    share = -round(100 * worst.change)
    _, kinds = texture_of(heard, worst)
    named = [NAMES[k] for k in kinds if k in NAMES][:2]
    there = f" What stands there: {listed(named)}." if named else ""
    often = len({s.run for s in same})
    again = f" It was heard {times(often)}." if often > 1 else ""
    bars = heard.context.bar_names(range(first, last + 1))
    return Finding(
        "tempo",
        first,
        last,
        "both",
        notes_of(heard, worst),
        (
            Evidence("tempo below the bars around", share, "%", STRETCH_SOURCE),
            Evidence("tempo", round(worst.tempo), "crotchets a minute"),
            Evidence("tempo around", round(worst.usual), "crotchets a minute"),
            Evidence("ordinary variation of this player", round(100 * worst.ordinary, 1), "%"),
        ),
        f"{bars[:1].upper() + bars[1:]}: {share} per cent slower than the bars around.{there}{again}",
        f"Let the whole piece go at the tempo at which {bars} can be played now, and bring it up from there.",
        min(0.55 + 0.1 * (abs(worst.change) / worst.limit - 1.0) + 0.1 * (often - 1), 0.95),
        min(0.3 + abs(worst.change) + 0.1 * (often - 1), 0.9),
        tuple(sorted({s.run for s in same})),
        (),
        kinds,
    )  # fmt: skip


def _drift(heard: Heard, run: int, beat: OwnBeat) -> Iterable[Finding]:
    free = broadening(heard)
    rows = [row for row in relative_tempos(heard, beat) if row[0] not in free]
    if len(rows) < DRIFT_BARS:
        return
    rows = rows[:: -(-len(rows) // MOST_POINTS)]
    slope = _slope(rows)
    first, last = rows[0][0], rows[-1][0]
    change = exp(slope * (last - first)) - 1.0
    if abs(change) < LEAST_DRIFT or _explained(rows, slope) < DRIFT_SHARE:
        return
    bars = heard.context.bar_names(range(first, last + 1))
    way = "faster" if change > 0 else "slower"
    share = abs(round(100 * change))
    yield Finding(
        "tempo",
        first,
        last,
        "both",
        (beat.groups[0].strokes[0].note.id, beat.groups[-1].strokes[0].note.id),
        (
            Evidence("change of tempo from beginning to end", round(100 * change), "%", DRIFT_SOURCE),
            Evidence("tempo at the beginning", round(_near(beat, rows[: len(rows) // 4])), "crotchets a minute"),
            Evidence("tempo at the end", round(_near(beat, rows[-(len(rows) // 4) :])), "crotchets a minute"),
        ),
        f"The tempo gets {way} all the way through {bars}: {share} per cent from beginning to end, and nothing on the page asks for it.",
        "Hear the tempo of the first bars in your head at each new section before you play on, and check with the metronome there.",
        0.7,
        min(0.3 + abs(change), 0.8),
        (run,),
        (),
        (),
    )  # fmt: skip


def _near(beat: OwnBeat, rows: Sequence[tuple[int, float]]) -> float:
    return median(beat.bar_tempos[index] for index, _ in rows)


def _slope(rows: Sequence[tuple[int, float]]) -> float:
    slopes = [
        (v - u) / (b - a) for k, (a, u) in enumerate(rows) for b, v in rows[k + 1 :] if b != a
    ]
    return median(slopes)


def _explained(rows: Sequence[tuple[int, float]], slope: float) -> float:
    """1 less the spread about the line over the spread about the median (median absolute deviations)."""
    middle = median(v for _, v in rows)
    flat = median(abs(v - middle) for _, v in rows)
    offset = median(v - slope * b for b, v in rows)
    steep = median(abs(v - slope * b - offset) for b, v in rows)
    return 1.0 - steep / flat if flat > 0 else 0.0


def _overall(heard: Heard) -> Iterable[Finding]:
    """The tempo against the first printed mark, once for the take."""
    marks = [m for m in heard.piece.metronomes if m.printed]
    played = [(run, b) for run, b in enumerate(heard.beats) if b is not None]
    if not marks or not played:
        return
    rows = [(run, b, v) for run, b in played for _, v in relative_tempos(heard, b)]
    if len(rows) < 4:
        return
    share = exp(median(v for _, _, v in rows))
    if abs(share - 1.0) < OFF_MARK:
        return
    mark = marks[0]
    unit = value_name(mark.beat) or "beat"
    tempo = round(mark.per_minute * share)
    first = min(b.groups[0].bar for _, b in played)
    last = max(b.groups[-1].bar for _, b in played)
    yield Finding(
        "tempo",
        first,
        last,
        "both",
        (played[0][1].groups[0].strokes[0].note.id,),
        (
            Evidence("tempo", tempo, f"{unit}s a minute"),
            Evidence("marked tempo", round(mark.per_minute), f"{unit}s a minute", "printed metronome mark"),
        ),
        f"Played at about {unit} = {tempo}; the mark is {unit} = {round(mark.per_minute)}.",
        "This is for information: raise the tempo only when every bar holds at this one.",
        0.9,
        0.05,
        tuple(run for run, _ in played),
        (),
        (),
    )  # fmt: skip


KIND = FindingKind("tempo", "tempo", find)
