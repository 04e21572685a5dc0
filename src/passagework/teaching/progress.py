"""How far each item of a plan is, and how what was practised and heard moves it on or back.

Rules
-----
* What was planned for a day that is past counts as practised, unless the day is said to be missed.
* What went well climbs a rung of the gaps and comes back later. What went wrong starts them again: it is due at the next
  practice, before anything else, and comes back once more often.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from passagework.teaching.items import Item, practices

Role = Literal["learn", "review", "keep", "through"]

MOST_AGAIN = 3
"""Reviews that trouble can add to one item before it is learned anew. A planning value."""


@dataclass(frozen=True, slots=True)
class Session:
    """One practice of one thing on one day."""

    day: date
    item: str
    """Id of the item; ``"PIECE/through"`` for playing through."""
    piece_id: str
    role: Role
    """``learn``; ``review`` (needed); ``keep`` (a review beyond what is needed); ``through``."""
    minutes: int


@dataclass(frozen=True, slots=True)
class ItemState:
    """How far an item is."""

    item: str
    learned: int = 0
    """Minutes of learning that are done."""
    rung: int = 0
    """Reviews that went well since it last went wrong: how long the next gap is."""
    reviewed: int = 0
    """Reviews that are done, of those that are needed."""
    again: int = 0
    """Reviews that trouble has added."""
    begun: date | None = None
    last: date | None = None
    """When it was last practised."""
    urgent: bool = False
    """Whether it went wrong and has not been practised since."""


@dataclass(frozen=True, slots=True)
class ItemResult:
    """How an item went, in a lesson or a take."""

    item: str
    well: bool
    when: date


def practised(state: ItemState, session: Session) -> ItemState:
    """`state` after that practice."""
    begun = state.begun or session.day
    if session.role == "learn":
        return replace(
            state,
            learned=state.learned + session.minutes,
            begun=begun,
            last=session.day,
            urgent=False,
        )
    done = state.reviewed + (session.role == "review")
    return replace(
        state, reviewed=done, rung=state.rung + 1, begun=begun, last=session.day, urgent=False
    )


def went(state: ItemState, item: Item, well: bool, when: date) -> ItemState:
    """`state` after the item was heard: `well`, or not."""
    last = max(state.last or when, when)
    if well:
        return replace(
            state,
            learned=max(state.learned, item.learn),
            reviewed=min(state.reviewed + 1, item.reviews + state.again),
            rung=state.rung + 1,
            begun=state.begun or when,
            last=last,
            urgent=False,
        )
    if state.begun is None:
        # Not practised yet: it is begun before other things, not reviewed.
        return replace(state, urgent=True)
    if state.learned >= item.learn and state.again >= MOST_AGAIN:
        # It keeps going wrong: part of it is learned anew.
        part = max(item.learn // practices(item), 1)
        return replace(state, learned=item.learn - part, rung=0, urgent=True)
    return replace(state, rung=0, again=min(state.again + 1, MOST_AGAIN), urgent=True)


def advance(
    states: Mapping[str, ItemState],
    sessions: Iterable[Session],
    today: date,
    missed: Collection[date] = (),
) -> dict[str, ItemState]:
    """States after the sessions before `today`, those on `missed` days left out."""
    result = dict(states)
    for session in sorted(sessions, key=lambda s: s.day):
        if session.day < today and session.day not in missed and session.role != "through":
            state = result.get(session.item, ItemState(session.item))
            result[session.item] = practised(state, session)
    return result


def apply_results(
    states: Mapping[str, ItemState], items: Mapping[str, Item], results: Iterable[ItemResult]
) -> dict[str, ItemState]:
    """States after these results, in order of time; results of items that are gone change nothing."""
    changed = dict(states)
    for row in sorted(results, key=lambda r: (r.when, r.item)):
        item = items.get(row.item)
        if item is not None:
            state = changed.get(row.item, ItemState(row.item))
            changed[row.item] = went(state, item, row.well, row.when)
    return changed
