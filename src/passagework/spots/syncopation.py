"""Notes struck off the beat that are held, tied or rested over the next stronger beat.

Conventions
-----------
* Metrical weights after Longuet-Higgins and Lee (1984): 0 for the first beat of the bar and one less
  for each level of division. A syncopation is a note followed by a silence or a held sound on a
  stronger position than its own; its *strength* is the difference of the two weights.
* A line is one voice of one hand. Where the hand itself, or the other hand, strikes the stronger
  position, the beat is heard and the place is milder; where the other hand moves evenly through it,
  milder still; where nothing at all is struck on it, the student must feel it alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from passagework.score.piece import Bar, Position, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    note_name,
    other_places,
    start_of,
    tempo_words,
    where,
)

SOURCE = "syncopation strength, Longuet-Higgins and Lee, 1984"

UNHEARD, HEARD, CARRIED = 1.0, 0.6, 0.3
"""Share of the strength that counts where nobody strikes the stronger position, where somebody
does, and where somebody moves evenly through it. Our judgement: the beat that is heard is a help."""

RESTED_SHARE = 0.6
"""A rest on the beat is easier to keep than a note held over it: the hand can move with the beat."""

QUICK_BEAT_S, SLOW_BEAT_S = 0.35, 1.0
"""Beats outside these bounds (170 and 60 a minute) carry a pulse less well; the range of natural
tapping is Fraisse's (1982)."""

TEMPO_WEIGHT = 1.25
"""Factor outside those bounds."""

MORE_IN_A_BAR = 0.5
"""The second and later syncopations of a bar count half: they become a pattern."""

SIDES: tuple[Side, Side] = ("left", "right")

ORDINARY, HARD = (0.5, 1.6), (1.4, 3.6)
"""Weighted strength in one bar, for first-year and concert pieces."""


Grid = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Offbeat:
    """One syncopated attack."""

    attack: Attack
    over: Position
    """The stronger position that is held or rested through."""
    strength: int
    held: bool
    heard: float
    """`UNHEARD`, `HEARD` or `CARRIED`."""
    barline: bool


def weight(bar: Bar, position: Position) -> int:
    """Metrical weight of a position in its bar: 0 for its first beat, negative below."""
    offset = position - bar.onset
    if bar.pickup and bar.length < bar.time.length:
        offset += bar.time.length - bar.length
    if offset == 0:
        return 0
    group = Fraction(0)
    unit = Fraction(4, bar.time.beat_type)
    if len(bar.time.beats) > 1:  # the groups of 3+2/8 are the beats
        for size in bar.time.beats:
            if offset < group + size * unit:
                break
            group += size * unit
        if offset == group:
            return -1
        return -2 - _halvings((offset - group) / unit)
    beat = bar.time.beat
    in_beats = offset / beat
    beats = bar.time.length / beat
    level = 1
    count = beats
    while count % 2 == 0:
        count /= 2
        if in_beats % count == 0:
            return -level
        level += 1
    if count == 1:
        level -= 1  # the beats themselves were the last level of halves
    if in_beats.denominator == 1:
        return -level
    within = in_beats - (in_beats.numerator // in_beats.denominator)
    if beat.numerator % 3 == 0 and (within * 3).denominator == 1:
        return -level - 1
    if beat.numerator % 3 == 0:
        return -level - 1 - _halvings(within * 3)
    return -level - _halvings(within)


def _halvings(part: Fraction) -> int:
    """How often a unit is divided to reach `part` of it; a division by three counts as one."""
    denominator, steps = part.denominator, 0
    while denominator > 1:
        factor = next((f for f in (2, 3, 5, 7) if denominator % f == 0), denominator)
        denominator //= factor
        steps += 1
    return steps


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar and hand that holds a syncopation."""
    rows: dict[tuple[int, Side], list[Offbeat]] = defaultdict(list)
    grids = [_grid(context, bar) for bar in context.piece.bars]
    for attacks in context.streams.values():
        for one, following in pairwise(attacks):
            offbeat = _offbeat(context, grids, one, following)
            if offbeat is not None:
                rows[one.bar, one.side].append(offbeat)
    for (bar, side), found in sorted(rows.items()):
        yield _candidate(context, bar, side, found)


def _offbeat(
    context: Context, grids: Sequence[Grid], attack: Attack, following: Attack
) -> Offbeat | None:
    bar = context.bar(attack.bar)
    if following.tick <= _next_beat(grids[attack.bar], attack.tick):
        return None  # the line strikes on the next beat or before it
    own = weight(bar, attack.onset)
    if own == 0:
        return None
    end = max(n.end for n in attack.notes)
    over, stronger = _stronger(context, bar, attack.onset, following.onset, own)
    if over is None:
        return None
    held = end > over
    if not held and not _rested(context, attack, following, over):
        return None
    fermata = any("fermata" in n.articulations for n in attack.notes)
    if fermata or following.onset - attack.onset > bar.time.length:
        return None  # a stop or the end of a phrase, not a rhythm
    heard = _heard(context, attack, following, over)
    if heard == CARRIED and not held:
        return None  # a figure that the hands share
    return Offbeat(attack, over, stronger - own, held, heard, stronger == 0)


def _grid(context: Context, bar: Bar) -> Grid:
    """Ticks of the first beat of a bar (a pickup's lies before it), of its end, and of one beat (0 where
    a beat is no whole number of ticks: crotchets alone in 6/8).
    """
    ticks = context.piece.ticks
    start, end = ticks(bar.onset), ticks(bar.end)
    if bar.pickup and bar.length < bar.time.length:
        start -= ticks(bar.time.length) - (end - start)
    beat = bar.time.beat * context.piece.ticks_per_quarter
    return start, end, beat.numerator if beat.denominator == 1 else 0


def _next_beat(grid: Grid, tick: int) -> int:
    """Tick of the first beat (or bar line) after `tick`; `tick` itself where beats have no ticks."""
    start, end, beat = grid
    return min(tick + beat - (tick - start) % beat, end) if beat else tick


def _stronger(
    context: Context, bar: Bar, start: Position, end: Position, own: int
) -> tuple[Position | None, int]:
    """The strongest position between an attack and the next of its line, and its weight."""
    best: Position | None = None
    best_weight = own
    if bar.end < end and bar.index + 1 < len(context.piece.bars):
        return bar.end, 0
    beat = bar.time.beat
    first = bar.onset + beat * ((start - bar.onset) // beat + 1)
    if bar.pickup and bar.length < bar.time.length:
        shift = bar.length % beat
        first = bar.onset + shift + beat * ((start - bar.onset - shift) // beat + 1)
    position = first
    while position < min(end, bar.end):
        found = weight(bar, position)
        if found > best_weight:
            best, best_weight = position, found
        position += beat
    return best, best_weight


def _rested(context: Context, attack: Attack, following: Attack, over: Position) -> bool:
    """Whether a rest on the beat belongs to a figure: the line goes on, off the beat, at once."""
    bar = context.piece.bar_at(following.onset)
    beat = bar.time.beat
    soon = following.onset - over < beat and attack.onset > over - beat
    return soon and (following.onset - over) % beat != 0


def _heard(context: Context, attack: Attack, following: Attack, over: Position) -> float:
    struck = [side for side in SIDES if (side, over) in context.attack_at]
    if not struck:
        return UNHEARD
    step = over - attack.onset
    moving: set[Position] = {attack.onset, min(following.onset, over + step)}
    others = 0
    for side in SIDES:
        for now in context.attacks_between(side, attack.onset, following.onset):
            moving.add(now.onset)
            others += attack.onset < now.onset
    steps = [b - a for a, b in pairwise(sorted(moving))]
    return CARRIED if others >= 2 and max(steps) <= step else HEARD


def _on_beat(context: Context, attack: Attack) -> bool:
    bar = context.bar(attack.bar)
    start, _, beat = _grid(context, bar)
    return beat > 0 and (attack.tick - start) % beat == 0


def _candidate(context: Context, bar: int, side: Side, found: Sequence[Offbeat]) -> Candidate:
    worth = sorted(
        (o.strength * o.heard * (1.0 if o.held else RESTED_SHARE) for o in found), reverse=True
    )
    demand = worth[0] + MORE_IN_A_BAR * sum(worth[1:])
    first = context.bar(bar)
    beat_s = context.seconds(first.onset + first.time.beat) - context.seconds(first.onset)
    if not QUICK_BEAT_S <= beat_s <= SLOW_BEAT_S:
        demand *= TEMPO_WEIGHT
    level = context.level
    main = max(found, key=lambda o: (o.strength * o.heard, o.held))
    found = sorted(found, key=lambda o: o.attack.onset)
    last = max(context.piece.bar_at(o.over).index if o.barline else bar for o in found)
    return Candidate(
        bar,
        last,
        side,
        tuple(dict.fromkeys(i for o in found for i in o.attack.ids)),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family="held" if main.held else "rested",
        numbers={
            "strength": demand,
            "count": len(found),
            "barlines": sum(o.barline for o in found),
            "unheard": sum(o.heard == UNHEARD for o in found),
            "carried": sum(o.heard == CARRIED for o in found),
            "beat_s": beat_s,
            "weak_beat": float(_on_beat(context, main.attack)),
            "beat": float((main.over - first.onset) / first.time.beat) % float(first.time.length / first.time.beat) + 1,
        },
        facts={"note": note_name(main.attack.high.pitch), "held": "yes" if main.held else ""},
    )  # fmt: skip


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the syncopations of one hand."""
    worst = worst_first[0]
    at = start_of(worst, context)
    bars, hand, note = where(worst, context), hand_name(worst.hand), worst.facts["note"]
    held = bool(worst.facts["held"])
    amount, unheard = int(worst.numbers["count"]), int(worst.numbers["unheard"])
    barlines, beat = int(worst.numbers["barlines"]), round(worst.numbers["beat"])
    weak = bool(worst.numbers["weak_beat"])
    what = "held over the beat" if held else "played after a rest on the beat"
    what = "held over the stronger beat that follows" if held and weak else what
    reason = f"In {bars} the {hand} has {counted(amount, 'note')} {'on a weak beat' if weak else 'off the beat'}, {what}"
    reason += (
        f"; {counted(barlines, 'note goes', 'notes go')} over the bar line" if barlines else ""
    )
    if unheard:
        reason += f". On {counted(unheard, 'of the beats', 'of the beats')} passed over neither hand strikes anything, so the beat must be felt."
    elif worst.numbers["carried"]:
        reason += ". The other notes move evenly through it and carry the beat."
    else:
        reason += ". Another note falls on the beat and can be leaned on."
    other = "left" if worst.hand == "right" else "right"
    steps = [
        f"Play {bars} without the ties, striking {note} again on beat {beat}; then with the tie, the repeated note only thought."
        if held
        else f"Tap the beats of {bars} with your foot and speak the {hand}'s rhythm against it before you play a note.",
        f"Clap the {hand}'s rhythm while you count the beats aloud at {tempo_words(context, at, 0.7)}.",
        f"Play the {hand} alone with the {other} tapping every beat, then both hands as written."
        if not unheard
        else "Play both hands and say the number of every beat on which nothing is struck.",
    ]
    return Wording(
        title="Ties over the bar line" if barlines and held else "Held over the beat" if held else "After the beat",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"{note} is cut short and what follows comes early"
            + (", because no other note marks the beat." if unheard else ", or an accent falls where the tie ends.")
            if held
            else f"{note} comes too soon, on the beat itself."
            if amount == 1
            else f"The notes after the beat creep towards it, and after {counted(amount, 'note')} they stand on it."
        ),
        try_=tuple(steps),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)} with the metronome on the beats only, no note drawn onto a click.",
        evidence=(
            Evidence("strength in the bar", round(worst.numbers["strength"], 2), "", SOURCE),
            Evidence("syncopated notes in the bar", amount),
            Evidence("beats that nobody strikes", unheard),
            Evidence("length of a beat", round(float(decimal(worst.numbers["beat_s"], 3)), 3), "s"),
        ),
    )  # fmt: skip


KIND = Kind("syncopation", "off the beat", find, describe)
