"""Day by day: which item is practised when, within the minutes of each day.

Rules, which hold for every schedule
------------------------------------
* No day holds more minutes than it has, and an item is practised at most once a day.
* An item is begun when what comes before it is learned, reviewed when it is learned, and never sooner than its gap
  allows (`gap_days`), unless it went wrong.
* Nothing stands on the day of the performance or after it. In the last days before it (`Settings.last_week_days`) the piece
  is played through, and what was learned is reviewed; nothing is learned any more.
* Pieces share a day's minutes by what each still needs for each day it has left.

How a day is filled: first what went wrong; then reviews that are due, up to `REVIEWS_FIRST` of the day while there is something to
learn; then learning, what was begun before what is new, the hardest and most recurrent first, spots and sections in step; then
the other reviews; then what is safe already, to keep it (of a section its farthest layer). Last the practices are mixed (`mixed`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from passagework.teaching.items import Item
from passagework.teaching.progress import ItemState, Role, Session, practised
from passagework.teaching.settings import Settings

HASTE = 1.25
"""A piece claims a quarter more of each day than it needs on average, so that the last practices need not be crowded. A
planning value."""

OPEN_SHARE = 0.15
"""Share of every day for pieces without a performance date, so that they do not stand still. A planning value."""

REVIEWS_FIRST = 0.6
"""Share of a day that reviews may take before learning gets its turn. A planning value."""

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


def schedule(
    courses: Sequence[Course],
    states: Mapping[str, ItemState],
    day_minutes: Sequence[int],
    start: date,
    settings: Settings,
    *,
    new_a_day: int,
    days_off: Collection[date] = (),
    keep: bool = True,
) -> tuple[Session, ...]:
    """The practices of all `courses` from `start` on, in order of days and, within a day, as they are to be played.

    `day_minutes` are those of the weekdays, Monday first. Without `keep` it ends when all that is needed has found its
    day: what keeps safe things safe is left away, which changes nothing else.
    """
    tracks = [_Track(course, states, settings) for course in courses]
    first, last = start.toordinal(), max((c.end for c in courses), default=0)
    off = {day.toordinal() for day in days_off}
    minutes = {day: 0 if day in off else day_minutes[(day + 6) % 7] for day in range(first, last)}
    room = {c.piece_id: sum(minutes[d] for d in range(first, c.last_week)) for c in courses}
    sessions: list[Session] = []
    for day in range(first, last):
        if not keep and all(t.left <= 0 for t in tracks):
            break
        if minutes[day] > 0:
            sessions += _Day(day, minutes[day], tracks, new_a_day, room).fill(keep)
            room = {name: left - minutes[day] for name, left in room.items()}
    return tuple(sessions)


_Offer = tuple[Item, Role, int]
"""What a piece offers to be practised: the item, as what, and for how many minutes."""


class _Track:
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


def minutes_left(item: Item, state: ItemState) -> int:
    """Minutes that `item` still needs."""
    reviews = max(item.reviews + state.again - state.reviewed, 0)
    return max(item.learn - state.learned, 0) + reviews * item.review


class _Day:
    """One day being filled."""

    def __init__(
        self,
        day: int,
        minutes: int,
        tracks: Sequence[_Track],
        new_a_day: int,
        room: Mapping[str, int],
    ) -> None:
        self.day = day
        self.minutes = minutes
        self.left = minutes
        self.new = new_a_day
        self.tracks = [t for t in tracks if day < t.course.end]
        self.given = {t.course.piece_id: 0 for t in self.tracks}
        self.share = self._shares(room)
        self.due = {t.course.piece_id: t.due_for_review(day) for t in self.tracks}
        self.done: set[str] = set()
        self.sessions: list[tuple[Item | None, Session]] = []

    def _shares(self, room: Mapping[str, int]) -> dict[str, float]:
        """Minutes of the day that each piece may claim.

        A piece with a performance claims what it still needs, spread over the minutes that it has left (`room`), with
        a margin; one without takes what the others leave, and a little of every day.
        """
        claims: dict[str, float] = {}
        for track in self.tracks:
            name, left = track.course.piece_id, max(track.left, 0) + track.course.through
            claims[name] = self.minutes * HASTE * left / max(room[name], self.minutes)
        dated = [t.course.piece_id for t in self.tracks if t.course.dated]
        loose = [n for n in claims if n not in dated]
        free = self.minutes * (1.0 - (OPEN_SHARE if loose else 0.0))
        asked = sum(claims[n] for n in dated)
        if asked > free:
            claims |= {n: claims[n] * free / asked for n in dated}
        rest = self.minutes - min(asked, free)
        return claims | {n: rest / len(loose) for n in loose}

    def fill(self, keep: bool) -> list[Session]:
        for track in self.tracks:
            if self.day >= track.course.last_week:
                self._through(track)
        if any(t.states[i.id].urgent for t in self.tracks for i in self.due[t.course.piece_id]):
            self._rounds(lambda t, most: self._reviews(t, most, urgent=True), self.left)
        self._rounds(self._reviews, self._for_reviews())
        self._rounds(self._learning, self.left)
        self._rounds(self._reviews, self.left)
        if not keep:
            return [session for _, session in self.sessions]
        self._rounds(lambda t, most: self._reviews(t, most, keep=True), self.left)
        return mixed(self.sessions)

    def _for_reviews(self) -> int:
        """Minutes that reviews may take before learning gets its turn; enough for the longest of them."""
        if not any(t.left > 0 and self.day < t.course.last_week for t in self.tracks):
            return self.left
        longest = max((i.review for row in self.due.values() for i in row), default=0)
        return max(int(self.minutes * REVIEWS_FIRST), longest)

    def _rounds(self, offers: Callable[[_Track, int], Iterable[_Offer]], most: int) -> None:
        """Let the piece that has had least of its share choose, until nothing fits any more."""
        most = min(most, self.left)
        open_ = list(self.tracks)
        while open_ and most > 0:
            track = min(open_, key=self._balance) if len(open_) > 1 else open_[0]
            chosen = next(iter(offers(track, most)), None)
            if chosen is None:
                open_.remove(track)
                continue
            most -= chosen[2]
            self._take(track, *chosen)

    def _balance(self, track: _Track) -> float:
        """Minutes that the piece has had beyond its share."""
        return self.given[track.course.piece_id] - self.share[track.course.piece_id]

    def _take(self, track: _Track, item: Item, role: Role, minutes: int) -> None:
        self.new -= _is_new(item, track.states[item.id])
        self.sessions.append((item, track.practise(item, role, minutes, self.day)))
        self.done.add(item.id)
        self.left -= minutes
        self.given[item.piece_id] += minutes

    def _through(self, track: _Track) -> None:
        """Playing through, as far as the minutes go; pieces that are all in their last week share them."""
        share = max(int(self.share[track.course.piece_id]), 1)
        minutes = min(track.course.through, self.left, max(share, self.minutes // 2))
        if minutes > 0:
            name = track.course.piece_id
            session = Session(
                date.fromordinal(self.day), f"{name}/through", name, "through", minutes
            )
            self.sessions.append((None, session))
            self.left -= minutes
            self.given[name] += minutes

    def _reviews(
        self, track: _Track, most: int, urgent: bool = False, keep: bool = False
    ) -> Iterator[_Offer]:
        """Reviews that are due, the latest first; with `keep`, of what is safe."""
        role: Role = "keep" if keep else "review"
        for item in self.due[track.course.piece_id]:
            state = track.states[item.id]
            needed = state.reviewed < item.reviews + state.again
            fits = item.review <= most and item.id not in self.done
            if keep and track.rests_in_another(item):
                continue
            if fits and needed != keep and (state.urgent or not urgent):
                yield item, role, item.review

    def _learning(self, track: _Track, most: int) -> Iterator[_Offer]:
        """What is begun and not yet learned, then what is new."""
        if self.day >= track.course.last_week:
            return
        new: list[tuple[float, Item]] = []
        for what, queue in track.queues.items():
            for item in queue:
                state = track.states[item.id]
                if item.id in self.done:
                    continue
                if state.begun is None:
                    if self._may_begin(track, item):
                        new.append((track.learned[what] / track.total[what], item))
                        break  # the first of the queue that may be begun
                elif track.next[item.id] <= self.day:
                    minutes = _practice(item, state, most)
                    if minutes:
                        yield item, "learn", minutes
        for _, item in sorted(new, key=lambda r: r[0]):
            minutes = _practice(item, track.states[item.id], most)
            if minutes:
                yield item, "learn", minutes

    def _may_begin(self, track: _Track, item: Item) -> bool:
        if self.new <= 0 and _is_new(item, track.states[item.id]):
            return False
        return all(track.learnt(name) and name not in self.done for name in item.after)


def _is_new(item: Item, state: ItemState) -> bool:
    """Whether practising `item` is to begin something new: a spot or a section, not a further layer of one."""
    return state.begun is None and not item.after


def _practice(item: Item, state: ItemState, most: int) -> int:
    """Minutes of the next practice: what is left, in equal parts, or what the day has; 0 where that is too short.

    No part is left over that would be too short to practise.
    """
    left = item.learn - state.learned
    least = min(item.shortest, left)
    minutes = min(max(-(-left // -(-left // item.session)), least), most)
    if 0 < left - minutes < item.shortest and left - item.shortest >= least:
        minutes = min(minutes, left - item.shortest)
    return minutes if minutes >= least else 0


def mixed(rows: Sequence[tuple[Item | None, Session]]) -> list[Session]:
    """The practices of one day in the order in which they are to be played: no two of one kind or piece in a row where that
    can be helped (mixed practice is kept better than practice in blocks: Rohrer, 2012), new things while the student
    is fresh, playing through last.
    """
    through = [s for item, s in rows if item is None]
    rest = sorted(
        ((item, s) for item, s in rows if item is not None),
        key=lambda r: (r[1].role != "learn", -r[0].worth, r[0].id),
    )
    order: list[Session] = []
    before: Item | None = None
    while rest:
        at = min(range(len(rest)), key=lambda i: (_alike(before, rest[i][0]), i))
        before, session = rest.pop(at)
        order.append(session)
    return [*order, *through]


def _alike(one: Item | None, other: Item) -> int:
    """How much two items have in common, to be kept apart."""
    if one is None:
        return 0
    same = (one.what, one.layer, one.kind) == (other.what, other.layer, other.kind)
    return 2 * same + (one.piece_id == other.piece_id)


def through_minutes(seconds: float) -> int:
    """Minutes for playing through music of that length."""
    return max(ceil(seconds * THROUGH_MARGIN / 60.0 - 1e-9), 1)
