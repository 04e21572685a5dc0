"""A piece in the schedule: its items and days, and how far it is while the days are filled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from passagework.teaching.items import Item
from passagework.teaching.progress import ItemState, Role, Session, practised
from passagework.teaching.settings import Settings

NEVER = date.max.toordinal() + 1

THROUGH_MARGIN = 1.2
"""Playing through takes a fifth longer than the music: finding the place, a second start. A planning value."""


@dataclass(frozen=True)
class Course:
    """A piece in the schedule: its items and its days."""

    piece_id: str
    items: tuple[Item, ...]
    through: int
    """Minutes for playing it through once."""
    end: int
    """Ordinal of the first day that is not planned for it any more: the performance, or the end of the open plan."""
    last_week: int
    """Ordinal of the first day of the last week; `end` where no performance is set."""

    dated: bool = True
    """Whether a performance is set."""

    def later(self, days: int) -> Course:
        """The same with its performance so many days later."""
        return replace(self, end=self.end + days, last_week=self.last_week + days)


def gap_days(rung: int, days_kept: int, settings: Settings) -> int:
    """Days from one practice to the next at least, after `rung` reviews that went well, for something that is to be kept
    for so many days.
    """
    gap = settings.gaps[min(rung, len(settings.gaps) - 1)]
    return max(1, min(gap, int(settings.gap_share * days_kept)))


def minutes_left(item: Item, state: ItemState) -> int:
    """Minutes that `item` still needs."""
    reviews = max(item.reviews + state.again - state.reviewed, 0)
    return max(item.learn - state.learned, 0) + reviews * item.review


def through_minutes(seconds: float) -> int:
    """Minutes for playing through music of that length."""
    return max(ceil(seconds * THROUGH_MARGIN / 60.0 - 1e-9), 1)


class Track:
    """A course with how far it is."""

    def __init__(self, course: Course, states: Mapping[str, ItemState], settings: Settings) -> None:
        self.course = course
        self.settings = settings
        self.items = {item.id: item for item in course.items}
        self.states = {i: states.get(i, ItemState(i)) for i in self.items}
        self.queues = {
            what: sorted(
                (i for i in course.items if i.what == what and not self.learnt(i.id)),
                key=lambda i: (not self.states[i.id].urgent, i.order, i.id),
            )
            for what in ("spot", "section")
        }
        self.total = {"spot": 0, "section": 0}
        self.learned = {"spot": 0, "section": 0}
        for item in course.items:
            self.total[item.what] += item.learn
            self.learned[item.what] += min(self.states[item.id].learned, item.learn)
        self.further = {i.after[0]: i.id for i in course.items if i.what == "section" and i.after}
        self.next = {item.id: self._next_day(item) for item in course.items}
        self.left = sum(minutes_left(i, self.states[i.id]) for i in course.items)

    def learnt(self, name: str) -> bool:
        """Whether that item is learned (an item that was left out hinders nothing)."""
        item = self.items.get(name)
        return item is None or self.states[name].learned >= item.learn

    def rests_in_another(self, item: Item) -> bool:
        """Whether a further layer of the same section is learned, which keeps this one alive."""
        further = self.further.get(item.id)
        return further is not None and self.learnt(further)

    def _next_day(self, item: Item) -> int:
        """Ordinal of the first day on which a begun `item` may be practised again; far off for one that is not begun."""
        state = self.states[item.id]
        if state.last is None or state.begun is None:
            return NEVER
        last = state.last.toordinal()
        if state.urgent or state.learned < item.learn:
            return last + 1
        kept = self.course.end - state.begun.toordinal()
        return last + gap_days(state.rung, kept, self.settings)

    def due_for_review(self, day: int) -> list[Item]:
        """Learned items whose next practice is due, the latest first."""
        rows = [
            (self.next[item.id], -item.worth, item.id, item)
            for item in self.course.items
            if self.next[item.id] <= day and self.states[item.id].learned >= item.learn
        ]
        return [row[3] for row in sorted(rows, key=lambda r: r[:3])]

    def practise(self, item: Item, role: Role, minutes: int, day: int) -> Session:
        session = Session(date.fromordinal(day), item.id, item.piece_id, role, minutes)
        if role == "learn":
            self.learned[item.what] += minutes
            if self.states[item.id].learned + minutes >= item.learn:
                self.queues[item.what].remove(item)
        if role in ("learn", "review"):
            self.left -= minutes
        self.states[item.id] = practised(self.states[item.id], session)
        self.next[item.id] = self._next_day(item)
        return session
