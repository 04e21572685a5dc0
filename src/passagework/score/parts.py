"""Finds the keyboard part of a document and makes it one part with a staff for each hand."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest

from lxml import etree

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_STAVES
from passagework.score.markup import Element
from passagework.score.numbers import whole
from passagework.score.warnings import Warnings

KEYBOARD_WORDS = ("piano", "klavier", "keyboard", "pianoforte", "clavier", "fortepiano", "harpsichord",
                  "cembalo", "clavecin", "organ", "orgel", "celesta")  # fmt: skip
"""Names of keyboard instruments in the languages that scores are printed in."""


def partwise(root: Element) -> Element:
    """`root` as ``score-partwise``; raises `ScoreError` for anything that is not a score."""
    if root.tag == "score-partwise":
        return root
    if root.tag != "score-timewise":
        raise ScoreError(
            f"the document is <{str(root.tag)[:40]}>, not a score",
            do="use MusicXML (.musicxml, .xml, .mxl), MEI, Humdrum kern or MIDI",
        )
    parts: dict[str, Element] = {}
    for measure in root.findall("measure"):
        for piece in measure.findall("part"):
            part_id = piece.get("id") or "P1"
            if part_id not in parts:
                parts[part_id] = etree.Element("part", id=part_id)
            copy = _measure_like(measure, parts[part_id])
            copy.extend(list(piece))
        root.remove(measure)
    root.tag = "score-partwise"
    root.extend(parts.values())
    return root


def choose_parts(root: Element, warnings: Warnings) -> list[Element]:
    """The parts that a pianist plays: one part with several staves, or several with one each."""
    parts = [p for p in root.findall("part") if p.find("measure") is not None]
    if not parts:
        raise ScoreError("the score has no music in it", do="export it again with its parts")
    names = _names(root)
    grand = [p for p in parts if _staves(p) >= 2]
    if grand:
        named = [p for p in grand if _is_keyboard(names.get(p.get("id", ""), ""))]
        chosen = [(named or grand)[0]]
        if len(grand) > 1:
            warnings.add("the score has two keyboard parts or more; the first is read")
    else:
        named = [p for p in parts if _is_keyboard(names.get(p.get("id", ""), ""))]
        chosen = named if 0 < len(named) <= MAX_STAVES else parts
    if len(chosen) > MAX_STAVES:
        raise ScoreError(
            f"the score has {len(chosen)} parts and none of them is a keyboard part",
            do="export the piano part alone",
        )
    left = [names.get(p.get("id", "")) or "a part without a name" for p in parts if p not in chosen]
    if left:
        warnings.add("not for the pianist's hands and left aside: " + ", ".join(left[:8]))
    if len(chosen) > 1:
        warnings.add(
            f"{len(chosen)} parts of one staff are read as the staves of one keyboard part"
        )
    return chosen


def single_part(root: Element, chosen: list[Element], divisions: int) -> None:
    """Leave one part in `root` (in place): `chosen` put together, with `divisions` written first."""
    main = chosen[0]
    if len(chosen) > 1:
        for index, part in enumerate(chosen):
            _claim_staff(part, index + 1)
        for row in zip_longest(*(part.findall("measure") for part in chosen)):
            first = row[0]
            if first is None:
                first = _measure_like(next(m for m in row if m is not None), main)
            for other in row[1:]:
                if other is not None:
                    _append_measure(first, other)
    for part in root.findall("part"):
        if part is not main:
            root.remove(part)
    _tidy_part_list(root, main.get("id") or "")
    first = main.find("measure")
    assert first is not None
    attributes = _attributes(first)
    node = etree.Element("divisions")
    node.text = str(divisions)
    attributes.insert(0, node)
    if len(chosen) > 1:
        for old in attributes.findall("staves"):
            attributes.remove(old)
        staves = etree.Element("staves")
        staves.text = str(len(chosen))
        attributes.insert(_place_of_staves(attributes), staves)


def _measure_like(model: Element, part: Element) -> Element:
    """A new measure at the end of `part` with the attributes of `model`."""
    measure = etree.SubElement(part, "measure")
    for name, value in model.attrib.items():
        measure.set(name, value)
    return measure


def _names(root: Element) -> dict[str, str]:
    return {
        part.get("id", ""): " ".join((part.findtext("part-name") or "").split())
        for part in root.iter("score-part")
    }


def _is_keyboard(name: str) -> bool:
    return any(word in name.lower() for word in KEYBOARD_WORDS)


def _staves(part: Element) -> int:
    """Staves that the part declares or uses."""
    texts = {node.text for node in part.iter("staves", "staff")}
    return max([1, *(n for n in map(whole, texts) if n is not None and n <= MAX_STAVES)])


def _claim_staff(part: Element, staff: int) -> None:
    """Put all of a one-staff part on `staff`, and number its voices and clefs apart from the others."""
    voices: dict[str, str] = {}
    for measure in part.findall("measure"):
        for child in measure:
            if child.tag in {"note", "forward", "direction", "harmony"}:
                for old in child.findall("staff"):
                    child.remove(old)
                node = etree.Element("staff")
                node.text = str(staff)
                child.insert(place_of_staff(child), node)
            if child.tag == "note":
                voice = child.find("voice")
                if voice is None:
                    voice = etree.Element("voice")
                    child.insert(place_of_voice(child), voice)
                own = (voice.text or "1").strip()
                voice.text = voices.setdefault(own, str(4 * (staff - 1) + len(voices) + 1))
            elif child.tag == "attributes":
                for node in child.iter("clef", "transpose"):
                    node.set("number", str(staff))


def _append_measure(main: Element, other: Element) -> None:
    """Write the content of `other` into `main` from the bar line on."""
    clefs: list[Element] = []
    moved: list[Element] = []
    position = 0
    for child in list(other):
        if child.tag == "attributes":
            kept = [node for node in child if node.tag in {"clef", "transpose"}]
            if position == 0 and not any(m.tag == "note" for m in moved):
                clefs += kept
            elif kept:
                for node in list(child):
                    if node not in kept:
                        child.remove(node)
                moved.append(child)
        elif child.tag not in {"barline", "print"}:
            position += int(child.tag == "note")
            moved.append(child)
    if clefs:
        _attributes(main).extend(clefs)
    length = _span(main)
    if length:
        backup = etree.SubElement(main, "backup")
        etree.SubElement(backup, "duration").text = str(length)
    right = [b for b in main.findall("barline") if b.get("location", "right") == "right"]
    main.extend(moved)
    back = length - _span(moved)
    if back > 0:
        forward = etree.SubElement(main, "forward")
        etree.SubElement(forward, "duration").text = str(back)
    main.extend(right)


def _span(elements: Iterable[Element]) -> int:
    """Ticks from the bar line to where the elements end."""
    position = 0
    for child in elements:
        text = child.findtext("duration")
        if text is None or (child.tag == "note" and child.find("chord") is not None):
            continue
        if child.tag in {"note", "forward"}:
            position += int(text)
        elif child.tag == "backup":
            position = max(0, position - int(text))
    return position


def _attributes(measure: Element) -> Element:
    """The attributes at the bar line, made where missing."""
    for child in measure:
        if child.tag == "attributes":
            return child
        if child.tag in {"note", "backup", "forward"}:
            break
    attributes = etree.Element("attributes")
    place = 1 if len(measure) and measure[0].tag == "print" else 0
    measure.insert(place, attributes)
    return attributes


def _tidy_part_list(root: Element, part_id: str) -> None:
    for part_list in root.findall("part-list"):
        for node in list(part_list):
            if node.tag == "part-group" or (node.tag == "score-part" and node.get("id") != part_id):
                part_list.remove(node)


_BEFORE_STAVES = ("footnote", "level", "divisions", "key", "time")
_AFTER_VOICE = ("type", "dot", "accidental", "time-modification", "stem", "notehead",
                "notehead-text", "staff", "beam", "notations", "lyric", "play", "listen")  # fmt: skip
_AFTER_STAFF = ("beam", "notations", "lyric", "play", "listen", "sound", "listening")


def _place_of_staves(attributes: Element) -> int:
    return sum(1 for child in attributes if child.tag in _BEFORE_STAVES)


def place_of_voice(note: Element) -> int:
    """Index at which MusicXML wants ``voice`` in a note."""
    return next((i for i, c in enumerate(note) if c.tag in _AFTER_VOICE), len(note))


def place_of_staff(element: Element) -> int:
    """Index at which MusicXML wants ``staff`` in a note or direction."""
    return next((i for i, c in enumerate(element) if c.tag in _AFTER_STAFF), len(element))
