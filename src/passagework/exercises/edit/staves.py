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

    Rests, clefs and ottava lines of other staves go. Their dynamics, words and pedal are kept where this
    staff has none of that sort: on the page one sign between the staves serves both hands.
    Raises `ValueError` where notes stand on another staff.
    """
    if staves_used(notation) - {staff}:
        raise ValueError("notes stand on the other staff too")
    layout = unfold(notation)
    own = {
        tag
        for _, item in layout.items()
        if item.main.tag == "direction" and (item.main.findtext("staff") or "1") == staff
        for tag in _signs(item.main)
    }
    for sheet in layout.sheets:
        kept: list[Item] = []
        for item in sheet.items:
            if not _stays(item, staff, own):
                if item.timed:  # a rest there may have been part of a tuplet here
                    sheet.voices_touched.add(item.voice)
                continue
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


def _stays(item: Item, staff: str, own: set[str]) -> bool:
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
    if (element.findtext("staff") or "1") == staff or element.tag != "direction":
        return True
    signs = _signs(element)
    return not signs & OF_ONE_STAFF and not signs & own


def _signs(direction: Element) -> set[str]:
    """Names of the signs of a direction; loudness is one sort, whether a letter or a hairpin."""
    tags = {str(node.tag) for kind in direction.findall("direction-type") for node in kind}
    return {"dynamics" if tag == "wedge" else tag for tag in tags}
