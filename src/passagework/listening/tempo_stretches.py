"""Stretches of bars that are faster or slower than those around them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import fmean, median

from passagework.listening.beat import OwnBeat
from passagework.listening.habits import NORMAL_MEDIAN, heaviest, noise
from passagework.listening.heard import Heard

AROUND = 12
"""Bars on either side that show the usual tempo."""

FEWEST_AROUND = 8
"""Bars around a stretch below which nothing can be said."""

LEAST_CHANGE = 0.15
"""Share that is always taken for granted: changes of some 5 to 10 per cent are not noticed in music with expression
(Dahl and Granqvist, 2003; Repp, 1998)."""

TIMES_ORDINARY = 3.0
"""A stretch must depart by so many times what one bar of this player departs from its surroundings."""

ENDING_BARS, BEFORE_SECTION = 4, 2
"""Bars at the end of the piece, and before a new section, in which the tempo is the player's to broaden."""

MOST_BROAD = 2.0
"""Times the limit up to which slowing there is broadening; beyond, the music has nearly stopped."""

SECTION_BARS = 7
"""Bars from which a stretch can be a section of its own."""

SHORTEST_BEATS, SHORTEST_BARS = 4.0, 2
"""A stretch has so many beats and bars at least: less is rubato or a hesitation."""

SLOWLY = 1.5
"""A tempo that breathes with the phrases departs so many times as much as it changes from one bar to the next (concert takes: 1 to 2)."""

MOST_SPARED = 0.5
"""Share of the bars that may be left out of what is usual because they stand out themselves."""

TIMES_REST = 2.5
"""A stretch must depart by so many times what the bars that do not stand out depart."""

BARE = 0.6
"""How much of the change a stretch must show against all bars around, itself included."""


@dataclass(frozen=True, slots=True)
class TempoStretch:
    """Bars of one pass that are faster (slower) than those around."""

    run: int
    first_bar: int
    last_bar: int
    change: float
    """Mean change as a share: 0.15 for 15 % faster, -0.15 for 15 % slower."""
    tempo: float
    """Median quarters a minute within, and around."""
    usual: float
    ordinary: float
    """How much one bar of this take departs from its surroundings, as a share (standard deviation, robust)."""
    limit: float
    """The change from which it is named."""


def tempo_stretches(heard: Heard, *, faster: bool) -> list[TempoStretch]:
    """All of one direction, in order of passes and bars. Linear in the bars."""
    found: list[TempoStretch] = []
    sign = 1.0 if faster else -1.0
    rows = [relative_tempos(heard, beat) if beat is not None else [] for beat in heard.beats]
    ordinary = _ordinary([[v for _, v in row] for row in rows])
    for run, (beat, row) in enumerate(zip(heard.beats, rows, strict=True)):
        if beat is not None and len(row) >= FEWEST_AROUND + SHORTEST_BARS:
            found += _of_pass(heard, run, beat, row, ordinary, sign)
    return found


def _ordinary(rows: Sequence[Sequence[float]]) -> float:
    """How much a bar departs from its surroundings: the lesser of two robust measures, one of which a long stretch at another tempo
    inflates, and the other a tempo that jumps from bar to bar.
    """
    off = [abs(v - u) for row in rows for v, u in zip(row, _usual(row, frozenset()), strict=True)]
    jumps = [noise(row) for row in rows if len(row) >= FEWEST_AROUND]
    if not off:
        return 0.0
    about = median(off) / NORMAL_MEDIAN
    return min(about, SLOWLY * median(jumps)) if jumps else about


def joined_stretches(heard: Heard, *, faster: bool) -> list[list[TempoStretch]]:
    """The same, those of several passes that share bars put together."""
    groups: list[list[TempoStretch]] = []
    for stretch in sorted(tempo_stretches(heard, faster=faster), key=lambda s: s.first_bar):
        if groups and stretch.first_bar <= max(s.last_bar for s in groups[-1]):
            groups[-1].append(stretch)
        else:
            groups.append([stretch])
    return groups


def relative_tempos(heard: Heard, beat: OwnBeat) -> list[tuple[int, float]]:
    """Bars of a pass with the logarithm of their tempo over the tempo that the page asks for there. Bars in which it asks
    for a change of tempo are left out.
    """
    tempo = heard.context.tempo
    rows: list[tuple[int, float]] = []
    for index, played in beat.bar_tempos.items():
        bar = heard.piece.bars[index]
        span = tempo.span_at(bar.onset)
        if not (span.changing or tempo.span_at(bar.end).changing or bar.length <= 0):
            rows.append((index, log(played / span.quarters_per_minute)))
    return rows


def broadening(heard: Heard) -> frozenset[int]:
    """Indices of the bars in which a slower tempo is the player's to choose: before a new section and at the end."""
    last = len(heard.piece.bars)
    found = set(range(last - ENDING_BARS, last))
    for section in heard.context.form.sections[1:]:
        found |= set(range(section.first_bar - BEFORE_SECTION, section.first_bar + 1))
    return frozenset(found)


def _of_pass(
    heard: Heard,
    run: int,
    beat: OwnBeat,
    rows: Sequence[tuple[int, float]],
    ordinary: float,
    sign: float,
) -> list[TempoStretch]:
    values = [v for _, v in rows]
    free = broadening(heard) if sign < 0 else frozenset()
    limit = max(log(1.0 + LEAST_CHANGE), TIMES_ORDINARY * ordinary)
    plain = [v - u for v, u in zip(values, _usual(values, frozenset()), strict=True)]
    spared = frozenset(k for k, v in enumerate(plain) if abs(v) > limit / 2)
    if len(spared) > MOST_SPARED * len(values):
        spared = frozenset()
    off = [v - u for v, u in zip(values, _usual(values, spared), strict=True)]
    rest = [abs(v) for k, v in enumerate(off) if k not in spared]
    limit = max(limit, TIMES_REST * median(rest) / NORMAL_MEDIAN)
    scores = [
        0.0
        if index in free and 0 < sign * v < MOST_BROAD * limit
        else max(min(sign * v - 0.6 * limit, limit), -limit)
        for (index, _), v in zip(rows, off, strict=True)
    ]
    found: list[TempoStretch] = []
    for first, last in heaviest(scores):
        inside = [
            k
            for k in range(first, last + 1)
            if rows[k][0] not in free or sign * off[k] >= MOST_BROAD * limit
        ]
        bars = [heard.piece.bars[rows[k][0]] for k in inside]
        if len(bars) < SHORTEST_BARS or sum(b.length / b.time.beat for b in bars) < SHORTEST_BEATS:
            continue
        change = fmean(off[k] for k in inside)
        if sign * change < limit or sign * fmean(plain[k] for k in inside) < BARE * limit:
            continue
        if _whole_section(heard, rows[first][0], rows[last][0]):
            continue
        now = median(beat.bar_tempos[rows[k][0]] for k in inside)
        found.append(
            TempoStretch(
                run, rows[first][0], rows[last][0], exp(change) - 1.0, now, now / exp(change), exp(ordinary) - 1.0,
                exp(limit) - 1.0,
            )
        )  # fmt: skip
    return found


def _whole_section(heard: Heard, first: int, last: int) -> bool:
    """Whether a stretch fills a section, or several: a section may have a tempo of its own."""
    if last - first + 1 < SECTION_BARS:
        return False
    sections = heard.context.form.sections
    opens = any(abs(s.first_bar - first) <= BEFORE_SECTION for s in sections)
    return opens and any(abs(s.last_bar - last) <= BEFORE_SECTION for s in sections)


def _usual(values: Sequence[float], spared: frozenset[int]) -> list[float]:
    """For each bar the median over the bars around it, those of `spared` (places) left out."""
    result = []
    for at in range(len(values)):
        reach = AROUND
        row: list[float] = []
        while len(row) < min(FEWEST_AROUND, len(values) - len(spared)):
            low, high = max(at - reach, 0), min(at + reach + 1, len(values))
            row = [values[k] for k in range(low, high) if k not in spared]
            reach *= 2
        result.append(median(row) if row else median(values))
    return result


LONG_NOTE = 2.0
"""Beats from which a note is long: where most attacks of a stretch are, they were cut short."""

RUNNING = 0.5
"""Share of the notes of a stretch that must be running for the words to say so."""


def notes_of(heard: Heard, stretch: TempoStretch) -> tuple[str, ...]:
    """Ids of the written notes of a stretch."""
    bars = range(stretch.first_bar, stretch.last_bar + 1)
    return tuple(n.id for b in bars for n in heard.piece.notes_of_bar[b])


def texture_of(heard: Heard, stretch: TempoStretch) -> tuple[str, tuple[str, ...]]:
    """What the notes of a stretch are, for the end of a sentence, and the kinds of difficulty in them, most frequent first."""
    ids = notes_of(heard, stretch)
    counts: dict[str, int] = {}
    for ident in ids:
        for kind in {kind for kind, _ in heard.difficulties.get(ident, ())}:
            counts[kind] = counts.get(kind, 0) + 1
    ordered = sorted((k for k in counts if k in TIMED), key=lambda k: -counts[k])
    if counts.get("passagework", 0) >= RUNNING * len(ids):
        return ", in running notes", tuple(ordered[:2])
    notes = [heard.piece.by_id[i] for i in ids]
    beat = heard.piece.bars[stretch.first_bar].time.beat
    if notes and sum(1 for n in notes if n.duration >= LONG_NOTE * beat) > len(notes) / 2:
        return ", in long notes that are not held out", tuple(ordered[:2])
    return "", tuple(ordered[:2]) or ("syncopation",)


TIMED = frozenset(
    {"passagework", "syncopation", "dotted-rhythm", "polyrhythm", "changing-divisions", "repeated-notes", "leap",
     "double-notes", "octaves", "accidentals", "hands-together", "stretch", "ornaments", "tremolo", "reading"}
)  # fmt: skip
"""Kinds of difficulty that change a player's tempo."""
