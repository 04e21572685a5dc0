"""Bytes to an XML tree, safely: no entities, no network, bounded depth and size."""

from __future__ import annotations

from typing import Any

from lxml import etree

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_ATTRIBUTES, MAX_ELEMENTS, MAX_FILE_BYTES

Element = etree._Element

_ENTITY_FORMS = tuple("<!ENTITY".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))

_UTF16_MARKS = {b"<\0": "utf-16-le", b"\0<": "utf-16-be"}
"""How a file begins that is UTF-16 and has no byte order mark."""


def parse_markup(data: bytes, *, name: str = "") -> Element:
    """Parse `data` (UTF-8, UTF-16 or as its declaration says) into a tree without namespaces.

    Comments and processing instructions are dropped. Entities are never expanded and the DTD that
    the document names is never fetched. Raises `ScoreError` for anything that is not well-formed,
    too large, too deep, or that declares entities of its own.
    """
    _check_bounds(data, name)
    root = _parse(data.lstrip(b" \t\r\n") if data[:1].isspace() else data, name)
    dtd: Any = root.getroottree().docinfo.internalDTD  # the stubs know nothing of its entities
    if dtd is not None and next(iter(dtd.entities()), None) is not None:
        raise _entities_refused()
    return _without_namespaces(root)


def _check_bounds(data: bytes, name: str) -> None:
    """Refuse before parsing what would fill the memory: every element needs its ``<`` in the bytes."""
    if len(data) > MAX_FILE_BYTES:
        raise ScoreError(
            f"the file is larger than {MAX_FILE_BYTES // 1_000_000} MB",
            where=name,
            do="a score of this length is not believable; export one movement at a time",
        )
    if data.count(b"<") > 2 * MAX_ELEMENTS or data.count(b"=") > MAX_ATTRIBUTES:
        raise ScoreError(
            f"the file holds more than {MAX_ELEMENTS:,} elements",
            where=name,
            do="export one movement at a time",
        )
    if any(form in data for form in _ENTITY_FORMS):
        raise _entities_refused()


def _entities_refused() -> ScoreError:
    return ScoreError(
        "the file declares entities of its own, which no score needs",
        where="DOCTYPE",
        do="remove the declarations, or export the score again",
    )


def _parser(encoding: str | None = None) -> etree.XMLParser:
    return etree.XMLParser(
        encoding=encoding,
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )


def _parse(data: bytes, name: str) -> Element:
    """The root; a file whose declaration contradicts its bytes is read as what its bytes are."""
    unmarked = _UTF16_MARKS.get(data[:2])
    try:
        if unmarked is not None:
            return etree.fromstring(data.decode(unmarked).encode(), _parser("utf-8"))
        return etree.fromstring(data, _parser())
    except (etree.XMLSyntaxError, LookupError, ValueError) as error:
        again = _as_unicode(data)
        if again is not None:
            try:
                return etree.fromstring(again, _parser("utf-8"))
            except (etree.XMLSyntaxError, LookupError, ValueError):
                pass
        raise _malformed(error, name) from None


def _as_unicode(data: bytes) -> bytes | None:
    """UTF-8 bytes of a file whose declared encoding is wrong; None where no reading of it is better."""
    for code, fits in (
        ("utf-16", data[:2] in {b"\xff\xfe", b"\xfe\xff"}),
        ("utf-8-sig", True),
        ("cp1252", b"\0" not in data[:64]),
    ):
        if fits:
            try:
                text = data.decode(code)
            except UnicodeDecodeError:
                continue
            return text.encode("utf-8")
    return None


def _malformed(error: Exception, name: str) -> ScoreError:
    if isinstance(error, etree.XMLSyntaxError):
        line = error.lineno
        return ScoreError(
            "the file is not well-formed XML: " + _plain(error.msg or "it ends too early"),
            where=f"line {line}" if line else name,
            do="export it again from the notation program",
        )
    return ScoreError(
        "the characters of the file do not match the encoding it declares",
        where="line 1",
        do="save it as UTF-8",
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


def to_text(root: Element, namespace: str) -> str:
    """The tree as text without declaration, its elements in `namespace`, for another parser to read."""
    for element in root.iter(etree.Element):
        element.tag = f"{{{namespace}}}{element.tag}"
    return str(etree.tostring(root, encoding="unicode"))
