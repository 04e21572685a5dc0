"""Humdrum kern, MEI and ABC: brought to MusicXML at the door by music21 and converter21.

The converters are large programs written for friendly files. They are imported only here and only
when a file needs them, they see text and never a path, what they print is caught, and what they are
handed is bounded first, because a file cannot be stopped half way through its conversion.
"""

from __future__ import annotations

import contextlib
import io
import re
import threading
import warnings as python_warnings
from collections.abc import Callable, Iterator
from typing import Any

from lxml import etree

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_CONVERTED_BYTES, MAX_CONVERTED_TOKENS, MAX_SPINES
from passagework.score.markup import Element, parse_markup, to_text
from passagework.score.warnings import Warnings

MEI_NAMESPACE = "http://www.music-encoding.org/ns/mei"

_ONE_AT_A_TIME = threading.Lock()
"""The converters print to the process's own streams, which can be caught for one of them only."""


def kern_to_musicxml(data: bytes, warnings: Warnings) -> Element:
    """The root of a MusicXML document that says what the Humdrum `data` says. Raises `ScoreError`."""
    text = decoded(data)
    _check_kern(text)

    def read() -> Any:
        from converter21.humdrum import HumdrumFileSet

        files = HumdrumFileSet(acceptSyntaxErrors=True)
        files.readString(text)
        return files.createMusic21Stream()

    root = _converted(read, "Humdrum kern", warnings)
    _say_lost("Humdrum kern", warnings)
    return root


def mei_to_musicxml(data: bytes, warnings: Warnings) -> Element:
    """The root of a MusicXML document that says what the MEI `data` says. Raises `ScoreError`.

    The ids of the notes are kept. Entities were refused when the markup was parsed; what is handed
    on is the tree that was parsed, written out again without them.
    """
    _check_size(len(data))
    root = parse_markup(data)
    if root.tag == "music":
        root = _wrapped(root)
    if root.tag not in {"mei", "meiCorpus"}:
        raise _unusable("MEI", f"it begins with <{str(root.tag)[:40]}>")
    root.set("meiversion", _mei_version(root.get("meiversion", "")))
    text = to_text(root, MEI_NAMESPACE)

    def read() -> Any:
        from converter21.mei import MeiReader

        return MeiReader(text).run()

    fingers = _mei_fingers(root)
    converted = _converted(read, "MEI", warnings)
    _put_fingers(converted, fingers, warnings)
    _say_lost("MEI", warnings)
    return converted


def _mei_fingers(root: Element) -> dict[str, list[str]]:
    """Fingering by the id of its note; the converter reads past it."""
    fingers: dict[str, list[str]] = {}
    for node in root.iter(f"{{{MEI_NAMESPACE}}}fing"):
        text = "".join(map(str, node.itertext())).strip()
        if text:
            fingers.setdefault(node.get("startid", "").lstrip("#"), []).append(text)
    return fingers


def _put_fingers(root: Element, fingers: dict[str, list[str]], warnings: Warnings) -> None:
    """Write `fingers` to the notes that they belong to."""
    notes = {note.get("id", ""): note for note in root.iter("note")} if fingers else {}
    for ident, texts in fingers.items():
        note = notes.get(ident)
        if note is None:
            warnings.add("some fingering belongs to no note that could be found, and is left out")
            continue
        technical = etree.SubElement(etree.SubElement(note, "notations"), "technical")
        for text in texts:
            etree.SubElement(technical, "fingering").text = text[:8]


def _mei_version(version: str) -> str:
    """The version that the converter knows nearest to the one declared: it knows 4 and 5."""
    if version[:1] in {"4", "5"} and not version.endswith(("Mensural", "Neumes")):
        return version
    return "4.0.1" if version[:1] in {"2", "3"} else "5.0"


def _wrapped(music: Element) -> Element:
    """A document around a bare ``music`` element."""
    mei = etree.Element("mei", meiversion="5.0")
    mei.append(music)
    return mei


def abc_to_musicxml(data: bytes, warnings: Warnings) -> Element:
    """The root of a MusicXML document that says what the ABC `data` says. Raises `ScoreError`."""
    text, tunes = _first_tune(decoded(data))
    _check_size(len(text))
    if tunes > 1:
        warnings.add(f"the file holds {tunes} scores; the first is read")

    def read() -> Any:
        from converter21.abc import AbcReader

        return AbcReader(text).run(None)

    root = _converted(read, "ABC", warnings)
    _say_lost("ABC", warnings)
    return root


def _first_tune(text: str) -> tuple[str, int]:
    """The first tune of a tune book with what stands before it, and how many tunes there are.

    Every tune begins with its number (``X:``). A book of hundreds takes the converter a minute.
    """
    starts = [match.start() for match in re.finditer(r"^X:", text, re.MULTILINE)]
    return text[: starts[1]] if len(starts) > 1 else text, len(starts)


def decoded(data: bytes) -> str:
    """Text of a file that does not say its encoding: UTF-16 by its mark, UTF-8, else Latin-1."""
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _check_size(length: int) -> None:
    if length > MAX_CONVERTED_BYTES:
        raise ScoreError(
            f"the file is larger than {MAX_CONVERTED_BYTES // 1_000_000} MB, too long to convert",
            do="export it as MusicXML, or one movement at a time",
        )


def _check_kern(text: str) -> None:
    _check_size(len(text))
    tokens = 0
    for line in text.splitlines():
        spines = line.count("\t") + 1
        if spines > MAX_SPINES:
            raise ScoreError(
                f"a line has {spines} spines, more than a keyboard part can use",
                do="extract the keyboard part",
            )
        tokens += spines
    if tokens > MAX_CONVERTED_TOKENS:
        raise ScoreError(
            f"the file has more than {MAX_CONVERTED_TOKENS:,} tokens, too long to convert",
            do="export it as MusicXML, or one movement at a time",
        )


def _converted(read: Callable[[], Any], kind: str, warnings: Warnings) -> Element:
    """Run a converter behind closed doors: whatever goes wrong inside is one `ScoreError`."""
    try:
        with _ONE_AT_A_TIME, _silence():
            stream = read()
            scores = list(stream.scores) if "Opus" in stream.classes else [stream]
            if len(scores) > 1:
                warnings.add(f"the file holds {len(scores)} scores; the first is read")
            written = _exported(scores[0]) if scores else b""
    except ScoreError:
        raise
    except RecursionError:
        raise _unusable(kind, "its structure is nested too deeply") from None
    except MemoryError:
        raise _unusable(kind, "it asks for more memory than there is") from None
    except Exception as error:
        raise _unusable(kind, f"{type(error).__name__}: {error}") from None
    if not written:
        raise _unusable(kind, "there is no music in it")
    return parse_markup(written)


def _exported(score: Any) -> bytes:
    from music21.musicxml.m21ToXml import GeneralObjectExporter
    from music21.musicxml.xmlObjects import MusicXMLExportException

    # What the converters make is notation already; making it again pads pickups with rests and
    # loses hold of voices that begin in the middle of a bar. Durations that no note can be written
    # with are the only reason to let it.
    for again in (False, True):
        exporter = GeneralObjectExporter(score)
        exporter.makeNotation = again
        try:
            return bytes(exporter.parse())
        except MusicXMLExportException:
            if again:
                raise
    return b""


def _unusable(kind: str, why: str) -> ScoreError:
    plain = re.sub(r"\s+", " ", why).strip()[:160]
    return ScoreError(
        f"the {kind} file cannot be converted ({plain})",
        do="check it in the program that wrote it, or export it as MusicXML",
    )


@contextlib.contextmanager
def _silence() -> Iterator[None]:
    with (
        contextlib.redirect_stdout(io.StringIO()),
        contextlib.redirect_stderr(io.StringIO()),
        python_warnings.catch_warnings(),
    ):
        python_warnings.simplefilter("ignore")
        yield


def _say_lost(kind: str, warnings: Warnings) -> None:
    warnings.add(
        f"converted from {kind}: layout, and signs that MusicXML has no place for, are not kept"
    )
