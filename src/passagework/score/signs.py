"""What hangs on one ``note`` element: fingering, articulations, ornaments, beams, tuplet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from passagework.score.markup import Element
from passagework.score.numbers import number
from passagework.score.piece import Ornament


@dataclass(slots=True)
class Signs:
    """The signs of one notehead, as found (mutable while a reading is under way)."""

    fingers: list[int] = field(default_factory=list)
    substituted: bool = False
    articulations: set[str] = field(default_factory=set)
    ornaments: list[Ornament] = field(default_factory=list)
    arpeggio: str = ""
    slurs: list[tuple[str, str]] = field(default_factory=list)
    """(``start`` or ``stop``, number) in order of appearance."""
    tie_start: bool = False
    tie_stop: bool = False
    let_ring: bool = False


def read_signs(note: Element, kids: Mapping[str, Element]) -> Signs:
    """Read what hangs on `note`; `kids` are its children by name."""
    signs = Signs()
    if "tie" in kids:
        for tie in note.findall("tie"):
            signs.tie_start |= tie.get("type") == "start"
            signs.tie_stop |= tie.get("type") == "stop"
    if "notations" in kids:
        for notations in note.findall("notations"):
            for child in notations:
                _notation(child, signs)
    return signs


def _notation(child: Element, signs: Signs) -> None:
    tag = child.tag
    if tag == "tied":
        kind = child.get("type")
        signs.tie_start |= kind == "start"
        signs.tie_stop |= kind == "stop"
        signs.let_ring |= kind == "let-ring"
    elif tag == "slur":
        if child.get("type") in {"start", "stop"}:
            signs.slurs.append((child.get("type", ""), child.get("number", "1")))
    elif tag == "articulations":
        signs.articulations.update(str(node.tag) for node in child)
    elif tag == "fermata":
        signs.articulations.add("fermata")
    elif tag == "arpeggiate":
        signs.arpeggio = "down" if child.get("direction") == "down" else "up"
    elif tag == "non-arpeggiate":
        signs.arpeggio = "bracket"
    elif tag == "technical":
        for node in child.findall("fingering"):
            signs.substituted |= node.get("substitution") == "yes"
            signs.fingers += [int(c) for c in node.text or "" if c in "12345"]
    elif tag == "ornaments":
        _ornaments(child, signs)


def _ornaments(parent: Element, signs: Signs) -> None:
    for node in parent:
        kind = str(node.tag)
        if kind == "accidental-mark":
            if signs.ornaments:
                last = signs.ornaments[-1]
                marks = (*last.accidentals, (node.text or "").strip())
                signs.ornaments[-1] = Ornament(last.kind, marks, last.strokes, last.role)
        elif kind == "tremolo":
            strokes = number(node.text)
            signs.ornaments.append(
                Ornament(
                    "tremolo",
                    strokes=int(strokes) if strokes and 0 < strokes <= 8 else 3,
                    role=node.get("type", "single"),
                )
            )
        else:
            signs.ornaments.append(Ornament(kind, role=node.get("type", "")))
