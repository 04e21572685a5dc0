"""Lines over the staff that reach over the edges of a cut: hairpins, ottava, pedal, dashes, brackets."""

from __future__ import annotations

import copy
from collections.abc import Sequence

from lxml import etree

from passagework.score.markup import Element

STOPS = {
    "wedge": frozenset({"stop"}),
    "octave-shift": frozenset({"stop"}),
    "pedal": frozenset({"stop", "discontinue"}),
    "dashes": frozenset({"stop"}),
    "bracket": frozenset({"stop"}),
}
"""Lines, and the types by which they end."""

STARTS = {
    "wedge": frozenset({"crescendo", "diminuendo"}),
    "octave-shift": frozenset({"up", "down"}),
    "pedal": frozenset({"start", "resume"}),
    "dashes": frozenset({"start"}),
    "bracket": frozenset({"start"}),
}
"""Lines, and the types by which they begin."""

NEED_AN_END = frozenset({"wedge", "dashes", "bracket"})
"""Lines that mean nothing further where nothing ends them; an ottava and a pedal last on."""

_Key = tuple[str, str, str]


def set_lines_right(
    before: Sequence[Element], inside: Sequence[Element], after: Sequence[Element]
) -> None:
    """Mend the measures `inside`, copies of those that stand between `before` and `after`.

    Lines open where they begin are begun in the first one, lines open where they end are ended in the
    last one. A hairpin, dashes or a bracket that never ends in the piece is left as it is.
    """
    open_before = _run(before, {})[0]
    open_after, astray = _run(inside, dict(open_before))
    if open_after:
        open_later = _run(after, dict(open_after))[0]
        for key, line in list(open_after.items()):
            if open_later.get(key) is line and key[0] in NEED_AN_END:
                del open_after[key]
                if open_before.get(key) is line:
                    del open_before[key]
    for node in astray:
        _remove(node)
    first, last = inside[0], inside[-1]
    place = 1 if len(first) and first[0].tag == "attributes" else 0
    taken = {e.get("id") for measure in inside for e in measure.iter() if e.get("id")}
    for direction, node in open_before.values():
        first.insert(place, _alone(direction, node, _fresh("from", taken)))
        place += 1
    ends = [_end(direction, node, _fresh("to", taken)) for direction, node in open_after.values()]
    if ends:
        _append(last, ends)


def _run(
    measures: Sequence[Element], opened: dict[_Key, tuple[Element, Element]]
) -> tuple[dict[_Key, tuple[Element, Element]], list[Element]]:
    """What is open after `measures`, and ends that end nothing."""
    astray: list[Element] = []
    for measure in measures:
        for direction in measure.findall("direction"):
            for kind in direction.findall("direction-type"):
                for node in kind:
                    tag = str(node.tag)
                    if tag not in STARTS:
                        continue
                    key = _key(tag, node, direction)
                    if node.get("type") in STARTS[tag]:
                        opened[key] = (direction, node)
                    elif node.get("type") in STOPS[tag] and opened.pop(key, None) is None:
                        other = next((k for k in opened if k[:2] == key[:2]), None)
                        if other is None:
                            astray.append(node)
                        else:
                            del opened[other]
    return opened, astray


def _key(tag: str, node: Element, direction: Element) -> _Key:
    """A hairpin may end in another staff and a pedal has one foot; the others keep to their staff."""
    if tag == "pedal":
        return tag, "", ""
    staff = "" if tag == "wedge" else (direction.findtext("staff") or "1").strip()
    return tag, node.get("number", "1"), staff


def _remove(node: Element) -> None:
    kind = node.getparent()
    assert kind is not None
    direction = kind.getparent()
    assert direction is not None
    kind.remove(node)
    if len(kind) == 0:
        direction.remove(kind)
    if direction.find("direction-type") is None:
        measure = direction.getparent()
        if measure is not None:
            measure.remove(direction)


def _alone(direction: Element, node: Element, ident: str) -> Element:
    """A direction with nothing but `node` in it, at the place where it is put."""
    new = etree.Element(
        "direction", {str(k): str(v) for k, v in direction.attrib.items() if k != "id"}
    )
    new.set("id", ident)
    kind = etree.SubElement(new, "direction-type")
    line = copy.deepcopy(node)
    line.tail = None
    for name in ("default-x", "relative-x"):
        if name in line.attrib:
            del line.attrib[name]
    kind.append(line)
    staff = direction.find("staff")
    if staff is not None:
        new.append(copy.deepcopy(staff))
    return new


def _end(direction: Element, node: Element, ident: str) -> Element:
    new = _alone(direction, node, ident)
    line = new[0][0]
    line.set("type", "stop")
    if line.tag == "bracket":
        line.set("line-end", "none")
    if line.tag == "wedge" and "spread" in line.attrib:
        del line.attrib["spread"]
    return new


def _append(measure: Element, directions: list[Element]) -> None:
    """Put `directions` at the very end of a measure, before its right bar line."""
    at = most = 0
    for child in measure:
        step = int(child.findtext("duration") or 0)
        if child.tag == "backup":
            at = max(0, at - step)
        elif child.tag == "forward" or (
            child.tag == "note" and child.find("chord") is None and child.find("grace") is None
        ):
            at += step
        most = max(most, at)
    place = len(measure)
    while (
        place
        and measure[place - 1].tag == "barline"
        and measure[place - 1].get("location") != "left"
    ):
        place -= 1
    if most > at:
        forward = etree.Element("forward")
        etree.SubElement(forward, "duration").text = str(most - at)
        directions = [forward, *directions]
    for offset, node in enumerate(directions):
        measure.insert(place + offset, node)


def _fresh(stem: str, taken: set[str | None]) -> str:
    count = 1
    while f"{stem}{count}" in taken:
        count += 1
    taken.add(f"{stem}{count}")
    return f"{stem}{count}"
