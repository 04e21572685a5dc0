"""The lines of an assignment: each thing to practise in the week, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from passagework.spots.words_of import counted, hand_name
from passagework.teaching.items import Item
from passagework.teaching.layer_words import (
    AGAIN,
    AGAIN_DO,
    LAYER_AGAIN,
    SPOT_DO,
    THROUGH,
    WENT_WRONG,
    WORDS,
)
from passagework.teaching.line_words import WEEKDAYS, days, tidy, time, together, when
from passagework.teaching.plan import Plan
from passagework.teaching.progress import ItemState, Role, Session
from passagework.teaching.student import Register
from passagework.teaching.work import PieceWork, PlanSpot, PlanStep

LONGEST_WHERE = 60
"""Characters of the bars in a heading, beyond which the sections are counted."""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to practise."""

    number: int
    item: str
    """Id of the item in the plan."""
    piece_id: str
    piece: str
    """The piece's title; empty where the week has only one piece."""
    role: Role
    kind: str
    """Kind of difficulty of a spot; empty for a section."""
    layer: str
    """Layer of a section, or ``"through"``; empty for a spot."""
    title: str
    when: str
    """``"10 minutes, on five days"``, ``"8 minutes, from Sunday on"``."""
    do: str
    """How to practise it; empty where the steps say it."""
    steps: tuple[PlanStep, ...]
    """The steps of the exercise that are due this week, in order."""
    done_when: str
    boxes: int
    """Boxes to tick, one for each day on which it is practised."""
    minutes: int
    """Minutes of the week in all."""
    first_bar: int
    """Indices of the bars that are practised, both included: what to engrave."""
    last_bar: int
    spot_id: str = ""
    technique: str = ""
    """Practice technique of the exercise; empty for none."""
    first_step: int = 0
    """Place of the first of `steps` in the exercise."""


def lines_of(
    plan: Plan,
    states: Mapping[str, ItemState],
    sessions: Sequence[Session],
    register: Register,
) -> tuple[Line, ...]:
    """The lines of the week of `sessions`; `states` is how far each item is before it."""
    rows: dict[str, list[Session]] = {}
    for session in sessions:
        rows.setdefault(session.item, []).append(session)
    several = len({s.piece_id for s in sessions}) > 1
    kept: dict[str, list[Session]] = {}
    layers: dict[tuple[str, str], list[list[Session]]] = {}
    lines: list[tuple[_Order, Line]] = []
    for name, row in rows.items():
        item, state = plan.item(name), states.get(name)
        urgent = state is not None and state.urgent
        if item is None or urgent:
            lines.append((_priority(item, state, row), _line(plan, states, row, register)))
        elif all(s.role in ("review", "keep") for s in row):
            kept.setdefault(item.piece_id, []).extend(row)
        elif item.what == "section":
            layers.setdefault((item.piece_id, item.layer), []).append(row)
        else:
            lines.append((_priority(item, state, row), _line(plan, states, row, register)))
    for group in layers.values():
        first = group[0]
        order = _priority(plan.item(first[0].item), None, first)
        one = _line(plan, states, first, register)
        lines.append((order, one if len(group) == 1 else _sections(plan, group, one, register)))
    lines.sort(key=lambda r: r[0])
    again_lines = [_again(plan, row, register) for row in kept.values()]
    return tuple(
        _numbered(line, at, several)
        for at, line in enumerate([*(line for _, line in lines), *again_lines], start=1)
    )


def _sections(plan: Plan, rows: Sequence[Sequence[Session]], one: Line, register: Register) -> Line:
    """One line for one layer of several sections; `one` is that of the first of them."""
    work = plan.work(one.piece_id)
    places = [(work.sections[int(i.of)], r) for r in rows if (i := plan.item(r[0].item))]
    where = together([s.where for s, _ in places])
    if len(where) > LONGEST_WHERE:
        where = counted(len(places), "section")
    words = WORDS[register].get(one.layer, WORDS[register]["polish"])
    tempo, slow = (
        f" at {next(iter(row))}" if len(row) == 1 and "" not in row else ""
        for row in ({s.tempo for s, _ in places}, {s.slow_tempo for s, _ in places})
    )
    every = [s for row in rows for s in row]
    return replace(
        one,
        title=words.title.format(where=where),
        when=f"{time(every)} each: {'; '.join(f'{s.where} {days(row)}' for s, row in places)}",
        done_when=tidy(words.done_when.format(tempo=tempo, slow=slow)),
        boxes=len({s.day for s in every}),
        minutes=sum(s.minutes for s in every),
        first_bar=min(s.first_bar for s, _ in places),
        last_bar=max(s.last_bar for s, _ in places),
    )


def _again(plan: Plan, rows: Sequence[Session], register: Register) -> Line:
    """One line for all that comes back in the week, day by day."""
    work = plan.work(rows[0].piece_id)
    role: Role = "review" if any(s.role == "review" for s in rows) else "keep"
    days: list[Session] = []
    steps: list[PlanStep] = []
    bars: list[int] = []
    for day in sorted({s.day for s in rows}):
        places: dict[str, list[str]] = {}
        for session in (s for s in rows if s.day == day):
            item = plan.item(session.item)
            if item is not None:
                how, where = _place(work, item)
                places.setdefault(how, []).append(where)
                bars += item.bars
        text = "; ".join(
            f"{together(row)}{f', {how}' if how else ''}" for how, row in places.items()
        )
        steps.append(PlanStep(WEEKDAYS[day.weekday()], text, ""))
        minutes = sum(s.minutes for s in rows if s.day == day)
        days.append(Session(day, f"{work.piece_id}/{AGAIN}", work.piece_id, role, minutes))
    words = WORDS[register][AGAIN]
    return _made(
        work, days, kind="", layer=AGAIN, title=words.title, do=words.do, done=words.done_when,
        bars=(min(bars), max(bars)), steps=tuple(steps),
    )  # fmt: skip


def _place(work: PieceWork, item: Item) -> tuple[str, str]:
    """How an item comes back, and its bars: ``("from memory", "bars 1 to 8")``."""
    if item.what == "section":
        return LAYER_AGAIN.get(item.layer, ""), work.sections[int(item.of)].where
    return "", next(s.where for s in work.spots if s.id == item.of)


def _numbered(line: Line, at: int, several: bool) -> Line:
    return replace(line, number=at, piece=line.piece if several else "")


_Order = tuple[int, date, float, str]


def _priority(item: Item | None, state: ItemState | None, row: Sequence[Session]) -> _Order:
    """What matters most first: playing through in the last week, what went wrong, the spots, then the sections."""
    if item is None:
        return (0, row[0].day, 0.0, row[0].item)
    urgent = state is not None and state.urgent
    learned = any(s.role == "learn" for s in row)
    rank = 1 if urgent else 4 if not learned else 2 if item.what == "spot" else 3
    return (rank, row[0].day, -item.worth, item.id)


def _line(
    plan: Plan, states: Mapping[str, ItemState], row: Sequence[Session], register: Register
) -> Line:
    work = plan.work(row[0].piece_id)
    item = plan.item(row[0].item)
    if item is None:
        return _through(work, row, register)
    state = states.get(item.id, ItemState(item.id))
    if item.what == "spot":
        return _spot(work, item, state, row, register)
    return _section(work, item, state, row, register)


def _through(work: PieceWork, row: Sequence[Session], register: Register) -> Line:
    words = WORDS[register][THROUGH]
    return _made(
        work, row, kind="", layer=THROUGH, title=words.title, do=words.do, done=words.done_when,
        bars=(0, max((s.last_bar for s in work.sections), default=0)),
    )  # fmt: skip


def _section(
    work: PieceWork, item: Item, state: ItemState, row: Sequence[Session], register: Register
) -> Line:
    section = work.sections[int(item.of)]
    words = (
        WORDS[register][item.layer] if item.layer in WORDS[register] else WORDS[register]["polish"]
    )
    tempo = f" at {section.tempo}" if section.tempo else ""
    slow = f" at {section.slow_tempo}" if section.slow_tempo else ""
    return _made(
        work, row, kind="", layer=item.layer,
        title=words.title.format(where=section.where),
        do=_do(words.do, state, row, register),
        done=words.done_when.format(tempo=tempo, slow=slow),
        bars=(section.first_bar, section.last_bar),
    )  # fmt: skip


def _spot(
    work: PieceWork, item: Item, state: ItemState, row: Sequence[Session], register: Register
) -> Line:
    spot = next(s for s in work.spots if s.id == item.of)
    where = spot.where if spot.hand == "both" else f"{spot.where}, {hand_name(spot.hand)}"
    first, steps = steps_due(spot, item, state, row)
    exercise = spot.exercises[0] if spot.exercises else None
    title = exercise.title if exercise and any(s.role == "learn" for s in row) else spot.title
    shown = exercise.steps[first + max(len(steps), 1) - 1] if exercise and exercise.steps else None
    last = shown.done_when if shown else spot.done_when
    return _made(
        work, row, kind=spot.kind, layer="", title=f"{title} ({where})",
        do=_do("" if steps else SPOT_DO[register], state, row, register),
        done=last or WORDS[register]["polish"].done_when,
        bars=(exercise.first_bar, exercise.last_bar) if exercise else (spot.bars[0], spot.bars[-1]),
        steps=steps, first_step=first, spot_id=spot.id,
        technique=exercise.technique if exercise else "",
    )  # fmt: skip


def steps_due(
    spot: PlanSpot, item: Item, state: ItemState, row: Sequence[Session]
) -> tuple[int, tuple[PlanStep, ...]]:
    """The steps of the spot's first exercise that the week's practices come to, and the place of the first of them: as far
    as the minutes of learning go. For reviews none, and the place of the last, which is the passage as written.
    """
    steps = spot.exercises[0].steps if spot.exercises else ()
    if not steps:
        return 0, ()
    minutes = sum(s.minutes for s in row if s.role == "learn")
    if not minutes:
        return len(steps) - 1, ()
    before = min(state.learned / item.learn, 1.0)
    after = min((state.learned + minutes) / item.learn, 1.0)
    first = min(int(before * len(steps) + 1e-9), len(steps) - 1)
    end = max(ceil(after * len(steps) - 1e-9), first + 1)
    return first, steps[first:end]


def _do(words: str, state: ItemState, row: Sequence[Session], register: Register) -> str:
    if state.urgent:
        return f"{WENT_WRONG[register]} {words}".strip()
    return words if any(s.role == "learn" for s in row) else AGAIN_DO[register]


def _made(
    work: PieceWork,
    row: Sequence[Session],
    *,
    kind: str,
    layer: str,
    title: str,
    do: str,
    done: str,
    bars: tuple[int, int],
    steps: tuple[PlanStep, ...] = (),
    first_step: int = 0,
    spot_id: str = "",
    technique: str = "",
) -> Line:
    role: Role = next((s.role for s in row if s.role == "learn"), row[0].role)
    return Line(
        number=0, item=row[0].item, piece_id=work.piece_id, piece=work.title, role=role,
        kind=kind, layer=layer, title=title, when=when(row), do=do, steps=steps,
        done_when=tidy(done), boxes=len(row), minutes=sum(s.minutes for s in row),
        first_bar=bars[0], last_bar=bars[1], spot_id=spot_id, technique=technique,
        first_step=first_step,
    )  # fmt: skip
