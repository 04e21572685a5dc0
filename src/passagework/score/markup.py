"""Bytes to an XML tree, safely: no entities, no network, bounded depth and size."""

from __future__ import annotations

from lxml import etree

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_DEPTH, MAX_ELEMENTS, MAX_FILE_BYTES

Element = etree._Element


def parse_markup(data: bytes, *, name: str = "") -> Element:
    """Parse `data` (UTF-8, UTF-16 or as its declaration says) into a tree without namespaces.

    Comments and processing instructions are dropped. Entities are never expanded and the DTD that
    the document names is never fetched. Raises `ScoreError` for anything that is not well-formed,
    too large, too deep, or that declares entities of its own.
    """
    if len(data) > MAX_FILE_BYTES:
        raise ScoreError(
            f"the file is larger than {MAX_FILE_BYTES // 1_000_000} MB",
            where=name,
            do="a score of this length is not believable; export one movement at a time",
        )
    target = _Bounded()
    parser = etree.XMLPullParser(
        events=("start", "end"),
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        _feed(parser, data, target)
        root = parser.close()
    except etree.XMLSyntaxError as error:
        line = getattr(error, "lineno", None)
        raise ScoreError(
            "the file is not well-formed XML: " + _plain(error.msg or "it ends too early"),
            where=f"line {line}" if line else name,
            do="export it again from the notation program",
        ) from None
    except (UnicodeDecodeError, LookupError, ValueError):
        raise ScoreError(
            "the characters of the file do not match the encoding it declares",
            where="line 1",
            do="save it as UTF-8",
        ) from None
    if root is None:
        raise ScoreError("the file is empty", where=name, do="export it again")
    return _without_namespaces(root)


class _Bounded:
    """Counts elements and depth while the tree grows, so that a bomb is stopped early."""

    def __init__(self) -> None:
        self.depth = 0
        self.count = 0

    def see(self, event: str) -> None:
        if event == "start":
            self.depth += 1
            self.count += 1
            if self.depth > MAX_DEPTH:
                raise ScoreError(
                    f"elements are nested more than {MAX_DEPTH} deep",
                    do="this is not a score that a notation program wrote",
                )
            if self.count > MAX_ELEMENTS:
                raise ScoreError(
                    f"the file holds more than {MAX_ELEMENTS:,} elements",
                    do="export one movement at a time",
                )
        else:
            self.depth -= 1


def _feed(parser: etree.XMLPullParser, data: bytes, bounded: _Bounded) -> None:
    chunk = 1 << 16
    checked = False
    for start in range(0, max(len(data), 1), chunk):
        parser.feed(data[start : start + chunk])
        for event, element in parser.read_events():
            if not checked:
                _refuse_entities(element)
                checked = True
            bounded.see(event)


def _refuse_entities(element: Element) -> None:
    """The internal subset is known once the root has started: entities of its own are refused."""
    dtd = element.getroottree().docinfo.internalDTD
    if dtd is not None and next(iter(dtd.iterentities()), None) is not None:
        raise ScoreError(
            "the file declares entities of its own, which no score needs",
            where="DOCTYPE",
            do="remove the declarations, or export the score again",
        )


def _plain(message: str) -> str:
    return message.split(", line ")[0].strip().rstrip(".") or "it ends too early"


def _without_namespaces(root: Element) -> Element:
    """Drop the namespace of element names (some programs write one); attributes keep theirs."""
    if "}" in str(root.tag):
        for element in root.iter(etree.Element):
            tag = str(element.tag)
            if "}" in tag:
                element.tag = tag.rpartition("}")[2]
        etree.cleanup_namespaces(root)
    return root
