"""Whether the time suffices; what to leave out where it does not; and which day would do."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from passagework.teaching.course import Course, minutes_left
from passagework.teaching.items import Item
from passagework.teaching.progress import ItemState, Session

Run = Callable[[Sequence[Course]], tuple[Session, ...]]
"""Makes the schedule of some courses."""

MILD = 0.35
"""Importance below which a spot is left out before anything else: such places are not in the short list either
(`passagework.spots.find.LISTED_FROM`)."""

ROUNDS = 6
"""How often more is left out until the rest is whole."""

FEW_REVIEWS = 0.05
"""Share of what is needed that may be lacking in reviews before anything is left out for it. A planning value."""

MOST_WEEKS = 104
"""Weeks by which a performance is moved in search of a day that would do, at most."""

MOST_TRIALS = 10
"""Schedules that are tried to see what can go back in after all."""


def needed(course: Course, states: Mapping[str, ItemState]) -> int:
    """Minutes that `course` still needs in all."""
    return sum(minutes_left(i, states.get(i.id, ItemState(i.id))) for i in course.items)


def placed(course: Course, sessions: Iterable[Session]) -> int:
    """Minutes of what is needed that have found a day."""
    return sum(
        s.minutes
        for s in sessions
        if s.piece_id == course.piece_id and s.role in ("learn", "review")
    )


@dataclass(frozen=True)
class Judge:
    """Judges schedules of courses that are this far."""

    states: Mapping[str, ItemState]
    run: Run
    start: int
    """Ordinal of the day from which on it is planned."""

    def lacking(self, course: Course, sessions: Iterable[Session]) -> int:
        """Minutes of `course` that have found no day; always 0 for a piece without a performance."""
        if not course.dated:
            return 0
        return needed(course, self.states) - placed(course, sessions)

    def trimmed(
        self, courses: Sequence[Course], sessions: tuple[Session, ...], short: Sequence[str]
    ) -> list[Course]:
        """`courses` with what has to be left out of the `short` ones taken out."""
        kept = list(courses)
        for _ in range(ROUNDS):
            cut = [
                self._without(c, self.lacking(c, sessions))
                if c.piece_id in short and not self.good_enough(c, sessions)
                else c
                for c in kept
            ]
            if cut == kept:
                break
            tried = self.run(cut)
            if any(self.lacking(c, tried) for c in cut if c.piece_id not in short):
                break  # what is whole must not pay for what is short
            kept, sessions = cut, tried
        return self._taken_back(courses, kept, sessions, short)

    def good_enough(self, course: Course, sessions: Iterable[Session]) -> bool:
        """Whether all of `course` is learned, and no more than a few reviews are lacking."""
        own = [s for s in sessions if s.piece_id == course.piece_id]
        to_learn = sum(
            max(i.learn - self.states.get(i.id, ItemState(i.id)).learned, 0) for i in course.items
        )
        learned = sum(s.minutes for s in own if s.role == "learn")
        lacking = self.lacking(course, own)
        return learned >= to_learn and lacking <= FEW_REVIEWS * needed(course, self.states)

    def _taken_back(
        self,
        courses: Sequence[Course],
        kept: list[Course],
        sessions: tuple[Session, ...],
        short: Sequence[str],
    ) -> list[Course]:
        """What was left out and finds room after all goes back in, what matters most first."""
        gone = [
            item
            for course, cut in zip(courses, kept, strict=True)
            for item in reversed(leave_out_order(course, self.states))
            if item.id not in {i.id for i in cut.items}
        ]
        waiting = [gone] if gone else []
        for _ in range(MOST_TRIALS):
            if not waiting:
                break
            part = waiting.pop()
            back = {i.id for i in part} | {i.id for c in kept for i in c.items}
            tried = [only(c, back) for c in courses]
            run = self.run(tried)
            worse = sum(self.lacking(c, run) for c in tried) > sum(
                self.lacking(c, sessions) for c in kept
            )
            if not worse or all(
                self.good_enough(c, run) if c.piece_id in short else not self.lacking(c, run)
                for c in tried
            ):
                kept, sessions = tried, run
            elif len(part) > 1:
                half = len(part) // 2
                waiting += [part[half:], part[:half]]
        return kept

    def _without(self, course: Course, minutes: int) -> Course:
        """`course` without what matters least, as many minutes of it as that."""
        gone: set[str] = set()
        for item in leave_out_order(course, self.states):
            if minutes <= 0:
                break
            gone.add(item.id)
            minutes -= item.needed
        if not gone:
            return course
        return only(course, {i.id for i in course.items} - gone)

    def enough(
        self, courses: Sequence[Course], short: Sequence[str], weekly: int
    ) -> dict[str, int]:
        """For each piece that is short by how many weeks its performance would have to be later, if all of them
        may be; empty where two years of `weekly` minutes would not do.
        """
        wanted = sum(needed(c, self.states) for c in courses if c.piece_id in short)
        longest = max((c.last_week for c in courses), default=0) + 7 * MOST_WEEKS - self.start
        if wanted > weekly * (longest / 7 + 1):
            return {}
        upper = 1
        while not self._suffices(courses, dict.fromkeys(short, upper)):
            upper *= 2
            if upper > MOST_WEEKS:
                return {}
        weeks = dict.fromkeys(short, upper)
        for names in (short, *((name,) for name in short if len(short) > 1)):
            low, high = 0, weeks[names[0]]
            while high - low > 1:
                middle = (low + high) // 2
                if self._suffices(courses, weeks | dict.fromkeys(names, middle)):
                    high = middle
                else:
                    low = middle
            weeks |= dict.fromkeys(names, high)
        return weeks

    def _suffices(self, courses: Sequence[Course], weeks: Mapping[str, int]) -> bool:
        moved = [c.later(7 * weeks.get(c.piece_id, 0)) for c in courses]
        sessions = self.run(moved)
        return all(self.lacking(c, sessions) == 0 for c in moved if c.piece_id in weeks)


def only(course: Course, names: Collection[str]) -> Course:
    """`course` with those items only; what came after one that is left out comes after what that one came after."""
    items = {i.id: i for i in course.items}

    def before(name: str) -> tuple[str, ...]:
        if name in names or name not in items:
            return (name,)
        return tuple(n for b in items[name].after for n in before(b))

    kept = (
        replace(i, after=tuple(n for b in i.after for n in before(b)))
        for i in course.items
        if i.id in names
    )
    return replace(course, items=tuple(kept))


def leave_out_order(course: Course, states: Mapping[str, ItemState]) -> list[Item]:
    """What may be left out, first what matters least: mild spots; learning by heart; the other spots from the mildest on;
    polish; the full tempo. Hands and notes of every section stay, and so does what is begun.
    """
    groups: list[list[Item]] = [[], [], [], [], []]
    for item in course.items:
        if states.get(item.id, ItemState(item.id)).begun is not None:
            continue
        if item.what == "spot":
            groups[0 if item.worth < MILD else 2].append(item)
        elif item.layer in _LAYER_GROUP:
            groups[_LAYER_GROUP[item.layer]].append(item)
    return [i for group in groups for i in sorted(group, key=lambda i: (i.worth, -i.order, i.id))]


_LAYER_GROUP = {"memory": 1, "polish": 3, "tempo": 4}
