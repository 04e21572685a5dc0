"""Gathering broken chords: the notes of a figure struck together as the chord they are made of."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.printed import take_off
from passagework.exercises.edit.take_out import _cut_ties, _lead_slurs
from passagework.exercises.edit.unfold import Item, Sheet, unfold
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import STEP_SEMITONES

GONE_WITH_A_FIGURE = ("beam", "stem", "lyric", "play", "listen")


def gather(notation: Notation, figures: Sequence[Sequence[str]]) -> Notation:
    """Each figure (ids of heads of one voice in one bar) as one chord as long as the figure.

    A key that comes more than once in a figure is struck once, by its first head. Figures whose heads do
    not stand in one voice and bar are left as they are.
    """
    layout = unfold(notation)
    gone: set[str] = set()
    for sheet in layout.sheets:
        rows = [[i for i in row if i.kind == "chord"] for row in sheet.voices().values()]
        for figure in figures:
            wanted = set(figure)
            for row in rows:
                inside = [i for i in row if wanted.intersection(i.ids)]
                if len(inside) > 1:
                    gone |= {i for item in inside for i in item.ids} - _kept(inside)
    _cut_ties(layout, notation, frozenset(gone))
    _lead_slurs(layout, frozenset(gone))
    for sheet in layout.sheets:
        rows = [[i for i in row if i.kind == "chord"] for row in sheet.voices().values()]
        for figure in figures:
            wanted = set(figure)
            for row in rows:
                inside = [i for i in row if wanted.intersection(i.ids)]
                if len(inside) > 1:
                    _join(sheet, inside)
    return finish(layout)


def _kept(items: Sequence[Item]) -> set[str]:
    """Ids of the heads that strike, the first of each key."""
    first: dict[int, str] = {}
    for item in items:
        for element in item.elements:
            first.setdefault(midi_of(element), element.get("id", ""))
    return set(first.values())


def midi_of(note: Element) -> int:
    """MIDI number of a head as written."""
    pitch = note.find("pitch")
    assert pitch is not None
    step = STEP_SEMITONES[pitch.findtext("step") or "C"] + int(pitch.findtext("alter") or 0)
    return step + 12 * (int(pitch.findtext("octave") or 4) + 1)


def _join(sheet: Sheet, items: Sequence[Item]) -> None:
    kept = _kept(items)
    first, last = items[0], items[-1]
    heads = [e for item in items for e in item.elements if e.get("id", "") in kept]
    heads.sort(key=midi_of)
    start, end = first.at, last.end
    for element in heads:
        take_off(element, GONE_WITH_A_FIGURE)
        take_off(element, ("chord", "time-modification"))
        for notations in element.findall("notations"):
            for tag in ("articulations", "tuplet", "ornaments"):
                for node in notations.findall(tag):
                    notations.remove(node)
            if len(notations) == 0:
                element.remove(notations)
    for element in heads[1:]:
        element.insert(0, etree.Element("chord"))
    first.elements = heads
    first.length = end - start
    first.changed = True
    sheet.touch(first)
    between = [
        i
        for i in sheet.items
        if i is not first
        and i.voice == first.voice
        and i.kind != "other"
        and start <= i.at < end
        and not (i.kind == "grace" and i.at == start)
    ]
    sheet.items = [i for i in sheet.items if i not in between]
