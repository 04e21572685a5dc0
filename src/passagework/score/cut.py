"""Cuts bars out of a notation so that they stand alone, everything that reached over the edges set right.

Ids, bar numbers and what is written in the bars stay as they are. At the edges

* divisions, key, metre and clefs in force are written into the first bar;
* ties that lead out are taken away, slurs are led to the first or last note of their voice;
* hairpins, ottava lines, pedal lines and dashes are begun at the first bar and ended at the last;
* repeats and endings whose other half is left out, and jumps (*da capo*), are taken away.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator

from lxml import etree

from passagework.score.cut_lines import set_lines_right
from passagework.score.cut_notes import set_notes_right
from passagework.score.markup import Element
from passagework.score.notation import Notation

LEFT_OUT = frozenset({"part", "credit", "defaults"})
"""Children of the root that speak of whole pages."""

ATTRIBUTES = (
    "divisions",
    "key",
    "time",
    "staves",
    "part-symbol",
    "instruments",
    "clef",
    "staff-details",
    "transpose",
)
"""What stays in force until it is changed, in the order that MusicXML wants."""

JUMPS = ("dacapo", "dalsegno", "tocoda", "fine", "segno", "coda", "forward-repeat")
"""Attributes of ``sound`` that send the player elsewhere."""

_JUMP_WORDS = re.compile(r"^(dacapo|dc|dalsegno|ds|alcoda|tocoda|fine$)")

_Force = dict[tuple[str, str], Element]


def cut(notation: Notation, first_bar: int, last_bar: int) -> Notation:
    """Bars `first_bar` to `last_bar` (indices, both included) as a notation of their own.

    The notation given is left as it is. Raises `ValueError` for bars that are not there.
    """
    measures = notation.measures
    if not 0 <= first_bar <= last_bar < len(measures):
        raise ValueError(
            f"there are no bars {first_bar} to {last_bar} in a score of {len(measures)} bars"
        )
    root = etree.Element(
        notation.root.tag, {str(k): str(v) for k, v in notation.root.attrib.items()}
    )
    for child in notation.root:
        if child.tag not in LEFT_OUT:
            root.append(copy.deepcopy(child))
    part = etree.SubElement(root, "part", {str(k): str(v) for k, v in notation.part.attrib.items()})
    for measure in measures[first_bar : last_bar + 1]:
        part.append(copy.deepcopy(measure))
    inside = list(part)
    _write_attributes(inside[0], _in_force(measures[:first_bar]))
    _drop_late_attributes(inside[-1])
    set_lines_right(measures[:first_bar], inside, measures[last_bar + 1 :])
    set_notes_right(measures, first_bar, inside)
    _set_bar_lines_right(inside)
    _drop_jumps(part)
    return Notation(root, notation.warnings)


def timed(measure: Element) -> Iterator[tuple[int, Element]]:
    """Every child of a measure with its place in ticks from the start of the measure."""
    at = start = 0
    for child in measure:
        tag = child.tag
        if tag == "note":
            if child.find("chord") is not None:
                yield start, child
                continue
            start = at
            yield at, child
            if child.find("grace") is None:
                at += int(child.findtext("duration") or 0)
            continue
        yield at, child
        if tag == "backup":
            at = max(0, at - int(child.findtext("duration") or 0))
        elif tag == "forward":
            at += int(child.findtext("duration") or 0)


def length(measure: Element) -> int:
    """Ticks that a measure holds."""
    most = 0
    for at, child in timed(measure):
        if child.tag in {"note", "forward"} and child.find("grace") is None:
            at += int(child.findtext("duration") or 0)
        most = max(most, at)
    return most


def _in_force(measures: list[Element]) -> _Force:
    force: _Force = {}
    for measure in measures:
        nodes = measure.findall("attributes")
        if len(nodes) > 1:  # voices go back in time: what counts is the order of sounding
            rows = [(at, child) for at, child in timed(measure) if child.tag == "attributes"]
            nodes = [child for _, child in sorted(rows, key=lambda row: row[0])]
        for node in nodes:
            _take(node, force)
    return force


def _take(node: Element, force: _Force) -> None:
    for child in node:
        tag = str(child.tag)
        if tag not in ATTRIBUTES:
            continue
        number = child.get("number") or ("1" if tag == "clef" else "")
        if not number:  # one for all staves replaces those of single staves
            for key in [k for k in force if k[0] == tag]:
                del force[key]
        force[tag, number] = child


def _write_attributes(measure: Element, force: _Force) -> None:
    """Put what is in force, and what the bar itself sets at its start, before everything else."""
    force = {key: copy.deepcopy(node) for key, node in force.items()}
    for key in force:
        for cancel in force[key].findall("cancel"):  # nothing stands before to be cancelled
            force[key].remove(cancel)
    own = [child for at, child in timed(measure) if child.tag == "attributes" and at == 0]
    for node in own:
        _take(node, force)
        for child in list(node):
            if child.tag in ATTRIBUTES:
                node.remove(child)
        if len(node) == 0:
            measure.remove(node)
    head = etree.Element("attributes")
    for _, child in sorted(force.items(), key=lambda item: (ATTRIBUTES.index(item[0][0]), item[0])):
        head.append(child)
    measure.insert(0, head)


def _drop_late_attributes(measure: Element) -> None:
    """A change at the very end of the last bar announces what is not there any more."""
    end = length(measure)
    if end == 0:
        return
    for at, child in list(timed(measure)):
        if child.tag == "attributes" and at >= end:
            for node in list(child):
                if node.tag in {"clef", "key", "time"}:
                    child.remove(node)
            if len(child) == 0:
                measure.remove(child)


def _set_bar_lines_right(measures: list[Element]) -> None:
    """Keep repeats and endings that are whole; open halves become plain bar lines."""
    opened: list[Element] = []
    halves: list[Element] = []
    endings: list[Element] = []
    for measure in measures:
        for line in measure.findall("barline"):
            for repeat in line.findall("repeat"):
                if repeat.get("direction") == "forward":
                    opened.append(repeat)
                elif opened:
                    opened.pop()
                else:
                    halves.append(repeat)
            for ending in line.findall("ending"):
                if ending.get("type") == "start":
                    endings.append(ending)
                elif endings:
                    endings.pop()
                else:
                    halves.append(ending)
    for node in (*opened, *halves, *endings):
        _take_off(node)


def _take_off(node: Element) -> None:
    """Take a repeat sign or an ending off its bar line, which becomes a plain one."""
    line = node.getparent()
    if line is None:
        return
    line.remove(node)
    style = line.find("bar-style")
    if node.tag == "repeat" and style is not None:
        line.remove(style)
    measure = line.getparent()
    if len(line) == 0 and measure is not None:
        measure.remove(line)


def _drop_jumps(part: Element) -> None:
    for sound in part.iter("sound"):
        for name in JUMPS:
            if name in sound.attrib:
                del sound.attrib[name]
    for direction in list(part.iter("direction")):
        for kind in direction.findall("direction-type"):
            for words in kind.findall("words"):
                plain = re.sub(r"[^a-z]", "", (words.text or "").lower())
                if _JUMP_WORDS.match(plain) and len(plain) <= 20:
                    kind.remove(words)
            for sign in (*kind.findall("segno"), *kind.findall("coda")):
                kind.remove(sign)
            if len(kind) == 0:
                direction.remove(kind)
        measure = direction.getparent()
        if direction.find("direction-type") is None and measure is not None:
            measure.remove(direction)
