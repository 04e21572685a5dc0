"""Taking notes, voices and hands out: what is left stays where it is, and the page is made good."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import times
from passagework.exercises.edit.printed import printed_of, put, take_off
from passagework.exercises.edit.rests import rest_element, rest_items
from passagework.exercises.edit.tuplets import notations_of
from passagework.exercises.edit.unfold import Item, Layout, Sheet, unfold
from passagework.score.markup import Element
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import TimeSignature, Tuplet

Leave = Literal["space", "rest"]
"""What stands in the place of notes: nothing at all (a ``forward``), or rests."""

OF_A_CHORD = frozenset({"slur", "fermata", "articulations", "ornaments", "dynamics", "arpeggiate",
                        "non-arpeggiate", "tuplet"})  # fmt: skip
"""Notations on the first head that speak of the whole chord."""


def take_out(notation: Notation, ids: Iterable[str], leave: Leave = "space") -> Notation:
    """Without the heads `ids` (and the grace notes that lean on chords that go altogether).

    `leave` says what stands in the place of a chord or of a bar of a voice that is emptied: nothing,
    or rests. Other chord members, voices and hands keep place, length and ids; slurs that began or
    ended on a note taken out are led to the nearest one left; ties to it are taken off.
    """
    gone = frozenset(ids)
    layout = unfold(notation)
    _cut_ties(layout, notation, gone)
    _lead_slurs(layout, gone)
    for sheet, time in zip(layout.sheets, times(layout), strict=True):
        _take(layout, sheet, gone, leave, time)
    return finish(layout)


def keep_only(notation: Notation, ids: Iterable[str], leave: Leave = "space") -> Notation:
    """With the heads `ids` and no others; else like `take_out`."""
    kept = frozenset(ids)
    others = [
        note.get("id", "")
        for note in notation.notes()
        if note.find("rest") is None and note.get("id", "") not in kept
    ]
    return take_out(notation, others, leave)


def take_out_voices(notation: Notation, voices: Iterable[str], leave: Leave = "space") -> Notation:
    """Without everything in those voices (their names in the notation)."""
    names = frozenset(voices)
    ids = [n.get("id", "") for n in notation.notes() if (n.findtext("voice") or "1") in names]
    return take_out(notation, ids, leave)


def _cut_ties(layout: Layout, notation: Notation, gone: frozenset[str]) -> None:
    """Take off the ties between a head that goes and one that stays."""
    elements = {e.get("id", ""): e for _, item in layout.items() for e in item.elements}
    for note in read_piece(notation).notes:
        for one, other in pairwise(note.ids):
            if (one in gone) != (other in gone) or (one in gone and other in gone):
                untie(elements[one], "start")
                untie(elements[other], "stop")


def untie(note: Element, kind: str) -> None:
    """Take the ends of ties of that kind (``start`` or ``stop``) off a head."""
    for tie in note.findall("tie"):
        if tie.get("type") == kind:
            note.remove(tie)
    for notations in note.findall("notations"):
        for tied in notations.findall("tied"):
            if tied.get("type") == kind:
                notations.remove(tied)
        if len(notations) == 0:
            note.remove(notations)


def _lead_slurs(layout: Layout, gone: frozenset[str]) -> None:
    """Move the ends of slurs from notes that go to the nearest ones of the voice that stay inside."""
    rows: dict[str, list[Item]] = {}
    for sheet in layout.sheets:
        for voice, row in sheet.voices().items():
            rows.setdefault(voice, []).extend(i for i in row if i.kind == "chord")
    for row in rows.values():
        left = [any(i not in gone for i in item.ids) for item in row]
        for kind, order in (("start", range(len(row))), ("stop", range(len(row) - 1, -1, -1))):
            carried: list[Element] = []
            for at in order:
                if not left[at]:
                    for element in row[at].elements:
                        carried += _slurs(element, kind)
                    carried = [s for s in carried if not _ends_here(row[at], s)]
                elif carried:
                    target = next(e for e in row[at].elements if e.get("id", "") not in gone)
                    for slur in carried:
                        notations_of(target).append(slur)
                    carried = []


def _slurs(note: Element, kind: str) -> list[Element]:
    found = [s for n in note.findall("notations") for s in n.findall("slur")]
    return [s for s in found if s.get("type") == kind]


def _ends_here(item: Item, slur: Element) -> bool:
    """Whether the other end of `slur` lies on `item`, which goes too."""
    other = "stop" if slur.get("type") == "start" else "start"
    number = slur.get("number", "1")
    ends = [s for e in item.elements for s in _slurs(e, other)]
    return any(s.get("number", "1") == number for s in ends) and slur.getparent() not in [
        s.getparent() for s in ends
    ]


def _take(
    layout: Layout, sheet: Sheet, gone: frozenset[str], leave: Leave, time: TimeSignature
) -> None:
    emptied: dict[str, list[Item]] = {}
    kept: list[Item] = []
    graces: list[Item] = []
    for item in sheet.items:
        if item.kind == "other":
            kept.append(item)
            continue
        if item.kind == "grace":
            graces.append(item)
        if not gone.intersection(item.ids):
            kept.append(item)
            if item.kind != "grace":
                graces = [g for g in graces if g.voice != item.voice]
            continue
        sheet.touch(item)
        rest = [e for e in item.elements if e.get("id", "") not in gone]
        if rest:
            _shrink(item, rest)
            kept.append(item)
        elif item.timed:
            leaning = [g for g in graces if g.voice == item.voice]
            kept = [i for i in kept if i not in leaning]
            emptied.setdefault(item.voice, []).append(item)
            kept.append(item)  # its place, to be filled
        if item.timed:
            graces = [g for g in graces if g.voice != item.voice]
    sheet.items = kept
    gone_items = [item for row in emptied.values() for item in row]
    for voice, row in emptied.items():
        _fill(layout, sheet, (voice, row), leave, time)
        gone_items = [item for item in gone_items if item not in row]
        sheet.items = _without_idle_rests(sheet.items, voice, gone_items)
    if leave == "rest":
        _fill_staves(layout, sheet, [item for row in emptied.values() for item in row])


def _without_idle_rests(items: list[Item], voice: str, gone: list[Item]) -> list[Item]:
    """Leave out the new rests of a voice over which another voice of the staff plays or rests."""
    staves: dict[str, list[Item]] = {}
    for item in items:
        if item.timed and item.voice != voice and not any(item is g for g in gone):
            staves.setdefault(item.main.findtext("staff") or "1", []).append(item)
    kept: list[Item] = []
    for item in items:
        new = (
            item.kind == "rest"
            and item.voice == voice
            and item.main.get("id", "").startswith("rest-")
        )
        beside = staves.get(item.main.findtext("staff") or "1", []) if new else []
        covered = new and item.main.get("print-object") != "no"
        covered = covered and _covered(item, beside) and not _tuplet(item)
        if not covered:
            kept.append(item)
    return kept


def _covered(item: Item, others: list[Item]) -> bool:
    """Whether the items `others` fill the time of `item` without a gap."""
    at = item.at
    for other in sorted(others, key=lambda o: o.at):
        if other.at <= at < other.end:
            at = other.end
    return at >= item.end


def _shrink(item: Item, rest: list[Element]) -> None:
    """Leave some heads of a chord: the first of them takes over what the chord's first head said."""
    old, new = item.main, rest[0]
    if new is not old:
        for node in new.findall("chord"):
            new.remove(node)
        for beam in old.findall("beam"):
            put(new, beam)
        for notations in old.findall("notations"):
            for node in list(notations):
                if node.tag in OF_A_CHORD and notations_of(new).find(str(node.tag)) is None:
                    notations_of(new).append(node)
        found = new.find("notations")
        if found is not None and len(found) == 0:
            new.remove(found)
    if len(rest) == 1:
        for notations in rest[0].findall("notations"):
            for tag in ("arpeggiate", "non-arpeggiate"):
                for node in notations.findall(tag):
                    notations.remove(node)
            if len(notations) == 0:
                rest[0].remove(notations)
    item.elements = rest


def _fill(
    layout: Layout,
    sheet: Sheet,
    emptied: tuple[str, list[Item]],
    leave: Leave,
    time: TimeSignature,
) -> None:
    """Put what `leave` says in the places of the chords of a voice that were emptied."""
    voice, row = emptied
    others = [i for i in sheet.items if i.timed and i.voice == voice and i not in row]
    if all(i.kind == "rest" for i in others):  # a voice without notes says nothing
        sheet.items = [i for i in sheet.items if i not in row and i not in others]
        return
    new: list[Item] = []
    run: list[Item] = []
    for item in sheet.items:
        in_row = item in row
        if run and item.timed and (not in_row or item.at != run[-1].end):
            new += _rests(layout, run, time)
            run = []
        if not in_row:
            new.append(item)
        elif leave == "rest" and not _tuplet(item):
            run.append(item)
        elif leave == "rest" or _in_broken_tuplet(item, others):
            note = rest_element(layout, item.main, hidden=leave == "space")
            new.append(Item("rest", item.at, item.length, [note], voice))
    sheet.items = new + (_rests(layout, run, time) if run else [])


def _rests(layout: Layout, run: list[Item], time: TimeSignature) -> list[Item]:
    """The rests in the place of chords that followed each other in one voice."""
    at = run[0].at
    return rest_items(layout, run[0].main, (at, run[-1].end - at), time)


def _fill_staves(layout: Layout, sheet: Sheet, emptied: list[Item]) -> None:
    """A rest for the whole bar on every staff from which the last note went."""
    used = {e.findtext("staff") or "1" for i in sheet.items if i.timed for e in i.elements}
    for item in emptied:
        staff = item.main.findtext("staff") or "1"
        if staff in used or not sheet.length:
            continue
        used.add(staff)
        note = rest_element(layout, item.main)
        take_off(note, ("type", "dot", "time-modification"))
        rest = note.find("rest")
        assert rest is not None
        rest.set("measure", "yes")
        sheet.items.append(Item("rest", Fraction(0), sheet.length, [note], item.voice))


def _tuplet(item: Item) -> Tuplet | None:
    printed = printed_of(item.main)
    return printed.tuplet if printed else None


def _in_broken_tuplet(item: Item, others: list[Item]) -> bool:
    """Whether the chord was part of a tuplet of which notes are left beside it."""
    own = _tuplet(item)
    beside = (i for i in others if i.end == item.at or i.at == item.end)
    return own is not None and any(_tuplet(i) == own for i in beside)
