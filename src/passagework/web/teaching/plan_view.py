"""A plan as it is shown: the whole of it as one strip, the next weeks day by day, and what does not find room."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from passagework.teaching.items import Item
from passagework.teaching.plan import Need, Plan
from passagework.teaching.progress import Session

LAYERS = {
    "hands": "hands separately, with fingering",
    "together": "hands together, slowly",
    "tempo": "up to tempo",
    "memory": "by heart",
    "polish": "polish",
}
PLACES, THROUGH = "places", "through"
ROWS = ((PLACES, "hard places"), *LAYERS.items(), (THROUGH, "playing through"))
ROLES = {"learn": "new", "review": "again", "keep": "to keep it", "through": ""}
DAYS = 7
DENSEST = 9
"""Strokes of hatching in a cell that holds the most minutes."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One practice in words."""

    piece: str
    what: str
    where: str
    role: str
    minutes: int


@dataclass(frozen=True, slots=True)
class DayRow:
    """A day's practice."""

    day: date
    minutes: int
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from one lesson to the next."""

    first: date
    last: date
    minutes: int
    days: tuple[DayRow, ...]


@dataclass(frozen=True, slots=True)
class StripRow:
    """A row of the strip: strokes of hatching and minutes, week by week."""

    words: str
    cells: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class NeedRow:
    """What a piece needs, in words."""

    title: str
    need: Need
    left_out: tuple[str, ...]
    unfinished: tuple[str, ...]
    performance: date | None


@dataclass(frozen=True)
class PlanView:
    """What the page shows."""

    plan: Plan
    weeks: tuple[Week, ...]
    strip: tuple[StripRow, ...]
    needs: tuple[NeedRow, ...]
    today: date


def view(plan: Plan, today: date) -> PlanView:
    """`plan` as it is shown on `today`."""
    items = {i.id: i for i in plan.items}
    begins = _week_begins(plan, today)
    weeks = tuple(_week(plan, items, day) for day in begins)
    return PlanView(plan, weeks, _strip(plan, items, begins), _needs(plan, items), today)


def item_words(plan: Plan, item: Item) -> tuple[str, str]:
    """What an item is and where it stands: ``("Five against three", "bars 5 and 6")``."""
    work = plan.work(item.piece_id)
    if item.what == "spot":
        spot = next((s for s in work.spots if s.id == item.of), None)
        return (spot.title, spot.where) if spot else ("A place", "")
    section = work.sections[int(item.of)]
    words = LAYERS.get(item.layer, item.layer)
    return f"Section {section.label}: {words}", section.where


def row_of(session: Session, items: dict[str, Item]) -> str:
    """Which row of the strip a practice belongs to."""
    item = items.get(session.item)
    if item is None:
        return THROUGH
    return PLACES if item.what == "spot" else item.layer


def _week_begins(plan: Plan, today: date) -> list[date]:
    """First days of the weeks from today's on: a week begins with the lesson, else with the day the plan was made."""
    if not plan.sessions:
        return []
    weekday = plan.made.weekday() if plan.lesson_weekday is None else plan.lesson_weekday
    first = max(plan.made, min(today, plan.sessions[-1].day))
    first -= timedelta(days=(first.weekday() - weekday) % DAYS)
    last = plan.sessions[-1].day
    return [first + timedelta(days=d) for d in range(0, (last - first).days + 1, DAYS)]


def _week(plan: Plan, items: dict[str, Item], first: date) -> Week:
    last = first + timedelta(days=DAYS - 1)
    rows: dict[date, list[Session]] = defaultdict(list)
    for session in plan.between(first, last):
        rows[session.day].append(session)
    days = tuple(
        DayRow(day, sum(s.minutes for s in found), tuple(_entry(plan, items, s) for s in found))
        for day, found in sorted(rows.items())
    )
    return Week(first, last, sum(d.minutes for d in days), days)


def _entry(plan: Plan, items: dict[str, Item], session: Session) -> Entry:
    piece = plan.work(session.piece_id).title
    item = items.get(session.item)
    if item is None:
        return Entry(piece, "Playing through", "from beginning to end", "", session.minutes)
    what, where = item_words(plan, item)
    return Entry(piece, what, where, ROLES[session.role], session.minutes)


def _strip(plan: Plan, items: dict[str, Item], begins: Sequence[date]) -> tuple[StripRow, ...]:
    minutes: dict[str, list[int]] = {name: [0] * len(begins) for name, _ in ROWS}
    for session in plan.sessions:
        week = (session.day - begins[0]).days // DAYS if begins else -1
        row = row_of(session, items)
        if week >= 0 and row in minutes:
            minutes[row][week] += session.minutes
    most = max((m for row in minutes.values() for m in row), default=0) or 1
    return tuple(
        StripRow(words, tuple((-(-m * DENSEST // most), m) for m in minutes[name]))
        for name, words in ROWS
        if any(minutes[name])
    )


def _needs(plan: Plan, items: dict[str, Item]) -> tuple[NeedRow, ...]:
    rows = []
    for need in plan.needs:
        work = plan.work(need.piece_id)
        rows.append(
            NeedRow(
                work.title,
                need,
                tuple(_named(plan, items, i) for i in need.left_out),
                tuple(_named(plan, items, i) for i in need.unfinished),
                work.performance,
            )
        )
    return tuple(rows)


def _named(plan: Plan, items: dict[str, Item], name: str) -> str:
    if name not in items:
        return name
    what, where = item_words(plan, items[name])
    return f"{what} ({where})" if where else what
