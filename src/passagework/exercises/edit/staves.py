"""One staff alone: for a hand that plays by itself, so that no empty staff runs beside it."""

from __future__ import annotations

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.unfold import Item, unfold
from passagework.score.markup import Element
from passagework.score.notation import Notation

OF_ONE_STAFF = frozenset({"octave-shift"})
"""Lines that speak of the notes of their own staff only; all other signs are kept with the staff left."""


def staves_used(notation: Notation) -> frozenset[str]:
    """The staves on which notes stand."""
    return frozenset(
        note.findtext("staff") or "1" for note in notation.notes() if note.find("rest") is None
    )


def only_staff(notation: Notation, staff: str) -> Notation:
    """Only that staff (its number as text), which becomes the single one.

    Rests, clefs and ottava lines of other staves go; dynamics, words and pedal of all are kept, each once.
    Raises `ValueError` where notes stand on another staff.
    """
    if staves_used(notation) - {staff}:
        raise ValueError("notes stand on the other staff too")
    layout = unfold(notation)
    for sheet in layout.sheets:
        seen: set[tuple[object, ...]] = set()
        kept: list[Item] = []
        for item in sheet.items:
            if not _stays(item, staff):
                continue
            if item.main.tag == "direction":
                sign = (item.at, _what(item.main))
                if sign in seen:
                    continue
                seen.add(sign)
            for element in item.elements:
                for node in element.findall("staff"):
                    node.text = "1"
            kept.append(item)
        sheet.items = kept
    work = finish(layout)
    for attributes in work.part.iter("attributes"):
        for node in attributes.findall("staves") + attributes.findall("part-symbol"):
            attributes.remove(node)
    return work


def _stays(item: Item, staff: str) -> bool:
    element = item.main
    if item.kind != "other":
        return (element.findtext("staff") or "1") == staff
    if element.tag == "attributes":
        for node in list(element):
            if node.tag in {"clef", "staff-details", "transpose", "key", "time"}:
                number = node.get("number")
                if number not in {None, staff} or (
                    node.tag == "clef" and number is None and staff != "1"
                ):
                    element.remove(node)
                elif number:
                    node.set("number", "1")
        return len(element) > 0
    own = (element.findtext("staff") or "1") == staff
    return own or not any(node.tag in OF_ONE_STAFF for node in element.iterdescendants())


def _what(direction: Element) -> tuple[object, ...]:
    return tuple(
        (node.tag, node.get("type"), (node.text or "").strip())
        for kind in direction.findall("direction-type")
        for node in kind.iter()
    )
