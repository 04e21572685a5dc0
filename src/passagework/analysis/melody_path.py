"""The best line through a piece: dynamic programming over which note carries it, slice by slice.

In each slice the line either stays on the note it has (which sounds, or has just ended and is heard
on over a figure that stays away from it), goes to a note that begins there, or rests. A slice on a
note earns the note's salience; going to another note costs what a singer would find hard: leaps,
another hand, a note cut short. The same search finds the tune and the bass, with other weights.
The cost is slices x lines followed x notes that begin, so linear in the notes.
"""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.melody_slices import APART, HEARD_ON, HIGHEST_KEY, SILENT_TOP, Slices

REST = -1
"""Stands for no note."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Prices of the line's movements, in the worth of one usual slice on a note of salience 1.

    They were set with the weights of `melody_salience`, on the same performances and readings.
    """

    beam: int = 8
    """Lines that are followed at once; more changed little on the pieces it was tried on."""
    candidates: int = 5
    """Notes that may take the line in one slice (the ones that ask for it most)."""
    leap: tuple[float, ...] = (
        0.06, 0.0, 0.0, 0.06, 0.07, 0.14, 0.18, 0.2, 0.32, 0.35, 0.38, 0.42, 0.38,
    )  # fmt: skip
    """By semitones, 0 to 12: steps are free, then it grows (the octave is easier than the seventh)."""
    beyond_octave: float = 0.1
    """For each semitone beyond the octave."""
    highest_leap: float = 2.4
    other_hand: float = 0.7
    cut_short: float = 1.0
    """Times the share of the note that is left unsounded when the line leaves it early."""
    begin: float = 0.45
    """From rest to a note."""
    rest: float = 0.3
    """From a note to rest."""
    breath: float = 0.6
    """What is added to both where the line breathes without a rest."""
    silence: float = -0.15
    """Worth of a slice at rest: while notes begin, somebody is expected to have the tune."""
    heard_on: float = 0.05
    """Share of a note's salience it earns while it is only heard on."""
    passed_over: float = 1.2
    """Times the salience of the hand's own outer note that begins while another is heard on: a figure
    under a tune asks for little, a line that simply goes on asks for much."""
    hole: float = 0.25
    """Worth of a slice in which the hand that has the line is silent (a rest in the tune)."""
    covered: float = -0.6
    """Worth of a slice in which the line's ended note is covered by its own hand's notes."""


TUNE_COSTS = Costs()

BASS_COSTS = Costs(
    beam=6, candidates=2,
    leap=(0.0, 0.0, 0.0, 0.1, 0.15, 0.25, 0.4, 0.3, 0.5, 0.5, 0.55, 0.6, 0.4),
    heard_on=0.75, hole=-0.15, rest=0.35, beyond_octave=0.12, passed_over=0.9, silence=0.0,
)  # fmt: skip
"""A bass leaps by fourths, fifths and octaves, and is heard on under what is broken over it."""


def best_line(
    slices: Slices,
    worth: list[float],
    bound: dict[int, int] | None = None,
    price: Costs = TUNE_COSTS,
) -> list[int]:
    """For every slice the index of the note that has the line, `REST` where nobody has.

    `worth` is the salience of each note. A bass is the best line of the mirrored slices. `bound` gives
    for a note the one before it in a line that is known (a subject's entry): going there costs nothing.
    """
    known = bound or {}
    leaps = _leap_table(price)
    scores: dict[int, float] = {REST: 0.0}
    trail: list[dict[int, int]] = []
    for at, begins in enumerate(slices.begins):
        weight = slices.weights[at]
        if len(begins) > price.candidates:
            begins = sorted(begins, key=lambda i: -worth[i])[: price.candidates]
        fresh, origin = _stay(scores, at, slices, worth, weight, price)
        for i in begins:
            best, source = _come(i, scores, at, slices, known.get(i, REST), leaps, price)
            fresh[i] = best + weight * worth[i]
            origin[i] = source
        if len(fresh) > price.beam:
            ranked = sorted(fresh.items(), key=_by_score)
            fresh = dict(ranked[-price.beam :])
        scores = fresh
        trail.append(origin)
    return _walk_back(scores, trail)


def _by_score(item: tuple[int, float]) -> float:
    return item[1]


def _stay(
    scores: dict[int, float],
    at: int,
    slices: Slices,
    worth: list[float],
    weight: float,
    price: Costs,
) -> tuple[dict[int, float], dict[int, int]]:
    """Lines that stay on their note, or rest, in slice `at`: their scores, and where they come from."""
    rows = slices.attacks
    past, pitch, hand, heard = rows.past, rows.pitch, rows.hand, slices.heard
    edge = (slices.tops[0][at], slices.tops[1][at])
    asking = [0.0, 0.0]
    for i in slices.begins[at]:
        asking[hand[i]] = max(0.0, worth[i])
    best, source = -1e9, REST
    fresh: dict[int, float] = {}
    origin: dict[int, int] = {}
    for state, score in scores.items():
        if state == REST:
            if score > best:
                best, source = score, REST
            continue
        if score - price.rest > best:
            best, source = score - price.rest, state
        over = at - past[state]
        if over >= HEARD_ON:
            continue
        reach = edge[hand[state]]
        if over < 0:
            earned = worth[state]
        elif reach == SILENT_TOP:
            earned = price.hole
        elif at < heard[state] and pitch[state] - reach >= APART:
            kept = price.heard_on * worth[state] if worth[state] > 0 else worth[state]
            earned = kept - price.passed_over * asking[hand[state]]
        else:
            earned = price.covered
        fresh[state] = score + weight * earned
        origin[state] = state
    fresh[REST] = best + weight * price.silence
    origin[REST] = source
    return fresh, origin


def _come(
    i: int,
    scores: dict[int, float],
    at: int,
    slices: Slices,
    free: int,
    leaps: list[float],
    price: Costs,
) -> tuple[float, int]:
    """The best way for a line to come to note `i`, which begins in slice `at`: score and origin."""
    rows = slices.attacks
    pitch, hand, past = rows.pitch, rows.hand, rows.past
    own_pitch, own_hand, tick = pitch[i], hand[i], slices.ticks[at]
    best, source = scores.get(REST, -1e9) - price.begin, REST
    # A line whose note is over may also breathe and begin anew: no leap costs more than that.
    anew = price.rest + price.begin + price.breath
    for state, score in scores.items():
        # Every further cost only lowers the score, so a line that is behind already stays behind.
        if score <= best or state == REST:
            continue
        value = score
        if state != free:
            distance = pitch[state] - own_pitch
            step = leaps[distance if distance >= 0 else -distance]
            if hand[state] != own_hand:
                step += price.other_hand
            if past[state] > at or step < anew:
                value -= step
            else:
                value -= anew
            if past[state] > at:
                end = rows.end[state]
                value -= price.cut_short * (end - tick) / (end - rows.onset[state])
        if value > best:
            best, source = value, state
    return best, source


def _leap_table(price: Costs) -> list[float]:
    """Cost of every leap in semitones that two keys can make."""
    table = list(price.leap)
    while len(table) <= HIGHEST_KEY:
        beyond = table[12] + price.beyond_octave * (len(table) - 12)
        table.append(min(price.highest_leap, beyond))
    return table


def _walk_back(scores: dict[int, float], trail: list[dict[int, int]]) -> list[int]:
    state = max(scores, key=lambda s: scores[s])
    line: list[int] = []
    for origin in reversed(trail):
        line.append(state)
        state = origin[state]
    line.reverse()
    return line
