"""Signs of loudness: those of the page taken off, others written in their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.unfold import Item, Layout, fold, unfold
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import Position

HIGH, LOW = "above", "below"

WORDS = ("cresc", "dim", "decresc", "smorz", "morendo", "perdendo", "calando", "rinf", "sforz",
         "forte", "piano", "dolce", "sotto voce", "mezza voce", "rfz")  # fmt: skip
"""How words begin that speak of loudness."""


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign of loudness at a position (quarters from the start)."""

    at: Position
    text: str
    """``"f"``, ``"pp"``."""
    staff: int
    placement: str = LOW
    words: str = ""
    """Printed beside it: ``"tune"``."""


def with_loudness(notation: Notation, signs: Sequence[Sign]) -> Notation:
    """Only the signs given: letters, hairpins and words of loudness of the page are taken off first."""
    layout = unfold(without_loudness(notation))
    starts = layout.starts()
    for sign in signs:
        index = max(k for k, at in enumerate(starts[:-1]) if at <= sign.at)
        sheet = layout.sheets[index]
        at = sign.at - starts[index]
        item = Item("other", at, Fraction(0), [_direction(layout, sign)])
        place = next(
            (k for k, i in enumerate(sheet.items) if i.kind != "other" and i.at >= at),
            len(sheet.items),
        )
        sheet.items.insert(place, item)
    return fold(layout)


def _direction(layout: Layout, sign: Sign) -> Element:
    node = etree.Element("direction", placement=sign.placement, id=layout.fresh("loudness"))
    letters = etree.SubElement(etree.SubElement(node, "direction-type"), "dynamics")
    etree.SubElement(letters, sign.text)
    if sign.words:
        words = etree.SubElement(etree.SubElement(node, "direction-type"), "words")
        words.set("font-style", "italic")
        words.text = f"\N{NO-BREAK SPACE}{sign.words}"
    etree.SubElement(node, "staff").text = str(sign.staff)
    return node


def without_loudness(notation: Notation) -> Notation:
    """Without letters, hairpins and words of loudness, and the dashes that lengthen such words."""
    work = notation.copy()
    dashes: set[str] = set()
    for direction in list(work.part.iter("direction")):
        kinds = direction.findall("direction-type")
        quiet = any(_is_word(node) for kind in kinds for node in kind)
        if quiet:
            dashes |= {d.get("number", "1") for k in kinds for d in k.findall("dashes")}
        for kind in kinds:
            for node in list(kind):
                lengthened = node.tag == "dashes" and node.get("number", "1") in dashes
                if node.tag in {"dynamics", "wedge"} or _is_word(node) or lengthened:
                    kind.remove(node)
            if len(kind) == 0:
                direction.remove(kind)
        for sound in direction.findall("sound"):
            _forget(sound)
        parent = direction.getparent()
        if direction.find("direction-type") is None and parent is not None:
            parent.remove(direction)
    for note in work.notes():
        _forget(note)
        for notations in note.findall("notations"):
            for node in notations.findall("dynamics"):
                notations.remove(node)
            if len(notations) == 0:
                note.remove(notations)
    return work


def _forget(element: Element) -> None:
    """Take off the loudness that only a player reads."""
    if "dynamics" in element.attrib:
        del element.attrib["dynamics"]


def _is_word(node: Element) -> bool:
    text = (node.text or "").strip().lower()
    return node.tag == "words" and text.startswith(WORDS)
