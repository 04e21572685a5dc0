"""Bars as written: lengths, metres, signatures, bar lines, repeats and endings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from passagework.score.markup import Element
from passagework.score.metre import COMMON_TIME, read_time
from passagework.score.numbers import number
from passagework.score.piece import Bar, KeySignature
from passagework.score.warnings import Warnings

MOST_REPEATS = 8
"""Times that a repeat is believed to be taken."""

SLACK = Fraction(1, 48)
"""Quarters by which a bar may miss its length before it is worth a warning: rounding, not music."""


class BarReader:
    """Collects bars in order; `open`, then `attributes` and `barline` as they come, then `close`."""

    def __init__(self, warnings: Warnings) -> None:
        self.warnings = warnings
        self._bars: list[Bar] = []
        self._implicit: set[int] = set()
        self._keys: list[KeySignature] = []
        self._time = COMMON_TIME
        self._fifths = 0
        self._mode: str | None = None
        self._endings: tuple[int, ...] = ()
        self._ending_closes = False
        self._now: Bar | None = None
        self.excused: frozenset[int] = frozenset()
        """Bars at whose edges a tie may lead across a repeat (known after `finish`)."""

    @property
    def keys(self) -> tuple[KeySignature, ...]:
        """Key signatures so far, one at each change."""
        return tuple(self._keys)

    @property
    def nominal(self) -> Fraction:
        """Length of a full bar in the metre in force, in quarters."""
        return self._time.length

    def open(self, index: int, measure: Element, onset: Fraction) -> None:
        """Begin the bar of `measure`."""
        if measure.get("implicit") == "yes":
            self._implicit.add(index)
        self._now = Bar(
            index,
            (measure.get("number") or "").strip()[:12],
            onset,
            Fraction(0),
            self._time,
            self._fifths,
            self._mode,
        )

    def attributes(self, node: Element, onset: Fraction, *, at_start: bool) -> None:
        """Read metre and key signature; at the bar line they hold for this bar already."""
        assert self._now is not None
        for time in node.findall("time")[:1]:
            metre = read_time(time, self._time)
            if metre is None:
                self.warnings.add(
                    "a time signature is none that is used; the last one kept", self._now.label
                )
            self._time = metre or self._time
        keys = node.findall("key")
        if keys:
            self._key(keys[0], onset)
        if at_start:
            self._now = replace(self._now, time=self._time, fifths=self._fifths, mode=self._mode)

    def _key(self, node: Element, onset: Fraction) -> None:
        assert self._now is not None
        fifths = number(node.findtext("fifths"))
        if fifths is None or fifths.denominator != 1 or abs(fifths) > 7:
            if node.find("key-step") is not None or fifths is not None:
                self.warnings.add("a key signature is none that is used; ignored", self._now.label)
            return
        mode = (node.findtext("mode") or "").strip().lower() or None
        mode = mode if mode in {"major", "minor"} else None
        if not self._keys or (int(fifths), mode) != (self._keys[-1].fifths, self._keys[-1].mode):
            self._keys.append(KeySignature(onset, self._now.index, int(fifths), mode))
        self._fifths, self._mode = int(fifths), mode

    def barline(self, node: Element) -> None:
        """Read a bar line: repeat signs, endings, style."""
        assert self._now is not None
        left = node.get("location", "right") == "left"
        repeat = node.find("repeat")
        if repeat is not None:
            if repeat.get("direction") == "forward":
                self._now = replace(self._now, repeat_start=True)
            elif repeat.get("direction") == "backward":
                times = number(repeat.get("times", "2"))
                count = int(times) if times and 2 <= times <= MOST_REPEATS else 2
                self._now = replace(self._now, repeat_end=count)
        for ending in node.findall("ending"):
            if ending.get("type") == "start":
                self._endings = _ending_numbers(ending.get("number", "1"))
                self._ending_closes = False
            elif ending.get("type") in {"stop", "discontinue"}:
                self._ending_closes = True
        style = (node.findtext("bar-style") or "").strip()
        if style and not left:
            self._now = replace(self._now, barline=style[:20])

    def close(self, length: Fraction) -> None:
        """End the bar, which is `length` quarters long."""
        assert self._now is not None
        self._bars.append(replace(self._now, length=length, endings=self._endings))
        if self._ending_closes:
            self._endings, self._ending_closes = (), False

    def finish(self) -> tuple[Bar, ...]:
        """All bars, with the pickup recognised and odd lengths reported."""
        bars = self._bars
        if bars and len(bars) > 1 and Fraction(0) < bars[0].length < bars[0].time.length:
            bars[0] = replace(bars[0], pickup=True)
        for bar in bars:
            self._check_length(bar, bars)
        self._check_numbers(bars)
        self.excused = _edges(bars)
        if not self._keys:
            self._keys.append(KeySignature(Fraction(0), 0, 0, None))
        return tuple(bars)

    def _check_length(self, bar: Bar, bars: Sequence[Bar]) -> None:
        nominal = bar.time.length
        if abs(bar.length - nominal) <= SLACK or not bar.time.printed or bar.pickup:
            return
        if bar.length > nominal:
            if bar.index not in self._implicit:
                self.warnings.add(
                    "holds more than its time signature says; read as written", bar.label
                )
            return
        if bar.index in self._implicit or _completes_another(bar, bars):
            return
        self.warnings.add("holds less than its time signature says; read as written", bar.label)

    def _check_numbers(self, bars: Sequence[Bar]) -> None:
        seen: set[str] = set()
        for bar in bars:
            again = bool(bar.number) and bar.number in seen
            if again and bar.index not in self._implicit and not bar.endings:
                self.warnings.add(
                    "the number is used for more than one bar; bars are told apart by their place",
                    bar.number,
                )
            seen.add(bar.number)


def _completes_another(bar: Bar, bars: Sequence[Bar]) -> bool:
    """Whether a short bar makes up a full one with a short neighbour, or with the pickup at a repeat."""
    nominal = bar.time.length
    before = bars[bar.index - 1] if bar.index else None
    after = bars[bar.index + 1] if bar.index + 1 < len(bars) else None
    for other in (before, after):
        if other is not None and bar.length + other.length == nominal:
            return True
    pickup = bars[0].length if bars[0].pickup else None
    at_join = after is None or bar.repeat_end > 0 or bar.repeat_start or bool(bar.endings)
    at_join = at_join or bar.barline in {"light-light", "light-heavy", "heavy-light"}
    return at_join and pickup is not None and bar.length + pickup == nominal


def _edges(bars: Sequence[Bar]) -> frozenset[int]:
    edges: set[int] = set()
    for bar in bars:
        if bar.endings or bar.repeat_start or bar.repeat_end:
            edges.update((bar.index - 1, bar.index, bar.index + 1))
    return frozenset(edges)


def _ending_numbers(text: str) -> tuple[int, ...]:
    """Numbers of an ending: ``"1"``, ``"1, 2"``, ``"1-3"``, ``"1."``."""
    numbers: list[int] = []
    for low, high in re.findall(r"(\d{1,2})(?:\s*-\s*(\d{1,2}))?", text):
        numbers += range(int(low), min(int(high or low), int(low) + MOST_REPEATS) + 1)
    return tuple(sorted({n for n in numbers if 0 < n <= MOST_REPEATS})) or (1,)
