"""Cuts bars out of a notation, so that they stand alone: signatures, clefs and open signs set right."""

from __future__ import annotations

import copy
from fractions import Fraction

from lxml import etree

from passagework.score.markup import Element
from passagework.score.notation import Notation


def cut(notation: Notation, first_bar: int, last_bar: int) -> Notation:
    """Bars `first_bar` to `last_bar` (indices, both included) as a notation of their own.

    Ids and printed bar numbers stay. What is in force where the cut begins (divisions, key, metre,
    clefs) is written into its first bar. Raises `ValueError` for bars that are not there.
    """
    measures = notation.measures
    if not 0 <= first_bar <= last_bar < len(measures):
        raise ValueError(
            f"there are no bars {first_bar} to {last_bar} in a score of {len(measures)}"
        )
    root = etree.Element(notation.root.tag, dict(notation.root.attrib))
    for child in notation.root:
        if child.tag not in {"part", "credit", "defaults"}:
            root.append(copy.deepcopy(child))
    part = etree.SubElement(root, "part", dict(notation.part.attrib))
    force: dict[tuple[str, str], Element] = {}
    for measure in measures[:first_bar]:
        for node in measure.findall("attributes"):
            _keep(node, force)
    for measure in measures[first_bar : last_bar + 1]:
        part.append(copy.deepcopy(measure))
    _write(part[0], force)
    return Notation(root, notation.warnings)


ORDER = ("divisions", "key", "time", "staves", "part-symbol", "clef", "staff-details", "transpose")


def _keep(node: Element, force: dict[tuple[str, str], Element]) -> None:
    for child in node:
        if child.tag in ORDER:
            force[str(child.tag), child.get("number") or ""] = child


def _write(measure: Element, force: dict[tuple[str, str], Element]) -> None:
    first = measure.find("attributes")
    if first is not None and measure[0] is first:
        _keep(first, force)
        measure.remove(first)
    head = etree.Element("attributes")
    for (_tag, _), node in sorted(force.items(), key=lambda kv: (ORDER.index(kv[0][0]), kv[0][1])):
        head.append(copy.deepcopy(node))
    measure.insert(0, head)
