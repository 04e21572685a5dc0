"""Evenness of running notes, in time and in loudness, and whether it falls on the thumb's passing or on weak fingers.

Conventions
-----------
* Runs, lags and steps are those of `passagework.listening.played_runs`; loudness only in single lines. Reported are the standard deviation of
  a stroke's lag in milliseconds, and the coefficients of variation of the intervals between strokes and of the velocities, a
  tempo or a crescendo on its way taken off.
* Concert performances: a stroke lags by 10 to 20 ms in running notes (robust standard deviation, median of the bars of a movement), in
  one bar of ten by 15 to 30; velocities by 3 to 10 steps. A stretch is named beyond both the usual of such playing and twice the
  player's own usual, where most of its strokes share in it.
* Lags are laid over the fingering of the piece: the strokes at which the thumb passes under, or a finger over it, and those of
  the fourth and fifth fingers, against all others of the stretch.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, median

from passagework.listening.behind import preferred
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import heaviest
from passagework.listening.heard import Heard
from passagework.listening.played_runs import PlayedRun, RunNote, played_runs
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, hand_name

TIME_SOURCE = "lag behind the neighbouring strokes; limits from concert performances"
FORCE_SOURCE = "velocity against the neighbouring strokes; limits from concert performances"

UNEVEN_MS, UNEVEN_STEPS = 24.0, 13.0
"""Standard deviation of lags (ms) and steps (velocity) from which a stretch is named."""

TIMES_USUAL, MOST_USUAL = 2.0, 1.6
"""And so many times the player's own usual one, which may raise the limit so many times at most."""

LEAST_VARIATION = 0.1
"""Coefficient of variation of the intervals below which slower notes are even enough: about twice what listeners just notice in
even rows (Friberg and Sundberg, 1995)."""

THROUGHOUT = 0.75
"""The middle of the lags must answer to so much of the limit: a few stumbles in even playing are no uneven run."""

OUTSIDE = 3
"""What is usual is known where so many times the strokes of the stretch were played in running notes."""

NORMAL_DEVIATION = 0.6745
"""Median absolute value of a normal distribution, in standard deviations."""

MOST = 2.5
"""One stroke counts at most so many times the limit: a single stumble is no uneven run."""

FEWEST = 9
"""Strokes of a stretch."""

FAR, FAR_SECONDS, FAR_SHARE = 1.2, 0.1, 0.08
"""A stroke that lies off by so many intervals and seconds is doubtful, and so is a stretch with that share of such strokes."""

PATTERN, FEWEST_EACH = 0.4, 3
"""Share of the variance that must be left when the mean of each place in the beat is taken off, and strokes at each
place that are needed to know it."""

GAP_BARS = 2
"""Bars without running notes that end a stretch."""

SINGLE = 0.85
"""Share of attacks that must be single notes in a line."""

FALLS_ON = 1.5
"""The strokes of some fingers must lag so many times as much as the others to be named."""

FEWEST_FINGERS = 3
"""Strokes of those fingers below which nothing is said of them."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of running notes of one hand in one pass."""

    run: PlayedRun
    notes: tuple[RunNote, ...]
    in_time: bool
    """Whether it is the time that is uneven, or else the loudness."""
    usual: float
    """The player's own usual deviation, in ms or velocity steps."""

    @property
    def lag_ms(self) -> float:
        """Standard deviation of the lags."""
        return 1000.0 * sqrt(fmean(n.lag**2 for n in self.notes))

    @property
    def steps(self) -> float:
        """Standard deviation of the steps in loudness."""
        return sqrt(fmean(n.step**2 for n in self.notes))

    @property
    def interval_variation(self) -> float:
        """Coefficient of variation of the intervals: a difference of two independent lags."""
        return sqrt(2.0) * self.lag_ms / 1000.0 / fmean(n.interval for n in self.notes)

    @property
    def force_variation(self) -> float:
        """Coefficient of variation of the velocities."""
        return self.steps / fmean(s.played.velocity for n in self.notes for s in n.strokes)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each uneven stretch of running notes."""
    rows = _rows(played_runs(heard))
    in_time = _stretches(heard, rows, in_time=True)
    taken = {(s.run.run, s.run.side, n.position) for s in in_time for n in s.notes}
    in_force = [
        s
        for s in _stretches(heard, rows, in_time=False)
        if not any((s.run.run, s.run.side, n.position) in taken for n in s.notes)
    ]
    for stretch in sorted([*in_time, *in_force], key=lambda s: (s.run.run, s.notes[0].position)):
        yield _finding(heard, stretch)


def _rows(runs: Sequence[PlayedRun]) -> list[tuple[PlayedRun, list[RunNote]]]:
    """The running notes of one hand and pass, runs that stand near each other put together."""
    rows: list[tuple[PlayedRun, list[RunNote]]] = []
    for run in runs:
        if not run.notes:
            continue
        near = (
            rows
            and (rows[-1][0].run, rows[-1][0].side) == (run.run, run.side)
            and 0 <= run.notes[0].bar - rows[-1][1][-1].bar <= GAP_BARS
        )
        if near:
            rows[-1][1].extend(run.notes)
        else:
            rows.append((run, list(run.notes)))
    return rows


def _stretches(
    heard: Heard, rows: Sequence[tuple[PlayedRun, list[RunNote]]], *, in_time: bool
) -> list[Stretch]:
    def size(note: RunNote) -> float:
        return 1000.0 * abs(note.lag) if in_time else abs(note.step)

    limit = UNEVEN_MS if in_time else UNEVEN_STEPS
    every = [size(n) for _, row in rows for n in row]
    found: list[Stretch] = []
    for run, row in rows:
        # The mean of the absolute value of a normal deviate is 0.8 of its standard deviation.
        scores = [min(size(n), MOST * limit) - 0.8 * 0.8 * limit for n in row]
        for first, last in heaviest(scores):
            notes = tuple(row[first : last + 1])
            if not in_time and not _single(notes):
                continue
            if len(notes) < FEWEST or _doubtful(notes) or _is_figure(heard, notes, in_time=in_time):
                continue
            deviation = sqrt(fmean(min(size(n), MOST * limit) ** 2 for n in notes))
            sizes = [size(n) for n in notes]
            if median(sizes) / NORMAL_DEVIATION < THROUGHOUT * limit:
                continue
            usual = _usual(every, sizes)
            if deviation >= max(limit, min(TIMES_USUAL * usual, MOST_USUAL * limit)):
                stretch = Stretch(run, notes, in_time, usual)
                if not in_time or stretch.interval_variation >= LEAST_VARIATION:
                    found.append(stretch)
    return found


def _single(notes: Sequence[RunNote]) -> bool:
    """Whether it is a single line: in two voices the loudness of one stands over the other, as it should."""
    voices = {s.note.voice for n in notes for s in n.strokes}
    return len(voices) == 1 and sum(1 for n in notes if len(n.strokes) == 1) >= SINGLE * len(notes)


def _doubtful(notes: Sequence[RunNote]) -> bool:
    """Whether strokes lie so far off that they are hardly the notes they are taken for."""
    far = sum(1 for n in notes if abs(n.lag) > max(FAR * n.interval, FAR_SECONDS))
    return far > FAR_SHARE * len(notes)


def _usual(every: Sequence[float], inside: Sequence[float]) -> float:
    """The player's usual deviation; 0 where too little was played beside the stretch to know it."""
    if len(every) < OUTSIDE * len(inside):
        return 0.0
    return median(every) / NORMAL_DEVIATION


def _is_figure(heard: Heard, notes: Sequence[RunNote], *, in_time: bool) -> bool:
    """Whether most of the unevenness is one pattern that comes back in every beat: a proportion, or an accent, and not chance."""
    places: dict[float, list[float]] = {}
    for note in notes:
        bar = heard.piece.bars[note.bar]
        phase = round((note.position - float(bar.onset)) % float(bar.time.beat), 6)
        places.setdefault(phase, []).append(note.lag if in_time else note.step)
    total = sum(v * v for row in places.values() for v in row)
    rest = sum((v - fmean(row)) ** 2 for row in places.values() for v in row)
    # A mean takes one degree of freedom away from each place.
    free = len(notes) - len(places)
    if free <= 0 or len(notes) < FEWEST_EACH * len(places):
        return False
    return rest / free < PATTERN * total / len(notes)


def _finding(heard: Heard, stretch: Stretch) -> Finding:
    bars = sorted({n.bar for n in stretch.notes})
    side = stretch.run.side
    ids = tuple(s.note.id for n in stretch.notes for s in n.strokes)
    where = heard.context.bar_names(range(bars[0], bars[-1] + 1))
    on, on_evidence = _falls_on(heard, stretch)
    size = stretch.lag_ms / UNEVEN_MS if stretch.in_time else stretch.steps / UNEVEN_STEPS
    told = (
        f"{capital(where)}, {hand_name(side)}: the running notes are uneven in time, the intervals vary by {100 * stretch.interval_variation:.0f} per cent"
        if stretch.in_time
        else f"{capital(where)}, {hand_name(side)}: the running notes are uneven in loudness, by {100 * stretch.force_variation:.0f} per cent from stroke to stroke"
    )
    return Finding(
        "evenness",
        bars[0],
        bars[-1],
        side,
        ids,
        (
            Evidence("lag of a stroke, standard deviation", round(stretch.lag_ms), "ms", TIME_SOURCE),
            Evidence("variation of the intervals", round(100 * stretch.interval_variation), "%", "coefficient of variation"),
            Evidence("step in loudness, standard deviation", round(stretch.steps, 1), "velocity steps", FORCE_SOURCE),
            Evidence("variation of the velocities", round(100 * stretch.force_variation), "%", "coefficient of variation"),
            *on_evidence,
        ),
        f"{told}{on}.",
        _advice(on),
        min(0.55 + 0.15 * (size - 1.0) + 0.005 * len(stretch.notes), 0.95),
        min(0.3 + 0.15 * size + 0.003 * min(len(stretch.notes), 50), 0.85),
        (stretch.run.run,),
        (),
        preferred(heard, ids, ("passagework", "ornaments", "repeated-notes"), "passagework"),
    )  # fmt: skip


def _falls_on(heard: Heard, stretch: Stretch) -> tuple[str, tuple[Evidence, ...]]:
    """Whether it falls on the thumb's passing or on the weak fingers, for the end of the sentence, and the numbers."""
    fingering = heard.context.fingering
    passing = {p.note_id for p in fingering.passings}
    sizes: dict[str, list[float]] = {"passing": [], "weak": [], "other": []}
    for note in stretch.notes:
        ident = note.strokes[0].note.id
        finger = fingering.fingers.get(ident, (0,))[0]
        group = "passing" if ident in passing else "weak" if finger in (4, 5) else "other"
        sizes[group].append(abs(note.lag) if stretch.in_time else abs(note.step))
    words = {
        "passing": ", most where the thumb passes",
        "weak": ", most at the fourth and fifth fingers",
    }
    others = fmean(sizes["other"]) if sizes["other"] else 0.0
    best = max(
        (g for g in words if len(sizes[g]) >= FEWEST_FINGERS and others > 0),
        key=lambda g: fmean(sizes[g]),
        default="",
    )
    if not best or fmean(sizes[best]) < FALLS_ON * others:
        return "", ()
    ratio = fmean(sizes[best]) / others
    name = (
        "unevenness where the thumb passes"
        if best == "passing"
        else "unevenness of the fourth and fifth fingers"
    )
    return words[best], (
        Evidence(name, round(ratio, 1), "times that of the others", "fingering of the piece"),
    )


def _advice(on: str) -> str:
    if "thumb" in on:
        return "Practise the crossing alone, four notes on either side of it, the thumb under the hand before it is needed."
    if "fourth" in on:
        return "Play the group with stops after each fourth and fifth finger, then in rhythms that make them the long notes."
    return "Play it in rhythms, long-short and short-long, then in groups of four with a stop; then even, and listen to every note."


KIND = FindingKind("evenness", "evenness of running notes", find)
