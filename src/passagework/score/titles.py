"""Title and composer of a document, wherever the program put them."""

from __future__ import annotations

import re
from pathlib import PurePath

from passagework.score.markup import Element

_NO_TITLE = re.compile(
    r"copyright|©|\(c\)|rights reserved|www\.|https?:|^\d+$|^(page|seite)\b", re.IGNORECASE
)
"""What stands on first pages without being a title."""

LONGEST = 160
"""Characters kept; longer text in a title field is a note to the reader."""


TITLE_OF_FILE = 80
"""Characters: what fits a line of the library."""


def title_of_file(file_name: str) -> str:
    """What to call a piece that has no title: the file's name without its ending, in words; "" for none."""
    stem = PurePath(file_name).stem.replace("_", " ").replace("-", " ").strip()
    return stem[:TITLE_OF_FILE].encode("utf-8", "replace").decode()  # names need not be UTF-8


def read_titles(root: Element) -> tuple[str, str]:
    """(title, composer); an empty string where the document gives none."""
    work = _plain(root.findtext("work/work-title"))
    movement = _plain(root.findtext("movement-title"))
    title = work or movement
    if work and movement and movement.lower() not in work.lower():
        title = f"{work}: {movement}"
    composer = ""
    for creator in root.findall("identification/creator"):
        if creator.get("type") in {"composer", None} and not composer:
            composer = _plain(creator.text)
    for credit in root.findall("credit"):
        kind = (credit.findtext("credit-type") or "").strip()
        text = _plain(" ".join(w.text or "" for w in credit.findall("credit-words")))
        if kind == "title" and not title:
            title = text
        elif kind == "composer" and not composer:
            composer = text
    return title or _largest_credit(root), composer


def _largest_credit(root: Element) -> str:
    """The words in the largest type of the first page, which is where a title would stand."""
    best, words = 0.0, ""
    for credit in root.findall("credit"):
        if credit.get("page", "1") != "1":
            continue
        for node in credit.findall("credit-words"):
            try:
                size = float(node.get("font-size", "0"))
            except ValueError:
                size = 0.0
            text = _plain(node.text)
            if size > best and text and not _NO_TITLE.search(text):
                best, words = size, text
    return words


def _plain(text: str | None) -> str:
    return " ".join((text or "").split())[:LONGEST]
