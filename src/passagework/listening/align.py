"""Which written note each played note is: `align(piece, take)`.

Conventions: see `passagework.listening.alignment`. The way: clusters of strokes are led through the piece by the best path
(`align_path`), the path is cut into runs (`align_runs`), and within a run each stroke is given to the note of its key that is
nearest in time (`align_notes`), twice, the second time by the line of time that the first has drawn.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from passagework.listening.align_events import Event, events_of
from passagework.listening.align_notes import Expected, Pair, expected, pair_up
from passagework.listening.align_path import find_path
from passagework.listening.align_result import (
    hand_of,
    matches_of,
    missing_of,
    pass_of,
    substitutions_of,
)
from passagework.listening.align_runs import Run, runs_of, times_of
from passagework.listening.align_score import states_of
from passagework.listening.align_take import Clusters, clusters_of
from passagework.listening.alignment import Alignment, Match, Missing, Pass, Substitution
from passagework.listening.take import PlayedNote, Take
from passagework.score.piece import Piece

ROUNDS = 2
"""Times the strokes of a run are given to notes."""


def align(piece: Piece, take: Take) -> Alignment:
    """`take` laid along `piece`. A take of something else, or of nothing, gives few matches and a low `fit`."""
    if not take.notes or not piece.notes:
        return Alignment((), (), tuple(range(len(take.notes))), (), (), 0.0)
    events = events_of(piece)
    states = states_of(piece, events)
    clusters = clusters_of(take)
    path = find_path(states, clusters)
    matches: list[Match] = []
    missing: list[Missing] = []
    substitutions: list[Substitution] = []
    passes: list[Pass] = []
    for run in runs_of(path, states, clusters, events):
        strokes = range(int(clusters.first[run.first]), int(clusters.first[run.stop]))
        rows, pairs = _match_run(run, events, clusters, take.notes, strokes)
        if not pairs:
            continue
        number = len(passes)
        span = (min(p for _, p, _ in pairs), max(p for _, p, _ in pairs))
        hand = hand_of(pairs, run, events, span)
        passes.append(pass_of(pairs, take.notes, hand))
        matches += matches_of(pairs, number)
        lost = missing_of(pairs, run, events, hand, number)
        missing += [row[0] for row in lost]
        used = {stroke for stroke, _, _ in pairs}
        extra = [s for s in strokes if s not in used]
        substitutions += substitutions_of(lost, extra, rows, take.notes, number)
    matches.sort(key=lambda m: m.played)
    used = {m.played for m in matches}
    extra = [s for s in range(len(take.notes)) if s not in used]
    fit = len(matches) / len(take.notes)
    return Alignment(
        tuple(matches), tuple(missing), tuple(extra), tuple(substitutions), tuple(passes), fit
    )


def _match_run(
    run: Run,
    events: Sequence[Event],
    clusters: Clusters,
    notes: Sequence[PlayedNote],
    strokes: range,
) -> tuple[list[Expected], list[Pair]]:
    """Pairs of a run, and when its notes were expected."""
    seconds: dict[int, float] = {}
    for cluster, place in run.anchors:
        if place not in seconds:
            seconds[place] = float(clusters.onset[cluster])
    rows: list[Expected] = []
    pairs: list[Pair] = []
    for _ in range(ROUNDS):
        if not seconds:
            return [], []
        rows = expected(run, events, times_of(run, seconds))
        pairs = pair_up(rows, notes, strokes)
        seconds = _known(pairs, notes)
    return rows, pairs


def _known(pairs: Sequence[Pair], notes: Sequence[PlayedNote]) -> dict[int, float]:
    """Second of each event: the middle of the strokes that were given to it, grace notes aside."""
    onsets: dict[int, list[float]] = defaultdict(list)
    for stroke, place, unit in pairs:
        if not unit.grace:
            onsets[place].append(notes[stroke].onset)
    return {place: sorted(row)[len(row) // 2] for place, row in onsets.items()}
