"""The likeliest sequence of keys and chords: dynamic programming over both at once.

A state is a key with a function in it. From atom to atom a state may stay; the chord may change
within the key; the key may change with the chord just heard as pivot (it is given the function it
has in the new key); or both may change with nothing in common. Only what ends one of these four ways
needs to be remembered, so the cost is linear in the number of atoms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.emission import ChordName, chord_scores, scale_scores
from passagework.analysis.harmony.evidence import Evidence
from passagework.analysis.harmony.grid import BEAT, DOWNBEAT
from passagework.analysis.harmony.scales import Key, change_costs, signature_costs
from passagework.analysis.harmony.vocabulary import GROUPS, functions, progressions

Array = NDArray[Any]
SOURCES = 4
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


def _signature_rows(evidence: Evidence, keys: tuple[Key, ...], per_step: float) -> dict[int, Array]:
    return {f: signature_costs(keys, f, per_step) for f in set(evidence.grid.fifths)}


def _viterbi(evidence: Evidence, space: Space, scores: Array, scale: Array) -> Path:
    grid, keys = evidence.grid, space.keys
    change = [round(1000 * c) for c in weights.CHANGE]
    stay = [round(1000 * float(np.log1p(-np.exp(c)))) for c in weights.CHANGE]
    shift = change_costs(keys)
    under = _signature_rows(evidence, keys, weights.SIGNATURE_DISTANCE)
    direct = round(1000 * weights.KEY_DIRECT)
    weak = round(1000 * weights.KEY_CHANGE_WEAK)
    atoms, groups = len(grid.starts), len(space.edges)
    count = len(keys)
    rows = np.arange(count)
    first = signature_costs(keys, grid.fifths[0], weights.FIRST_SIGNATURE)
    value = space.prior + first[:, None] + scores[0][space.chord_at] + scale[0][:, None]
    stays = np.zeros((atoms, *space.prior.shape), dtype=bool)
    from_group = np.zeros((atoms, count, groups), dtype=np.int16)
    best_in = np.zeros((atoms, count, groups), dtype=np.int16)
    pivot = np.full((atoms, *space.prior.shape), -1, dtype=np.int16)
    jump: list[tuple[Array, Array, Array] | None] = [None] * atoms
    ends = np.append(space.edges[1:], len(space.groups))
    widest = int((ends - space.edges).max())
    pad = np.minimum(space.edges[:, None] + np.arange(widest), ends[:, None] - 1)
    room = np.full(len(space.chords), _NEVER, dtype=np.int64)
    for t in range(1, atoms):
        level = grid.levels[t]
        seen = value
        reached = None
        if level >= BEAT and count > 1:
            cost = shift + under[grid.fifths[t]][None, :] + (0 if level == DOWNBEAT else weak)
            tops = value.max(axis=1)
            sources = np.argsort(-tops, kind="stable")[:SOURCES]
            for s in sources.tolist():
                room[:] = _NEVER
                room[space.chord_at[s]] = value[s]
                offer = room[space.chord_at] + cost[s][:, None]
                offer[s] = _NEVER
                better = offer > seen
                if better.any():
                    seen = np.where(better, offer, seen)
                    pivot[t][better] = s
            away = tops[sources][:, None] + cost[sources] + direct
            away[np.arange(len(sources)), sources] = _NEVER
            which = away.argmax(axis=0)
            reached = (away[which, rows], sources[which], value.argmax(axis=1)[sources[which]])
        packed = seen[:, pad]
        inner = packed.argmax(axis=2)
        grouped = np.take_along_axis(packed, inner[:, :, None], axis=2)[:, :, 0]
        best_in[t] = inner + space.edges[None, :]
        steps = grouped[:, :, None] + space.odds[None, :, :]
        chosen = steps.argmax(axis=1)
        arrive = np.take_along_axis(steps, chosen[:, None, :], axis=1)[:, 0, :]
        if reached is not None:
            far = reached[0][:, None] > arrive
            if far.any():
                arrive = np.where(far, reached[0][:, None], arrive)
                chosen = np.where(far, -1, chosen)
                jump[t] = reached
        from_group[t] = chosen
        moved = arrive[:, space.groups] + space.prior + change[level]
        held = value + stay[level]
        stays[t] = held >= moved
        value = np.where(stays[t], held, moved) + scores[t][space.chord_at] + scale[t][:, None]
    value = value + _closing()
    return _trace(space, value, stays, from_group, best_in, pivot, jump)


def _closing() -> Array:
    """(functions,): a piece ends on its tonic, or else on something that was not its key."""
    tonic = np.array([f.group == GROUPS.index("I") for f in functions()])
    return np.where(tonic, 0, round(1000 * weights.END_ELSEWHERE))


def _trace(
    space: Space, value: Array, stays: Array, from_group: Array, best_in: Array, pivot: Array,
    jump: list[tuple[Array, Array, Array] | None],
) -> Path:  # fmt: skip
    """Walk back from the best last state."""
    atoms = len(stays)
    key, function = (int(i) for i in divmod(int(value.argmax()), value.shape[1]))
    keys, chosen, begins = [key] * atoms, [function] * atoms, [True] * atoms
    for t in range(atoms - 1, 0, -1):
        keys[t], chosen[t] = key, function
        if stays[t, key, function]:
            begins[t] = False
            continue
        group = int(from_group[t, key, space.groups[function]])
        if group < 0:
            leap = jump[t]
            assert leap is not None
            key, function = int(leap[1][key]), int(leap[2][key])
            continue
        before = int(best_in[t, key, group])
        source = int(pivot[t, key, before])
        if source >= 0:
            same = space.chord_at[source] == space.chord_at[key, before]
            key, before = source, int(np.flatnonzero(same)[0])
        function = before
    keys[0], chosen[0] = key, function
    return Path(space.keys, keys, chosen, begins)
