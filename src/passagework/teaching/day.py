"""One day being filled: what is practised on it, within its minutes (the rules stand in `passagework.teaching.schedule`)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date

from passagework.teaching.course import Track
from passagework.teaching.items import Item
from passagework.teaching.mixing import mixed
from passagework.teaching.progress import ItemState, Role, Session

HASTE = 1.25
"""A piece claims a quarter more of each day than it needs on average, so that the last practices need not be crowded. A
planning value."""

OPEN_SHARE = 0.15
"""Share of every day for pieces without a performance date, so that they do not stand still. A planning value."""

REVIEWS_FIRST = 0.6
"""Share of a day that reviews may take before learning gets its turn. A planning value."""

_Offer = tuple[Item, Role, int]
"""What a piece offers to be practised: the item, as what, and for how many minutes."""


class Day:
    """One day being filled."""

    def __init__(
        self,
        day: int,
        minutes: int,
        tracks: Sequence[Track],
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
            self._review(self.left, urgent=True)
        self._review(self._for_reviews())
        self._rounds(lambda track, most: next(self._learning(track, most), None), self.left)
        self._review(self.left)
        if not keep:
            return [session for _, session in self.sessions]
        self._review(self.left, keep=True)
        return mixed(self.sessions)

    def _review(self, most: int, urgent: bool = False, keep: bool = False) -> None:
        """Reviews while they fit into `most` minutes."""
        rows = {t.course.piece_id: self._reviews(t, urgent, keep) for t in self.tracks}
        self._rounds(
            lambda track, room: next(
                (o for o in rows[track.course.piece_id] if o[2] <= room), None
            ),
            most,
        )

    def _for_reviews(self) -> int:
        """Minutes that reviews may take before learning gets its turn; enough for the longest of them."""
        if not any(t.left > 0 and self.day < t.course.last_week for t in self.tracks):
            return self.left
        longest = max((i.review for row in self.due.values() for i in row), default=0)
        return max(int(self.minutes * REVIEWS_FIRST), longest)

    def _rounds(self, offer: Callable[[Track, int], _Offer | None], most: int) -> None:
        """Let the piece that has had least of its share choose, until nothing fits any more."""
        most = min(most, self.left)
        open_ = list(self.tracks)
        while open_ and most > 0:
            track = min(open_, key=self._balance) if len(open_) > 1 else open_[0]
            chosen = offer(track, most)
            if chosen is None:
                open_.remove(track)
                continue
            most -= chosen[2]
            self._take(track, *chosen)

    def _balance(self, track: Track) -> float:
        """Minutes that the piece has had beyond its share."""
        return self.given[track.course.piece_id] - self.share[track.course.piece_id]

    def _take(self, track: Track, item: Item, role: Role, minutes: int) -> None:
        self.new -= _is_new(item, track.states[item.id])
        self.sessions.append((item, track.practise(item, role, minutes, self.day)))
        self.done.add(item.id)
        self.left -= minutes
        self.given[item.piece_id] += minutes

    def _through(self, track: Track) -> None:
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

    def _reviews(self, track: Track, urgent: bool, keep: bool) -> Iterator[_Offer]:
        """Reviews that are due, the latest first; with `keep`, of what is safe."""
        role: Role = "keep" if keep else "review"
        for item in self.due[track.course.piece_id]:
            state = track.states[item.id]
            needed = state.reviewed < item.reviews + state.again
            if item.id in self.done or needed == keep or (urgent and not state.urgent):
                continue
            if not (keep and track.rests_in_another(item)):
                yield item, role, item.review

    def _learning(self, track: Track, most: int) -> Iterator[_Offer]:
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

    def _may_begin(self, track: Track, item: Item) -> bool:
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
