"""Which hand plays a note, from pitch and time alone: the easiest sharing between two hands.

The search goes through the notes struck together, one group after the other, and gives the lower
ones of each to the left hand and the upper ones to the right, for every place where they can be parted. A way
of sharing costs what is hard about it (`hand_costs`): the span of the hands, what they hold, how far they
move in the time there is, where they cross, lines and figures that change hands. Of the ways that leave
the hands in the same state only the cheapest goes on, and of these the best `BEAM` (a beam search), so that
the cost is linear in the number of notes. Notes whose hand is known beforehand guide the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, inf
from typing import NamedTuple

from passagework.score.hand_borders import find_borders
from passagework.score.hand_costs import (
    COVERED,
    MEMORY,
    MIDDLE,
    SETTLE,
    SPAN_EASY,
    WEIGHTS,
    Weights,
    chord_cost,
    hold_cost,
)
from passagework.score.hand_links import Heard, Link, find_links
from passagework.score.piece import Side

LOOK_AHEAD = 6
"""Groups that are heard before the hand of one is called sure or unsure."""

SURENESS = 1.3
"""How the lead of the better way turns into how sure it is, by the logistic function: so that of the notes
called 80 % sure about 80 % are right on the scores to which the weights were fitted and on others."""

MOST_SURE = 0.96
"""Share of notes that are right where the search sees no other way, on the same scores."""

BEAM = 16
"""Ways of sharing kept at each step."""

TOGETHER = 1 / 16
"""Quarters within which notes count as struck together."""

HOPELESS = 5.0
"""Cost behind the best from which a way is given up."""

FORBIDDEN = 1e6
"""A cost that no music outweighs: what is known beforehand."""

MOST_STRUCK = 20
"""Notes struck together that are tried every way; more are no hands' doing, and are parted by pitch."""

MOST_HELD = 10
"""Notes remembered as held by one hand; it has five fingers."""

EVEN = 0.04
"""Quarters by which a stroke may miss its even time."""

HELD = 0.1
"""Quarters a note must still last to be held."""

LONG_REST = 3.0
"""Quarters after which a hand that plays nothing counts as idle."""


class Hand(NamedTuple):
    """Where a hand is: the middle of the keys it covers, the keys it struck last and when, what it holds."""

    middle: float
    low: int
    high: int
    since: float
    step: float
    """Quarters between its last two strokes; 0 where that is long ago."""
    held: tuple[tuple[float, int], ...]


class Path(NamedTuple):
    """A way of sharing the notes so far."""

    cost: float
    left: Hand
    right: Hand
    lefts: frozenset[int]
    """Notes of the left hand that later ones are linked to."""
    choice: int
    before: Path | None


class Option(NamedTuple):
    """A way to share one group: its notes for each hand (indices, lowest first) and what it costs in itself."""

    cost: float
    left: tuple[int, ...]
    right: tuple[int, ...]


def group_notes(notes: Sequence[Heard]) -> list[list[int]]:
    """Indices of `notes` (in order of onset) struck together, each group lowest first."""
    groups: list[list[int]] = []
    for index, note in enumerate(notes):
        if groups and note.onset - notes[groups[-1][0]].onset <= TOGETHER:
            groups[-1].append(index)
        else:
            groups.append([index])
    for group in groups:
        group.sort(key=lambda i: notes[i].midi)
    return groups


class Search:
    """The search over one row of notes; `run` gives the best way and how sure each note is."""

    def __init__(self, notes: Sequence[Heard], weights: Weights = WEIGHTS) -> None:
        self.notes = notes
        self.weights = weights
        self.groups = group_notes(notes)
        self.links = find_links(notes, self.groups)
        self.priced = [[(link.note, self._price(link)) for link in row] for row in self.links]
        self.borders = find_borders(notes, self.groups)
        self.forget = self._forget()
        self.wanted = {link.note for row in self.links for link in row}

    def _forget(self) -> list[list[int]]:
        """For each group the notes that nothing later is linked to any more."""
        last: dict[int, int] = {}
        for place, group in enumerate(self.groups):
            for j in group:
                for link in self.links[j]:
                    last[link.note] = place
        rows: list[list[int]] = [[] for _ in self.groups]
        for note, place in last.items():
            rows[place].append(note)
        return rows

    def options(self, place: int) -> list[Option]:
        """Ways to share a group: the notes that are free are parted at one pitch."""
        notes, group = self.notes, self.groups[place]
        free = [i for i in group if notes[i].left < FORBIDDEN and notes[i].right < FORBIDDEN]
        fixed_left = [i for i in group if notes[i].right >= FORBIDDEN]
        fixed_right = [
            i for i in group if notes[i].left >= FORBIDDEN and notes[i].right < FORBIDDEN
        ]
        rows = []
        for k in self._partings(free, place):
            left = sorted(fixed_left + free[:k], key=lambda i: notes[i].midi)
            right = sorted(fixed_right + free[k:], key=lambda i: notes[i].midi)
            cost = self._own(left, 1, place) + self._own(right, -1, place)
            cost += sum(notes[i].left for i in free[:k]) + sum(notes[i].right for i in free[k:])
            cost += self._ends(group, set(left))
            if len(group) > 1 and (not left or not right):
                cost += self.weights.lone
            rows.append(Option(cost, tuple(left), tuple(right)))
        return rows

    def _partings(self, free: Sequence[int], place: int) -> Sequence[int]:
        """How many of the free notes the left hand may take."""
        if len(free) <= MOST_STRUCK:
            return range(len(free) + 1)
        return [sum(self.notes[i].midi <= self.borders[place] for i in free)]

    def _own(self, chosen: Sequence[int], side: int, place: int) -> float:
        weights, border = self.weights, self.borders[place]
        pitches = [self.notes[i].midi for i in chosen]
        cost = chord_cost(pitches, weights)
        for pitch in pitches:
            wrong = side * (pitch - MIDDLE)
            if wrong > 0:
                cost += weights.register * wrong
            wrong_border = side * (pitch - border)
            if wrong_border > 0:
                cost += weights.border * min(wrong_border, SPAN_EASY)
        return cost

    def _ends(self, group: Sequence[int], left: set[int]) -> float:
        """Cost of neighbours that end together in two hands, and of those that end apart in one."""
        cost = 0.0
        for a, b in pairwise(group):
            first, second = self.notes[a], self.notes[b]
            alike = abs(first.end - second.end) <= TOGETHER * 2
            parted = (a in left) != (b in left)
            if alike and parted:
                cost += self.weights.parted * max(0.0, 1 - (second.midi - first.midi) / SPAN_EASY)
                cost += self.weights.split
            elif not alike and not parted:
                cost += self.weights.uneven
        return cost

    def start(self) -> Path:
        """The hands before the piece."""
        long_ago = self.notes[0].onset - MEMORY if self.notes else 0.0
        left = Hand(MIDDLE - 12.0, MIDDLE - 12, MIDDLE - 12, long_ago, 0.0, ())
        right = Hand(MIDDLE + 12.0, MIDDLE + 12, MIDDLE + 12, long_ago, 0.0, ())
        return Path(0.0, left, right, frozenset(), -1, None)

    def step(self, paths: Sequence[Path], place: int, options: Sequence[Option]) -> list[Path]:
        """`paths` gone on with each of `options` for the group at `place`, the best first."""
        now = self.notes[self.groups[place][0]].onset
        left_hands: dict[Hand, list[tuple[Hand, float]]] = {}
        right_hands: dict[Hand, list[tuple[Hand, float]]] = {}
        wanted, forget = self.wanted, self.forget[place]
        news = [[i for i in option.left if i in wanted] for option in options]
        best: dict[tuple[int, int, frozenset[int]], Path] = {}
        same: dict[Hand, Hand] = {}
        bound = inf
        for path in paths:
            if path.left not in left_hands:
                left_hands[path.left] = self._moves(path.left, options, 1, now, same)
            if path.right not in right_hands:
                right_hands[path.right] = self._moves(path.right, options, -1, now, same)
            lefts, rights = left_hands[path.left], right_hands[path.right]
            linked = self._linked(place, path.lefts)
            kept = path.lefts.difference(forget) if forget else path.lefts
            for number, option in enumerate(options):
                left, left_price = lefts[number]
                right, right_price = rights[number]
                cost = path.cost + option.cost + left_price + right_price
                if linked:
                    for i in option.left:
                        cost += linked[i][0]
                    for i in option.right:
                        cost += linked[i][1]
                if cost > bound:
                    continue
                bound = min(bound, cost + HOPELESS)
                held = kept.union(news[number]) if news[number] else kept
                state = (id(left), id(right), held)
                old = best.get(state)
                if old is None or cost < old.cost:
                    best[state] = Path(cost, left, right, held, number, path)
        return sorted((p for p in best.values() if p.cost <= bound), key=_cost)

    def _moves(
        self, hand: Hand, options: Sequence[Option], side: int, now: float, same: dict[Hand, Hand]
    ) -> list[tuple[Hand, float]]:
        """For each option the hand after it and what it costs; `side` is 1 for the left hand.

        The other hand's notes count where they cross this one.
        """
        hand = _let_go(hand, now)
        weights = self.weights
        due = abs(now - hand.since - hand.step) <= EVEN
        rested = now - hand.since > LONG_REST
        known: dict[tuple[int, ...], tuple[Hand, float]] = {}
        rows = []
        for option in options:
            own, other = (option.left, option.right) if side > 0 else (option.right, option.left)
            if own not in known:
                if own:
                    known[own] = self._strike(hand, own, now)
                else:
                    known[own] = hand, (weights.pulse * due + weights.idle * rested)
                new = known[own][0]
                known[own] = same.setdefault(new, new), known[own][1]
            new, cost = known[own]
            if other:
                edge = self.notes[other[0] if side > 0 else other[-1]].midi
                cost += self._crossed(edge, hand, -side, now)
            rows.append((new, cost))
        return rows

    def _linked(self, place: int, lefts: frozenset[int]) -> dict[int, tuple[float, float]]:
        """For each note of a group, what its links add if it is given to the left or the right."""
        prices: dict[int, tuple[float, float]] = {}
        if not any(self.links[j] for j in self.groups[place]):
            return prices
        for j in self.groups[place]:
            to_left = to_right = 0.0
            for note, price in self.priced[j]:
                if note in lefts:
                    to_right += price
                else:
                    to_left += price
            prices[j] = (to_left, to_right)
        return prices

    def _price(self, link: Link) -> float:
        weights = self.weights
        if link.kind == "line":
            return weights.line * link.strength
        return (weights.again if link.kind == "again" else weights.figure) * link.strength

    def _strike(self, hand: Hand, chosen: Sequence[int], now: float) -> tuple[Hand, float]:
        """The hand after striking `chosen`, and what the move and the holding cost."""
        notes, weights = self.notes, self.weights
        low, high = notes[chosen[0]].midi, notes[chosen[-1]].midi
        gap = now - hand.since
        time = SETTLE + min(gap, MEMORY)
        cost = weights.early if gap < hand.step - EVEN else 0.0
        middle = hand.middle
        if high - low >= 2 * COVERED:
            target = (low + high) / 2
        else:
            target = min(max(middle, high - COVERED), low + COVERED)
        cost += weights.shift * abs(target - middle) / time
        cost += weights.move * abs(low + high - hand.low - hand.high) / 2 / time
        if hand.held:
            cost += weights.two_voices + hold_cost(hand.held, low, high, len(chosen), weights)
        held = (*hand.held, *((notes[i].end, notes[i].midi) for i in chosen))[-MOST_HELD:]
        return Hand(target, low, high, now, gap if gap < MEMORY else 0.0, held), cost

    def _crossed(self, pitch: int, other: Hand, side: int, now: float) -> float:
        """Cost of striking `pitch` beyond the other hand; `side` is 1 for the left hand."""
        weights = self.weights
        edge = other.low if side > 0 else other.high
        beyond = side * (pitch - edge)
        cost = weights.cross * beyond / (1 + now - other.since) if beyond > 0 else 0.0
        for _, midi in other.held:
            past = side * (pitch - midi)
            if past > 0:
                cost += weights.cross_held * min(past, SPAN_EASY)
        return cost

    def run(self) -> list[tuple[Side, float]]:
        """(hand, how sure) for every note, in the cheapest way that the search has found."""
        paths = [self.start()]
        table = [self.options(place) for place in range(len(self.groups))]
        sure = [1.0 if max(n.left, n.right) >= FORBIDDEN else MOST_SURE for n in self.notes]
        for place, options in enumerate(table):
            paths = self.step(paths, place, options)[:BEAM]
            if place >= LOOK_AHEAD:
                self._doubt(paths, place - LOOK_AHEAD, table, sure)
        for place in range(max(0, len(table) - LOOK_AHEAD), len(table)):
            self._doubt(paths, place, table, sure, back=len(table) - 1 - place)
        sides: list[Side] = ["right"] * len(self.notes)
        path: Path | None = paths[0]
        for options in reversed(table):
            assert path is not None
            for i in options[path.choice].left:
                sides[i] = "left"
            path = path.before
        return list(zip(sides, sure, strict=True))

    def _doubt(
        self,
        paths: Sequence[Path],
        place: int,
        table: Sequence[Sequence[Option]],
        sure: list[float],
        back: int = LOOK_AHEAD,
    ) -> None:
        """Write down how sure the notes of the group at `place` are, `back` groups before the ends of `paths`.

        A note is as sure as the best way that gives it to the other hand is dearer.
        """
        cheapest: dict[int, float] = {}
        for path in paths:
            then = path
            for _ in range(back):
                assert then.before is not None
                then = then.before
            cheapest[then.choice] = min(path.cost, cheapest.get(then.choice, inf))
        if len(cheapest) == 1:
            return
        best = min(cheapest, key=lambda choice: cheapest[choice])
        own = set(table[place][best].left)
        for i in self.groups[place]:
            other = min(
                (cost - cheapest[best] for choice, cost in cheapest.items()
                 if (i in table[place][choice].left) != (i in own)),
                default=inf,
            )  # fmt: skip
            sure[i] = min(sure[i], 1 / (1 + exp(-SURENESS * other)))


def _cost(path: Path) -> float:
    return path.cost


def _let_go(hand: Hand, now: float) -> Hand:
    if not hand.held:
        return hand
    held = tuple(h for h in hand.held if h[0] > now + HELD)
    return hand if len(held) == len(hand.held) else hand._replace(held=held)


def share_notes(notes: Sequence[Heard]) -> list[tuple[Side, float]]:
    """(hand, how sure) for each of `notes`, in any order; unsure ones are near 0.5."""
    if not notes:
        return []
    order = sorted(range(len(notes)), key=lambda i: (notes[i].onset, notes[i].midi))
    found = Search([notes[i] for i in order]).run()
    result: list[tuple[Side, float]] = [("right", 0.5)] * len(notes)
    for i, row in zip(order, found, strict=True):
        result[i] = row
    return result
