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

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from passagework.teaching.course import Course, Track
from passagework.teaching.day import Day
from passagework.teaching.progress import ItemState, Session
from passagework.teaching.settings import Settings


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
    tracks = [Track(course, states, settings) for course in courses]
    first, last = start.toordinal(), max((c.end for c in courses), default=0)
    off = {day.toordinal() for day in days_off}
    minutes = {day: 0 if day in off else day_minutes[(day + 6) % 7] for day in range(first, last)}
    room = {c.piece_id: sum(minutes[d] for d in range(first, c.last_week)) for c in courses}
    sessions: list[Session] = []
    for day in range(first, last):
        if not keep and all(t.left <= 0 for t in tracks):
            break
        if minutes[day] > 0:
            sessions += Day(day, minutes[day], tracks, new_a_day, room).fill(keep)
            room = {name: left - minutes[day] for name, left in room.items()}
    return tuple(sessions)
