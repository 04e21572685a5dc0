"""Collects what acts on loudness: signs, words and hairpins, and which staff each is for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from passagework.analysis.loudness_levels import read_sign
from passagework.analysis.marks import Mark
from passagework.analysis.terms_effects import Effect
from passagework.score.piece import Piece, Position


@dataclass(frozen=True, slots=True)
class LoudnessEvent:
    """One thing that acts on loudness from `onset` on."""

    onset: Position
    bar: int
    id: str
    kind: Literal["level", "step", "change"]
    staves: frozenset[int]
    level: float = 0.0
    """The level that is set."""
    size: float = 1.0
    """Degree of a step or a change."""
    direction: int = 0
    end: Position | None = None
    """Where a hairpin ends; None for a word, which lasts until something else is written."""
    until: float | None = None
    """Level that the words name as the goal."""
    gradual: bool = False


@dataclass(frozen=True, slots=True)
class Accent:
    """A louder attack at one position."""

    onset: Position
    staff: int
    id: str
    steps: float = 0.0
    level: float | None = None


def loudness_events(
    piece: Piece, marks: Sequence[Mark]
) -> tuple[list[LoudnessEvent], list[Accent]]:
    """Events in order, and accents. A mark is for both staves unless the other staff has another at the
    same place: most editions print one sign between the staves for both hands.
    """
    events: list[LoudnessEvent] = []
    accents: list[Accent] = []
    every = frozenset(range(1, piece.staves + 1))
    for dynamic in piece.dynamics:
        sign = read_sign(dynamic.text)
        if sign is None:
            continue
        if sign.attack_steps or sign.attack_level is not None:
            accents.append(
                Accent(
                    dynamic.onset, dynamic.staff, dynamic.id, sign.attack_steps, sign.attack_level
                )
            )
        if sign.level is not None:
            events.append(
                LoudnessEvent(
                    dynamic.onset, dynamic.bar, dynamic.id, "level", frozenset({dynamic.staff}), sign.level,
                )
            )  # fmt: skip
    for mark in marks:
        levels = 0
        for effect in mark.phrase.of("loudness"):
            levels += effect.kind == "state"
            if effect.kind != "state" or levels == 1:  # "p - f" is p the first time
                _word(effect, mark, events, accents)
    events += [
        LoudnessEvent(
            pin.onset, pin.bar, pin.id, "change", frozenset({pin.staff}), end=pin.end,
            direction=1 if pin.kind == "crescendo" else -1,
        )
        for pin in piece.hairpins
    ]  # fmt: skip
    events.sort(key=lambda e: (e.onset, _ORDER[e.kind]))
    return _for_staves(_without_doubles(events), every), accents


_ORDER = {"level": 0, "step": 1, "change": 2}


def _word(effect: Effect, mark: Mark, events: list[LoudnessEvent], accents: list[Accent]) -> None:
    staves = frozenset({mark.staff})
    if effect.kind == "accent":
        sign = read_sign(effect.words.strip(".() ").lower())
        steps = sign.attack_steps if sign else 1.5
        accents.append(
            Accent(mark.onset, mark.staff, mark.id, steps, sign.attack_level if sign else None)
        )
        if sign and sign.level is not None:
            events.append(LoudnessEvent(mark.onset, mark.bar, mark.id, "level", staves, sign.level))
    elif effect.kind == "state" and effect.level is not None:
        events.append(LoudnessEvent(mark.onset, mark.bar, mark.id, "level", staves, effect.level))
    elif effect.kind in {"step", "change"} and effect.direction:
        events.append(
            LoudnessEvent(
                mark.onset, mark.bar, mark.id, "step" if effect.kind == "step" else "change", staves,
                size=effect.size, direction=effect.direction, until=effect.level, gradual=effect.gradual
                and "little by little" in effect.meaning,
            )
        )  # fmt: skip


def _without_doubles(events: Iterable[LoudnessEvent]) -> list[LoudnessEvent]:
    """A word with a dashed line or a hairpin of its own at the same place is one change, not two."""
    rows = list(events)
    drawn = {(e.onset, e.direction) for e in rows if e.kind == "change" and e.end is not None}
    return [
        e
        for e in rows
        if not (e.kind == "change" and e.end is None and (e.onset, e.direction) in drawn)
    ]


def _for_staves(events: list[LoudnessEvent], every: frozenset[int]) -> list[LoudnessEvent]:
    """Levels that differ between the staves in one bar, and changes that differ at one place, are each for
    its own staff; all other marks are for every staff.
    """
    groups: dict[tuple[str, int | Fraction], list[LoudnessEvent]] = defaultdict(list)

    def place(event: LoudnessEvent) -> tuple[str, int | Fraction]:
        return event.kind, event.onset if event.kind == "change" else event.bar

    for event in events:
        groups[place(event)].append(event)
    found = []
    for event in events:
        others = [o for o in groups[place(event)] if o.staves != event.staves]
        differ = any((o.level, o.direction) != (event.level, event.direction) for o in others)
        found.append(event if differ else replace(event, staves=every))
    return found
