"""Where the playing stopped, and where it was taken up again.

Conventions
-----------
* A *stop* is the end of a pass that is not the end of the piece and after which the page does not lead to where the next
  pass begins: a written repeat, an ending, a da capo is no stop.
* *Taken up again* at a bar that was played just before, it is a restart; further ahead, a skip. The last pass may just end:
  that is told only where another pass of the take went further.
* Stops are gathered by the bar in which they happen: three stops in bar 12 are one place that is not safe.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from passagework.listening.behind import NAMES, kinds_at
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.heard import Heard
from passagework.score.piece import Note, sort_key
from passagework.spots.spot import Evidence
from passagework.spots.words_of import listed, seconds, times

NEAR_BARS = 1
"""Stops in neighbouring bars are one place: the hand breaks off a beat sooner or later."""

SHORTEST = 3
"""Matched notes of a pass below which it is a slip of the alignment rather than a start."""


SKIPPED = 2
"""Attacks that may be missing where one pass leads into the next as the page says."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop after pass `run`."""

    run: int
    last: Note
    """The last note that was played."""
    onward: Note
    """The first note of the next pass."""
    pause: float
    """Seconds from the last stroke to the next one."""

    @property
    def back(self) -> bool:
        """Whether it was taken up further back, or at the same place."""
        return self.onward.onset <= self.last.onset


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each place at which the playing stopped."""
    row = sorted(_stops(heard), key=lambda s: s.last.bar)
    places: list[list[Stop]] = []
    for stop in row:
        if (
            places
            and stop.last.bar <= places[-1][0].last.bar + NEAR_BARS
            and stop.back == places[-1][0].back
        ):
            places[-1].append(stop)
        else:
            places.append([stop])
    for stops in places:
        yield _finding(heard, stops)


def _stops(heard: Heard) -> Iterable[Stop]:
    links = _links(heard)
    passes = [
        (run, sorted(row, key=lambda m: m.played))
        for run, row in enumerate(heard.alignment.by_pass)
        if len(row) >= SHORTEST
    ]
    for (run, row), (_, after) in pairwise(passes):
        last = max((heard.note(m) for m in row[-SHORTEST:]), key=lambda n: sort_key(n.onset))
        onward = min((heard.note(m) for m in after[:SHORTEST]), key=lambda n: sort_key(n.onset))
        if any(
            (end, onward.bar + ahead) in links
            and _gap(heard, last, onward, end, onward.bar + ahead) <= SKIPPED
            for end in range(last.bar, last.bar + SHORTEST)
            for ahead in (0, -1)
        ):
            continue
        pause = heard.stroke(after[0]).onset - heard.stroke(row[-1]).onset
        yield Stop(run, last, onward, pause)


def _links(heard: Heard) -> set[tuple[int, int]]:
    """Bars that follow each other in the written order of playing, and repeats left out."""
    order = heard.piece.playing_order or tuple(range(len(heard.piece.bars)))
    links = set(pairwise(order))
    links |= {(order[-1], order[0])} if order else set()
    ends = [b.index for b in heard.piece.bars if b.repeat_end]
    links |= {(end, end + 1) for end in ends}
    return links | _past_endings(heard)


def _past_endings(heard: Heard) -> set[tuple[int, int]]:
    """From the bar before a first ending to the bar of each later one: where a repeat is left out."""
    bars = heard.piece.bars
    links: set[tuple[int, int]] = set()
    for bar in bars:
        if bar.endings and bar.index and not bars[bar.index - 1].endings:
            later = bar.index
            while later < len(bars) and bars[later].endings:
                if bars[later].endings != bars[later - 1].endings:
                    links.add((bar.index - 1, later))
                later += 1
    return links


def _gap(heard: Heard, last: Note, onward: Note, end: int, start: int) -> int:
    """Attacks left out between two notes where the page leads from the end of bar `end` to the start of bar `start`."""
    bars = heard.piece.notes_of_bar
    left = {
        n.onset
        for b in range(last.bar, min(end + 1, len(bars)))
        for n in bars[b]
        if n.onset > last.onset and not n.grace
    }
    skipped = {
        n.onset
        for b in range(max(start, 0), onward.bar + 1)
        for n in bars[b]
        if n.onset < onward.onset and not n.grace
    }
    return len(left) + len(skipped)


def _finding(heard: Heard, stops: list[Stop]) -> Finding:
    first = stops[0]
    often = len(stops)
    context = heard.context
    bars = sorted({s.last.bar for s in stops})
    onward = Counter(s.onward.bar for s in stops).most_common()
    next_notes = _next_notes(heard, first.last)
    kinds = kinds_at(heard, [n.id for n in next_notes])
    to = listed([context.bar_names([b]) for b, _ in sorted(onward)])
    where = context.bar_names(bars)
    if first.back:
        told = f"The playing stops in {where} and starts again from {to}"
        told += f" ({times(often)})." if often > 1 else "."
    else:
        told = f"The playing stops in {where} and goes on from {to}"
        told += f" ({times(often)})." if often > 1 else "."
    if kinds:
        told += f" What comes next in the music: {listed([NAMES[k] for k in kinds[:2]])}."
    longest = max(s.pause for s in stops)
    return Finding(
        "stops",
        bars[0],
        bars[-1],
        "both",
        tuple(dict.fromkeys([s.last.id for s in stops] + [n.id for n in next_notes])),
        (
            Evidence("times", often, "", "passes that end where the page goes on"),
            Evidence("taken up again in", to),
            Evidence("longest pause", round(longest, 2), "s"),
        ),
        f"{told} The longest pause is {seconds(longest)}." if longest >= 1.0 else told,
        _advice(heard, first, bars[-1]),
        min(0.75 + 0.1 * (often - 1), 0.95),
        min(0.45 + 0.15 * often, 0.95),
        tuple(s.run for s in stops),
        (),
        kinds or ("near-repeats",),
    )  # fmt: skip


def _next_notes(heard: Heard, last: Note) -> list[Note]:
    """What is written at the first attack after a note."""
    rows: dict[float, list[Note]] = defaultdict(list)
    for index in (last.bar, last.bar + 1):
        if index < len(heard.piece.bars):
            for note in heard.piece.notes_of_bar[index]:
                if note.onset > last.onset and not note.grace:
                    rows[sort_key(note.onset)].append(note)
    return rows[min(rows)] if rows else []


def _advice(heard: Heard, stop: Stop, bar: int) -> str:
    name = heard.context.bar_names([bar])
    if stop.back:
        return f"Make {name} a starting place: begin there, on its own, and go back one bar more each time."
    return f"Play the bars that were left out by themselves, then join them to {name}."


KIND = FindingKind("stops", "stops and new starts", find)
