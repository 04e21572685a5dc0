"""Accidentals that the page needs, after notes before them were taken away, moved or altered."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from lxml import etree

from passagework.exercises.edit.printed import put
from passagework.exercises.edit.unfold import Item, Layout, Sheet
from passagework.score.markup import Element
from passagework.score.numbers import whole

SIGNS = {-3: "triple-flat", -2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp",
         3: "triple-sharp"}  # fmt: skip
ALTERS = {**{name: alter for alter, name in SIGNS.items()}, "sharp-sharp": 2,
          "natural-sharp": 1, "natural-flat": -1}  # fmt: skip

_ORDER = "FCGDAEB"


def key_alter(step: str, fifths: int) -> int:
    """What a signature of `fifths` sharps (flats if below 0) does to a letter: -1, 0 or 1."""
    place = _ORDER.index(step)
    return int(place < fifths) - int(6 - place < -fifths)


@dataclass(slots=True)
class _State:
    """What is in force on each staff at one moment."""

    fifths: dict[str, int] = field(default_factory=dict)
    altered: dict[tuple[str, str, str], int] = field(default_factory=dict)

    def key(self, node: Element) -> None:
        value = whole(node.findtext("fifths"))
        if value is None or abs(value) > 7:
            return
        number = node.get("number")
        if number is None:
            self.fifths.clear()
        self.fifths[number or ""] = value

    def expected(self, staff: str, step: str, octave: str) -> int:
        fifths = self.fifths.get(staff, self.fifths.get("", 0))
        return self.altered.get((staff, step, octave), key_alter(step, fifths))


def show_needed(layout: Layout, *, all_new: bool = False) -> None:
    """Print the accidentals that are needed on staves that were touched, and never take one away.

    `all_new` sets them on every staff anew, keeping those that were printed beyond need.
    """
    state = _State()
    for sheet in layout.sheets:
        state.altered.clear()
        for item in _in_time(sheet):
            if item.main.tag == "attributes":
                for node in item.main.findall("key"):
                    state.key(node)
            elif item.kind in {"chord", "grace"}:
                for note in item.elements:
                    _look(note, state, None if all_new else sheet.staves_touched)


def _in_time(sheet: Sheet) -> list[Item]:
    order = {"other": 0, "grace": 1, "chord": 2, "rest": 3}
    return sorted(sheet.items, key=lambda item: (item.at, order[item.kind]))


def _look(note: Element, state: _State, staves: Iterable[str] | None) -> None:
    pitch = note.find("pitch")
    if pitch is None:
        return
    staff = note.findtext("staff") or "1"
    step, octave = pitch.findtext("step") or "C", pitch.findtext("octave") or "4"
    alter = int(pitch.findtext("alter") or 0)
    printed = note.find("accidental") is not None
    tied = any(tie.get("type") == "stop" for tie in note.findall("tie"))
    expected = state.expected(staff, step, octave)
    if not printed and tied:
        return
    if staves is None and printed:
        for node in note.findall("accidental"):
            node.text = SIGNS.get(alter, "natural")
    elif alter != expected and not printed and (staves is None or staff in staves):
        _print(note, alter)
    state.altered[staff, step, octave] = alter


def _print(note: Element, alter: int) -> None:
    node = etree.Element("accidental")
    node.text = SIGNS.get(alter, "natural")
    put(note, node)
