"""Which written note each played note is: `align(piece, take)`.

Conventions: see `passagework.listening.alignment`. The way: clusters of strokes are led through the piece by the best path
(`align_path`), the path is cut into runs (`align_runs`), and within a run each stroke is given to the note of its key that is
nearest in time (`align_notes`), twice, the second time by the line of time that the first has drawn.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import Event, events_of, find_shakes, shaken
from passagework.listening.align_notes import Expected, Pair, expected, pair_up
from passagework.listening.align_ornaments import ornamental
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

CHANCE = 0.45
"""Share of the strokes of a run that have to be written. Chosen by hand: with it, seven concert takes laid along other pieces matched
nothing."""

ROUNDS = 2
"""Times the strokes of a run are given to notes."""


def align(piece: Piece, take: Take) -> Alignment:
    """`take` laid along `piece`. A take of something else, or of nothing, gives few matches and a low `fit`."""
    if not take.notes or not piece.notes:
        return Alignment((), (), tuple(range(len(take.notes))), (), (), 0.0)
    shakes = find_shakes(piece)
    events = events_of(piece, shakes)
    spans = shaken(piece, events, shakes)
    states = states_of(piece, events, spans)
    clusters = clusters_of(take)
    path = find_path(states, clusters)
    matches: list[Match] = []
    missing: list[Missing] = []
    substitutions: list[Substitution] = []
    passes: list[Pass] = []
    free: set[int] = set()
    for run in runs_of(path, states, clusters, events):
        strokes = range(int(clusters.first[run.first]), int(clusters.first[run.stop]))
        rows, pairs, times = _match_run(run, events, clusters, take.notes, strokes)
        used = {stroke for stroke, _, _ in pairs}
        extra = [s for s in strokes if s not in used]
        found = ornamental(run, times, spans, take.notes, extra) if pairs else set()
        if not pairs or _by_chance(pairs, len(found), strokes):
            continue
        number = len(passes)
        span = (min(p for _, p, _ in pairs), max(p for _, p, _ in pairs))
        hand = hand_of(pairs, run, events, span)
        passes.append(pass_of(pairs, take.notes, hand))
        matches += matches_of(pairs, number)
        free |= found
        lost = missing_of(pairs, run, events, hand, number)
        missing += [row[0] for row in lost]
        wrong = [s for s in extra if s not in found]
        substitutions += substitutions_of(lost, wrong, rows, take.notes, number)
    matches.sort(key=lambda m: m.played)
    known = {m.played for m in matches} | free
    return Alignment(
        tuple(matches),
        tuple(missing),
        tuple(s for s in range(len(take.notes)) if s not in known),
        tuple(substitutions),
        tuple(passes),
        len(known) / len(take.notes),
        tuple(sorted(free)),
    )


def _by_chance(pairs: Sequence[Pair], asked: int, strokes: range) -> bool:
    """Whether so few strokes of a run are written, or `asked` for by an ornament, that they may be so by chance."""
    inside = max(s for s, _, _ in pairs) - min(s for s, _, _ in pairs) + 1
    return len(pairs) + asked < CHANCE * max(inside, len(strokes) / 2)


def _match_run(
    run: Run,
    events: Sequence[Event],
    clusters: Clusters,
    notes: Sequence[PlayedNote],
    strokes: range,
) -> tuple[list[Expected], list[Pair], NDArray[np.float64]]:
    """When the notes of a run were expected, its pairs, and the second of each event of its walk."""
    seconds: dict[int, float] = {}
    for cluster, place in run.anchors:
        if place not in seconds:
            seconds[place] = float(clusters.onset[cluster])
    rows: list[Expected] = []
    pairs: list[Pair] = []
    times = np.zeros(0)
    for _ in range(ROUNDS):
        if not seconds:
            return [], [], times
        times = times_of(run, seconds)
        rows = expected(run, events, times)
        pairs = pair_up(rows, notes, strokes)
        seconds = _known(pairs, notes)
    return rows, pairs, times


def _known(pairs: Sequence[Pair], notes: Sequence[PlayedNote]) -> dict[int, float]:
    """Second of each event: the middle of the strokes that were given to it, grace notes aside."""
    onsets: dict[int, list[float]] = defaultdict(list)
    for stroke, place, unit in pairs:
        if not unit.grace and not unit.loose:
            onsets[place].append(notes[stroke].onset)
    return {place: sorted(row)[len(row) // 2] for place, row in onsets.items()}
