"""Runs the engraver (verovio) on a MusicXML document. Only the worker's process comes here."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from lxml import etree

from passagework.engraving import glyphs
from passagework.engraving.compact import compact
from passagework.engraving.errors import EngravingError
from passagework.engraving.prepare import prepare
from passagework.engraving.system import Engraving

OPTIONS: Final[dict[str, Any]] = {
    "header": "none",
    "footer": "none",
    "breaks": "auto",
    "condense": "none",
    "adjustPageHeight": True,
    "systemMaxPerPage": 1,  # one page to a system: the cost stays linear in the number of bars
    "pageHeight": 60000,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "svgFormatRaw": True,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "smuflTextFont": "none",
    "font": glyphs.FONT,
    "mnumInterval": 0,
    "xmlIdSeed": 1,
    "spacingStaff": 10,
    "spacingLinear": 0.2,  # a little tighter than its default: fewer lines with one bar
    "svgAdditionalAttribute": [
        f"{kind}@{name}"
        for kind, names in (
            ("slur", ("startid", "endid")),
            ("phrase", ("startid", "endid")),
            ("tie", ("startid", "endid")),
            ("arpeg", ("startid", "plist")),
            ("beamSpan", ("plist",)),
            ("gliss", ("startid", "endid")),
            ("fing", ("startid",)),
            ("trill", ("startid",)),
            ("turn", ("startid",)),
            ("mordent", ("startid",)),
            ("ornam", ("startid",)),
            ("fermata", ("startid",)),
        )
        for name in names
    ],
}
"""Options of the engraver; margins and page are ours."""

LAST_FILL: Final = 0.7
"""Part of the width that the last system must fill to be stretched to all of it."""
NATURAL_FILL: Final = 0.9
"""The same for an excerpt."""


@cache
def _toolkit() -> Any:
    """One toolkit for all jobs of the process: making it reads its fonts."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def engrave(xml: str, width: int, *, justify: bool, natural: bool) -> Engraving:
    """Engrave a document in systems of `width` (the engraver's page unit).

    `natural` leaves a single system at its own width instead of stretching it.
    """
    root = etree.fromstring(xml.encode("utf-8"), etree.XMLParser(huge_tree=True))
    staff_of = {
        note.get("id") or "": int(note.findtext("staff") or 1) for note in root.iter("note")
    }
    prepare(root)
    fill = NATURAL_FILL if natural else LAST_FILL if justify else 1.0
    toolkit = _toolkit()
    toolkit.setOptions(dict(OPTIONS, pageWidth=width, minLastJustification=fill))
    if not toolkit.loadData(etree.tostring(root, encoding="unicode")):
        raise EngravingError("the notation could not be engraved")
    chords: dict[str, tuple[str, ...]] = {}
    systems = tuple(
        compact(toolkit.renderToSVG(page + 1), staff_of, chords)
        for page in range(toolkit.getPageCount())
    )
    names = sorted(glyphs.ACCIDENTALS.union(*(s.glyphs for s in systems)))
    return Engraving(
        tuple(s for s in systems if s.measures), {name: glyphs.outline(name) for name in names}
    )
