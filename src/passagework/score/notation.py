"""The one notation document: a MusicXML tree in a normal form.

Normal form
-----------
* ``score-partwise`` with a single ``part``: a keyboard part with one or more staves;
* one value of ``divisions``, in the first measure, by which every duration is exact;
* every ``note`` has a unique ``id``, a ``voice`` and a ``staff``; every ``measure`` and
  ``direction`` has an ``id`` too;
* every number can be trusted: what was nonsense in the file has been repaired, with a warning.

Everything that edits music edits this tree; everything that reads music reads it.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from passagework.score.markup import Element

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


@dataclass(frozen=True)
class Notation:
    """A MusicXML tree in normal form. The tree is mutable; `copy` before editing."""

    root: Element
    warnings: tuple[str, ...] = ()
    """What the reading of the file had to repair or guess."""

    @property
    def part(self) -> Element:
        """The single part."""
        part = self.root.find("part")
        assert part is not None
        return part

    @property
    def measures(self) -> list[Element]:
        """The measures in order; their place is the bar's index."""
        return self.part.findall("measure")

    @property
    def divisions(self) -> int:
        """Ticks to a quarter, the same throughout."""
        return int(self.part.findtext("measure/attributes/divisions") or 1)

    def notes(self) -> Iterator[Element]:
        """Every ``note`` element (rests included), in document order."""
        return self.part.iter("note")

    def copy(self) -> Notation:
        """An independent copy."""
        return Notation(copy.deepcopy(self.root), self.warnings)

    def to_bytes(self) -> bytes:
        """The document as UTF-8 MusicXML."""
        return bytes(
            etree.tostring(self.root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE)
        )

    def quarters(self, ticks: int) -> Fraction:
        """`ticks` of this document in quarters."""
        return Fraction(ticks, self.divisions)
