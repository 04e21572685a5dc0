"""The best line through a piece: dynamic programming over which note carries it, slice by slice.

In each slice the line either stays on the note it has (which sounds, or has just ended and is heard
on over a figure that stays away from it), goes to a note that begins there, or rests. A slice on a
note earns the note's salience; going to another note costs what a singer would find hard: leaps,
another hand, a note cut short. The same search finds the tune and the bass, with other weights.
The cost is slices x `BEAM` x notes that begin, so linear in the notes.
"""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.melody_slices import APART, HEARD_ON, Slices, heard_until

BEAM = 9
"""Lines that are followed at once; more changed nothing on the fifteen pieces it was tried on."""

CANDIDATES = 6
"""Notes that may take the line in one slice (the ones that ask for it most)."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Prices of the line's movements, in the worth of one usual slice on a note of salience 1."""

    leap: tuple[float, ...] = (
        0.08, 0.0, 0.0, 0.08, 0.1, 0.2, 0.25, 0.3, 0.45, 0.5, 0.55, 0.6, 0.55,
    )  # fmt: skip
    """By semitones, 0 to 12: steps are free, then it grows (the octave is easier than the seventh)."""
    beyond_octave: float = 0.15
    """For each semitone beyond the octave."""
    highest_leap: float = 2.4
    other_hand: float = 0.7
    cut_short: float = 1.0
    """Times the share of the note that is left unsounded when the line leaves it early."""
    begin: float = 0.45
    """From rest to a note."""
    rest: float = 0.45
    """From a note to rest."""
    heard_on: float = 0.2
    """Share of a note's salience it earns while it is only heard on."""
    passed_over: float = 1.2
    """Times the salience of the hand's own outer note that begins while another is heard on: a figure
    under a tune asks for little, a line that simply goes on asks for much."""
    hole: float = 0.1
    """Worth of a slice in which the hand that has the line is silent (a rest in the tune)."""
    covered: float = -0.6
    """Worth of a slice in which the line's ended note is covered by its own hand's notes."""


TUNE_COSTS = Costs()

BASS_COSTS = Costs(
    leap=(0.0, 0.0, 0.0, 0.1, 0.15, 0.25, 0.4, 0.3, 0.5, 0.5, 0.55, 0.6, 0.4),
    heard_on=0.75, hole=-0.15, rest=0.35, beyond_octave=0.12, passed_over=0.9,
)  # fmt: skip
"""A bass leaps by fourths, fifths and octaves, and is heard on under what is broken over it."""


def usual_length(slices: Slices, near: int = 8) -> list[float]:
    """For every slice the geometric-like middle of the slice lengths around it, in ticks."""
    lengths = [slices.length(at) for at in range(len(slices))]
    middles: list[float] = []
    for at in range(len(lengths)):
        window = sorted(lengths[max(0, at - near) : at + near + 1])
        middles.append(float(window[len(window) // 2]))
    return middles


def best_line(
    slices: Slices,
    worth: list[float],
    bound: dict[int, int] | None = None,
    price: Costs = TUNE_COSTS,
) -> list[int]:
    """For every slice the index of the note that has the line, -1 for rest.

    `worth` is the salience of each note. A bass is the best line of the mirrored slices. `bound` gives for a note the one before it in a line that is known
    (a subject's entry): going there costs nothing.
    """
    known = bound or {}
    leaps = _leap_table(price)
    rows = slices.attacks
    pitch, hand, past, onset, end = rows.pitch, rows.hand, rows.past, rows.onset, rows.end
    middles = usual_length(slices)
    heard = heard_until(slices)
    scores: dict[int, float] = {-1: 0.0}
    trail: list[dict[int, int]] = []
    for at in range(len(slices)):
        weight = _slice_weight(slices.length(at), middles[at])
        begins = slices.begins[at]
        if len(begins) > CANDIDATES:
            begins = sorted(begins, key=lambda i: -worth[i])[:CANDIDATES]
        edge = _edges(slices, at)
        asking = _asking(slices, at, worth)
        fresh: dict[int, float] = {}
        origin: dict[int, int] = {}
        resting = max(
            score - (price.rest if state >= 0 else 0.0) for state, score in scores.items()
        )
        fresh[-1] = resting
        origin[-1] = max(scores, key=lambda s: scores[s] - (price.rest if s >= 0 else 0.0))
        tick = slices.ticks[at]
        for state, score in scores.items():
            if state < 0:
                continue
            earned = _stay(state, at, slices, heard, edge, asking, worth, price)
            if earned is not None:
                value = score + weight * earned
                if value > fresh.get(state, -1e9):
                    fresh[state] = value
                    origin[state] = state
        for i in begins:
            best, source = scores.get(-1, -1e9) - price.begin, -1
            free = known.get(i, -1)
            for state, score in scores.items():
                if state < 0:
                    continue
                if state == free:
                    if score > best:
                        best, source = score, state
                    continue
                value = score - leaps[min(48, abs(pitch[state] - pitch[i]))]
                if hand[state] != hand[i]:
                    value -= price.other_hand
                if past[state] > at:
                    value -= price.cut_short * (end[state] - tick) / (end[state] - onset[state])
                if value > best:
                    best, source = value, state
            fresh[i] = best + weight * worth[i]
            origin[i] = source
        if len(fresh) > BEAM:
            kept = sorted(fresh, key=lambda s: -fresh[s])[:BEAM]
            fresh = {s: fresh[s] for s in kept}
        scores = fresh
        trail.append(origin)
    return _walk_back(scores, trail)


def _leap_table(price: Costs) -> list[float]:
    table = list(price.leap)
    while len(table) < 49:
        beyond = table[12] + price.beyond_octave * (len(table) - 12)
        table.append(min(price.highest_leap, beyond))
    return table


def _slice_weight(length: int, usual: float) -> float:
    """Square root of the length against the usual one: long slices count more, but not in proportion."""
    return float(min(3.0, max(0.4, (length / usual) ** 0.5)))


def _edges(slices: Slices, at: int) -> list[int | None]:
    """For each hand the highest pitch that it sounds, None if it is silent."""
    rows = slices.attacks
    edge: list[int | None] = [None, None]
    for i in slices.sounding[at]:
        value = rows.pitch[i]
        before = edge[rows.hand[i]]
        if before is None or value > before:
            edge[rows.hand[i]] = value
    return edge


def _asking(slices: Slices, at: int, worth: list[float]) -> list[float]:
    """For each hand the salience, at least 0, of the highest note that begins in the slice."""
    rows = slices.attacks
    asking = [0.0, 0.0]
    for i in slices.begins[at]:
        asking[rows.hand[i]] = max(0.0, worth[i])
    return asking


def _stay(
    state: int,
    at: int,
    slices: Slices,
    heard: list[int],
    edge: list[int | None],
    asking: list[float],
    worth: list[float],
    price: Costs,
) -> float | None:
    """What staying on `state` in slice `at` earns; None where the line cannot stay."""
    rows = slices.attacks
    over = at - rows.past[state]
    if over < 0:
        return worth[state]
    if over >= HEARD_ON:
        return None
    reach = edge[rows.hand[state]]
    if reach is None:
        return price.hole
    if rows.pitch[state] - reach >= APART and at < heard[state]:
        kept = price.heard_on * worth[state] if worth[state] > 0 else worth[state]
        return kept - price.passed_over * asking[rows.hand[state]]
    return price.covered


def _walk_back(scores: dict[int, float], trail: list[dict[int, int]]) -> list[int]:
    state = max(scores, key=lambda s: scores[s])
    line: list[int] = []
    for origin in reversed(trail):
        line.append(state)
        state = origin[state]
    line.reverse()
    return line
