"""From candidates to a short list: join neighbours, gather returns, find the words, rank."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import log2

from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.material import Prints, bar_prints, gather
from passagework.spots.spot import Candidate, Place, Spot
from passagework.spots.table import all_kinds

FAINTEST = 0.2
"""Candidates below this severity are not worth a pencil stroke."""

LISTED_FROM = 0.35
"""Spots below this severity are left out of the short list while there are `FEWEST` others."""

FEWEST, FIRST_LENGTH, MOST = 3, 4, 12
"""Spots that are listed however mild they are, and the length of the short list of a very short and of a long piece:
what a teacher would name in a lesson."""

FAINTER = 0.1
"""The same where so little is found that the list would be shorter than `FEWEST`: in an easy piece a teacher
names what is new, however easy."""

BARS_A_SPOT = 12
"""The list grows by one spot for so many bars."""

FOCUS_BARS = 2
"""Bars of the excerpt that shows a spot, where its worst occurrence is not longer by itself."""


@dataclass(frozen=True)
class Group:
    """Neighbouring candidates of one kind, hand and family."""

    kind: Kind
    members: tuple[Candidate, ...]

    @property
    def first_bar(self) -> int:
        return self.members[0].first_bar

    @property
    def last_bar(self) -> int:
        return max(c.last_bar for c in self.members)

    @property
    def severity(self) -> float:
        return max(c.severity for c in self.members)


def find_candidates(
    context: Context, faintest: float = FAINTEST
) -> dict[str, tuple[Candidate, ...]]:
    """Every occurrence of every kind of that severity at least, by the kind's name, in order."""
    result: dict[str, tuple[Candidate, ...]] = {}
    for kind in all_kinds():
        rows = [c for c in kind.find(context) if c.severity >= faintest and c.note_ids]
        result[kind.name] = tuple(sorted(rows, key=lambda c: (c.first_bar, c.last_bar, c.hand)))
    return result


def find_spots(
    context: Context, candidates: dict[str, tuple[Candidate, ...]] | None = None
) -> tuple[Spot, ...]:
    """The spots of the piece, the short list first (ranks 1, 2 ...), then the others by place."""
    found = find_candidates(context) if candidates is None else candidates
    groups = _gathered(found, context)
    if candidates is None and len(groups) < FEWEST:
        groups = _gathered(find_candidates(context, FAINTER), context)
    spots = [_spot(returns[0].kind, returns, context) for returns in groups]
    return rank(_with_own_ids(spots), context)


def _gathered(found: dict[str, tuple[Candidate, ...]], context: Context) -> list[list[Group]]:
    """The groups of every spot to be."""
    prints = bar_prints(context.piece)
    result: list[list[Group]] = []
    for kind in all_kinds():
        result += _gather_returns(_neighbours(kind, found.get(kind.name, ())), prints)
    return result


def _with_own_ids(spots: Sequence[Spot]) -> list[Spot]:
    """Spots whose ids differ: two of a kind whose worst places begin with one note take its name by
    hand, family and order.
    """
    taken: set[str] = set()
    result: list[Spot] = []
    for spot in spots:
        name, at = spot.id, 1
        if name in taken:
            name = f"{spot.id}-{spot.hand}"
        while name in taken:
            at += 1
            name = f"{spot.id}-{spot.hand}-{at}"
        taken.add(name)
        result.append(spot if name == spot.id else replace(spot, id=name))
    return result


def _neighbours(kind: Kind, candidates: Iterable[Candidate]) -> list[Group]:
    """Join candidates of one hand and family that stand in the same or in adjacent bars."""
    open_: dict[tuple[str, str], list[Candidate]] = {}
    ends: dict[tuple[str, str], int] = {}
    groups: list[Group] = []
    for candidate in candidates:
        key = (candidate.hand, candidate.family)
        row = open_.get(key)
        if row is not None and candidate.first_bar <= ends[key] + 1:
            row.append(candidate)
            ends[key] = max(ends[key], candidate.last_bar)
            continue
        if row is not None:
            groups.append(Group(kind, tuple(row)))
        open_[key], ends[key] = [candidate], candidate.last_bar
    groups += [Group(kind, tuple(row)) for row in open_.values()]
    return sorted(groups, key=lambda g: g.first_bar)


def _gather_returns(groups: Sequence[Group], prints: Prints) -> list[list[Group]]:
    """Lists of groups that are the same material, or of the same family where the kind says that this is
    what makes a spot.
    """
    if not groups:
        return []
    kind = groups[0].kind
    if kind.by_family:
        families: dict[str, list[Group]] = defaultdict(list)
        for group in groups:
            families[group.members[0].family].append(group)
        return list(families.values())
    rows = gather([g.members for g in groups], prints, moves=kind.moves)
    return [[Group(kind, tuple(place)) for place in row] for row in rows]


def _spot(kind: Kind, returns: Sequence[Group], context: Context) -> Spot:
    members = [c for group in returns for c in group.members]
    worst = sorted(members, key=lambda c: (-c.severity, c.first_bar))
    places = tuple(
        Place(
            g.first_bar,
            g.last_bar,
            tuple(dict.fromkeys(i for c in g.members for i in c.note_ids)),
            round(g.severity, 3),
        )
        for g in sorted(returns, key=lambda g: g.first_bar)
    )
    # Places can overlap or touch where voices share bars; what is shown must lie within one of them.
    main = next(g for g in returns if any(c is worst[0] for c in g.members))
    focus = _focus(worst[0], main.members, context)
    return Spot(
        id=f"{kind.name}-{focus.note_ids[0]}",
        kind=kind.name,
        hand=worst[0].hand,
        severity=round(worst[0].severity, 3),
        places=places,
        focus=focus,
        wording=kind.describe(worst, context),
        family=worst[0].family,
    )


def _focus(worst: Candidate, members: Sequence[Candidate], context: Context) -> Place:
    """The worst candidate, with its neighbours in the same or the next bar while that stays short."""
    first, last = worst.first_bar, max(worst.last_bar, worst.first_bar + FOCUS_BARS - 1)
    inside = [c for c in members if first <= c.first_bar and c.last_bar <= last]
    ids = dict.fromkeys(i for c in inside for i in c.note_ids)
    last = max(c.last_bar for c in inside)
    by_id = context.piece.by_id
    shown = tuple(i for i in ids if first <= by_id[i].bar <= last)
    return Place(first, last, shown or tuple(ids), round(worst.severity, 3))


def importance(spot: Spot) -> float:
    """What a teacher would mention first: the hard, and of equally hard places the one that returns.

    Doubling the bars that a spot covers weighs like 0.04 of severity, up to a sixth of the scale.
    """
    return spot.severity + min(0.04 * log2(max(len(spot.bars), 1)), 0.16)


AGAIN = 0.08
"""What each spot of a kind already listed takes from the importance of the next one."""


def _order(spot: Spot) -> tuple[float, int, str]:
    return (-importance(spot), spot.first_bar, spot.id)


def rank(spots: Sequence[Spot], context: Context) -> tuple[Spot, ...]:
    """Give ranks: the most important first, no kind taking the list for itself."""
    most = min(MOST, FIRST_LENGTH + len(context.piece.bars) // BARS_A_SPOT)
    limits = {kind.name: kind.most for kind in all_kinds()}
    used: dict[str, int] = defaultdict(int)
    listed: list[Spot] = []
    queues: dict[str, list[Spot]] = defaultdict(list)
    for spot in sorted(spots, key=_order, reverse=True):  # the best at the end, to be popped
        queues[spot.kind].append(spot)
    while queues and len(listed) < most:
        # A second spot of a kind tells less that is new than the first of another kind.
        kind = min(
            queues,
            key=lambda k: (AGAIN * used[k] - importance(queues[k][-1]), _order(queues[k][-1])),
        )
        best = queues[kind].pop()
        if not queues[kind] or used[kind] + 1 >= limits[kind]:
            del queues[kind]
        if best.severity < LISTED_FROM and len(listed) >= FEWEST:
            continue
        used[kind] += 1
        listed.append(best)
    ranked = [replace(spot, rank=i + 1) for i, spot in enumerate(listed)]
    names = {s.id for s in ranked}
    others = sorted((s for s in spots if s.id not in names), key=lambda s: (s.first_bar, s.id))
    return (*ranked, *others)
