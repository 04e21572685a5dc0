"""The likeliest sequence of keys and chords: dynamic programming over both at once.

A state is a key with a function in it. From atom to atom a state may stay; the chord may change
within the key; the key may change with the chord just heard as pivot (it is given the function it
has in the new key); or both may change with nothing in common. Only what ends one of these four ways
needs to be remembered, so the cost is linear in the number of atoms.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log1p, log2
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.emission import ChordName, chord_scores, scale_scores
from passagework.analysis.harmony.evidence import Evidence
from passagework.analysis.harmony.grid import BEAT, DOWNBEAT, HALF_BAR, Grid
from passagework.analysis.harmony.scales import Key, change_costs, signature_costs
from passagework.analysis.harmony.vocabulary import GROUPS, functions, progressions

Array = NDArray[Any]
SOURCES = 3
"""Keys that a change of key may come from at any one place: the likeliest so far."""
_NEVER = -(1 << 28)


@dataclass(frozen=True)
class Path:
    """The decoded sequence, one entry per atom."""

    keys: tuple[Key, ...]
    """Candidates."""
    key: list[int]
    function: list[int]
    begins: list[bool]
    """Whether a chord begins at the atom."""


@dataclass(frozen=True)
class Space:
    """States and their scores, laid out for the decoder."""

    keys: tuple[Key, ...]
    chords: list[ChordName]
    chord_at: Array
    """(keys, functions): index into `chords`."""
    prior: Array
    """(keys, functions)."""
    groups: Array
    """(functions,): group of each."""
    edges: Array
    """Where each group present begins among the functions."""
    odds: Array
    """(groups present, groups present)."""


def space_of(keys: tuple[Key, ...]) -> Space:
    """Every function in every key."""
    row = functions()
    index: dict[ChordName, int] = {}
    chord_at = np.array(
        [[index.setdefault((k.tonic + f.root, f.quality), len(index)) for f in row] for k in keys]
    )
    prior = np.array([[f.prior[k.minor] for f in row] for k in keys], dtype=np.int64)
    present = sorted({f.group for f in row})
    groups = np.array([present.index(f.group) for f in row])
    edges = np.searchsorted(groups, np.arange(len(present)))
    odds = np.array(progressions(), dtype=np.int64)[np.ix_(present, present)]
    assert len(present) <= len(GROUPS)
    return Space(keys, list(index), chord_at, prior, groups, edges, odds)


def decode(evidence: Evidence, keys: tuple[Key, ...]) -> tuple[Path, Space, Array]:
    """Likeliest path, the states it runs through, and the (atoms, chords) scores."""
    space = space_of(keys)
    scores = chord_scores(evidence, space.chords)
    scale = scale_scores(evidence, keys)
    return _viterbi(evidence, space, scores, scale), space, scores


@dataclass(frozen=True)
class _Costs:
    """Costs of every kind of step, thousandths of a nat."""

    change: list[int]
    stay: list[int]
    """By metric level."""
    key: dict[tuple[int, int], Array]
    """(from, to), by signature and metric level, for the levels at which a key may change."""
    direct: int


def _change_odds(pace: float) -> list[float]:
    """Log probability of a change of chord by metric level, fitted to the pace of the notes.

    Where little is struck to a beat, beats are fast and harmony moves over several of them.
    """
    slower = min(
        max(weights.PACE * log2(max(pace, 0.25) / weights.USUAL_PACE), weights.PACE_LEAST), 0
    )
    return [c + (slower if level < HALF_BAR else 0) for level, c in enumerate(weights.CHANGE)]


def _costs(keys: tuple[Key, ...], grid: Grid) -> _Costs:
    change = _change_odds(grid.pace)
    shift = change_costs(keys)
    weak = round(1000 * weights.KEY_CHANGE_WEAK)
    table = {}
    for fifths in set(grid.fifths):
        under = signature_costs(
            keys, fifths, weights.SIGNATURE_DISTANCE, weights.SIGNATURE_DISTANCE
        )
        for level in range(BEAT, DOWNBEAT + 1):
            cost = shift + under[None, :] + (0 if level == DOWNBEAT else weak)
            np.fill_diagonal(cost, _NEVER)
            table[fifths, level] = cost.astype(np.int32)
    return _Costs(
        [round(1000 * c) for c in change],
        [round(1000 * log1p(-exp(c))) for c in change],
        table,
        round(1000 * weights.KEY_DIRECT),
    )


def _sources(value: Array) -> tuple[Array, Array]:
    """Likeliest keys so far, and every key's best value."""
    tops = value.max(axis=1)
    return np.argsort(-tops, kind="stable")[:SOURCES], tops


def _offers(value: Array, sources: Array, cost: Array, space: Space, room: Array) -> Array:
    """(sources, keys, functions): what each chord is worth when heard as a pivot from another key."""
    room.fill(_NEVER)
    room[np.arange(len(sources))[:, None], space.chord_at[sources]] = value[sources]
    return room[:, space.chord_at] + cost[sources][:, :, None]


def _viterbi(evidence: Evidence, space: Space, scores: Array, scale: Array) -> Path:
    grid, keys = evidence.grid, space.keys
    costs = _costs(keys, grid)
    first = signature_costs(
        keys, grid.fifths[0], weights.FIRST_SIGNATURE, weights.SIGNATURE_DISTANCE
    )
    emit = (scores[:, space.chord_at] + scale[:, :, None]).astype(np.int32)
    opening = np.where(_tonic_chords(), 0, round(1000 * weights.BEGIN_ELSEWHERE))
    value = (space.prior + first[:, None] + opening + emit[0]).astype(np.int32)
    atoms = len(grid.starts)
    values = np.empty((atoms, *value.shape), dtype=np.int32)
    stays = np.zeros((atoms, *value.shape), dtype=bool)
    room = np.empty((min(SOURCES, len(keys)), len(space.chords)), dtype=np.int32)
    odds = np.ascontiguousarray(space.odds.T).astype(np.int32)[None]
    prior = space.prior.astype(np.int32)
    for t in range(1, atoms):
        values[t - 1] = value
        level = grid.levels[t]
        seen = value
        if level >= BEAT and len(keys) > 1:
            cost = costs.key[grid.fifths[t], level]
            sources, tops = _sources(value)
            seen = np.maximum(value, _offers(value, sources, cost, space, room).max(axis=0))
            reached = (tops[sources][:, None] + cost[sources]).max(axis=0) + costs.direct
        grouped = np.maximum.reduceat(seen, space.edges, axis=1)
        arrive = (grouped[:, None, :] + odds).max(axis=2)
        if level >= BEAT and len(keys) > 1:
            arrive = np.maximum(arrive, reached[:, None])
        moved = arrive[:, space.groups] + prior
        moved += costs.change[level]
        held = value + costs.stay[level]
        np.greater_equal(held, moved, out=stays[t])
        value = np.maximum(held, moved)
        value += emit[t]
        value -= value.max()
    values[-1] = value + _closing(evidence, keys)
    return _trace(evidence, space, costs, values, stays)


def _tonic_chords() -> Array:
    """(functions,): whether each is the tonic."""
    return np.array([f.group == GROUPS.index("I") for f in functions()])


def _closing(evidence: Evidence, keys: tuple[Key, ...]) -> Array:
    """(keys, functions): a piece ends on its tonic chord, and on its tonic in the bass."""
    row = evidence.bass[int(np.flatnonzero(evidence.bass.sum(axis=1))[-1])]
    last = evidence.low + int(row.argmax())
    at_home = np.array([(last - k.tonic) % 12 == 0 for k in keys])
    tonic = _tonic_chords()
    missed = 2 - at_home[:, None].astype(np.int32) - tonic[None, :].astype(np.int32)
    cost: Array = (missed * round(1000 * weights.END_ELSEWHERE)).astype(np.int32)
    return cost


def _trace(evidence: Evidence, space: Space, costs: _Costs, values: Array, stays: Array) -> Path:
    """Walk back from the best last state; how each chord was come to is worked out again."""
    grid = evidence.grid
    atoms = len(values)
    key, function = (int(i) for i in divmod(int(values[-1].argmax()), values.shape[2]))
    keys, chosen, begins = [key] * atoms, [function] * atoms, [True] * atoms
    room = np.empty((min(SOURCES, len(space.keys)), len(space.chords)), dtype=np.int32)
    for t in range(atoms - 1, 0, -1):
        keys[t], chosen[t] = key, function
        if stays[t, key, function]:
            begins[t] = False
            continue
        cost = costs.key.get((grid.fifths[t], grid.levels[t])) if len(space.keys) > 1 else None
        key, function = _before(values[t - 1], space, costs, cost, key, function, room)
    keys[0], chosen[0] = key, function
    return Path(space.keys, keys, chosen, begins)


def _before(
    value: Array,
    space: Space,
    costs: _Costs,
    cost: Array | None,
    key: int,
    function: int,
    room: Array,
) -> tuple[int, int]:
    """The state from which a new chord in `key` was come to."""
    toward = space.odds[:, space.groups[function]]
    mine = value[key] + toward[space.groups]
    best, found = int(mine.max()), (key, int(mine.argmax()))
    if cost is None:
        return found
    sources, tops = _sources(value)
    offers = _offers(value, sources, cost, space, room)[:, key] + toward[space.groups]
    if int(offers.max()) > best:
        best = int(offers.max())
        at, place = divmod(int(offers.argmax()), offers.shape[1])
        source = int(sources[at])
        same = space.chord_at[source] == space.chord_at[key, place]
        found = (source, int(np.flatnonzero(same)[0]))
    away = tops[sources] + cost[sources, key] + costs.direct
    if int(away.max()) > best:
        source = int(sources[int(away.argmax())])
        found = (source, int(value[source].argmax()))
    return found
