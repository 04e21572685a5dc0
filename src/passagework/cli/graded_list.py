"""The teacher's list of graded pieces: a table of paths and levels."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from passagework.cli.files import UnusableInputError, bytes_of

HEADS = frozenset({"path", "file", "filename", "score", "piece", "level", "grade", "class"})
"""Words at the head of a column; a first line of nothing else is no piece."""


@dataclass(frozen=True, slots=True)
class ListedPiece:
    """One line of the list."""

    named: str
    """As it stands in the list."""
    path: Path
    """Where the file is: from the list's folder, else from the working folder."""
    level: str


def read_list(path: Path) -> list[ListedPiece]:
    """The pieces of a list of two columns, path and level, divided by commas, semicolons or tabs; a head line may be there.

    Raises `UnusableInputError`, naming the line, for a line without a level.
    """
    try:
        text = bytes_of(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnusableInputError(
            f"{path} is not text in UTF-8; save the list as CSV UTF-8"
        ) from None
    first = next((line for line in text.splitlines() if line.strip()), "")
    divider = max(",;\t", key=first.count)
    pieces: list[ListedPiece] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, skipinitialspace=True)
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if not any(cells) or (not pieces and set(map(str.casefold, cells)) <= HEADS):
                continue
            if len(cells) < 2 or not cells[0] or not cells[1]:
                raise UnusableInputError(
                    f"{path}, line {reader.line_num}: a path and a level are needed, as in etude.musicxml,3"
                )
            pieces.append(ListedPiece(cells[0], _found(cells[0], path), cells[1]))
    except csv.Error as error:
        raise UnusableInputError(f"{path}, line {reader.line_num}: {error}") from None
    return pieces


def _found(named: str, listed_in: Path) -> Path:
    beside = listed_in.parent / named
    return beside if beside.exists() or not Path(named).exists() else Path(named)
