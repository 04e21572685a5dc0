"""The door of the room: bytes of any score format to a `Reading`."""

from __future__ import annotations

from dataclasses import dataclass
from os.path import splitext

from passagework.score.archive import open_archive
from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_FILE_BYTES
from passagework.score.markup import parse_markup
from passagework.score.musicxml import read_piece
from passagework.score.normalise import normalise
from passagework.score.notation import Notation
from passagework.score.piece import Piece
from passagework.score.warnings import Warnings


@dataclass(frozen=True)
class Reading:
    """A score as read: the notation document and the piece that it says."""

    notation: Notation
    piece: Piece


def read_score(data: bytes, name: str = "") -> Reading:
    """Read a score from `data`; `name` is the file's name, used where the content leaves a doubt.

    MusicXML (plain or compressed), MEI, Humdrum kern, ABC and MIDI are told apart by content. Raises
    `ScoreError` with one line that says what is wrong, where, and what to do.
    """
    if len(data) > MAX_FILE_BYTES:
        raise ScoreError(
            f"the file is larger than {MAX_FILE_BYTES // 1_000_000} MB",
            do="a score of this length is not believable; export one movement at a time",
        )
    if not data.strip(b"\0 \t\r\n"):
        raise ScoreError("the file is empty", do="export it again")
    warnings = Warnings()
    notation = _notation(data, name, warnings)
    return Reading(notation, read_piece(notation))


def _notation(data: bytes, name: str, warnings: Warnings) -> Notation:
    suffix = splitext(name)[1].lower()
    if data.startswith(b"PK"):
        name, data = open_archive(data)
        suffix = splitext(name)[1].lower()
    if data.startswith((b"MThd", b"RIFF")):
        from passagework.score.midi import midi_to_musicxml

        return normalise(midi_to_musicxml(data, warnings), warnings)
    if _is_kern(data, suffix):
        from passagework.score.convert import kern_to_musicxml

        return normalise(kern_to_musicxml(data, warnings), warnings)
    if _is_abc(data, suffix):
        from passagework.score.convert import abc_to_musicxml

        return normalise(abc_to_musicxml(data, warnings), warnings)
    root = parse_markup(data)
    if root.tag in {"mei", "music"} or suffix == ".mei":
        from passagework.score.convert import mei_to_musicxml

        return normalise(mei_to_musicxml(data, warnings), warnings)
    return normalise(root, warnings)


def _is_kern(data: bytes, suffix: str) -> bool:
    head = _plain(data[: 1 << 16])
    return b"**kern" in head or (suffix in {".krn", ".kern"} and not head.startswith(b"<"))


def _is_abc(data: bytes, suffix: str) -> bool:
    head = _plain(data[: 1 << 12])
    return head.startswith((b"X:", b"%abc")) or (suffix == ".abc" and not head.startswith(b"<"))


def _plain(data: bytes) -> bytes:
    """The beginning of a file without byte order mark, blanks, and the zeros of UTF-16."""
    return data.replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
