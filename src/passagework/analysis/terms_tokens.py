"""Cuts a phrase into the terms and words of degree that it is made of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from passagework.analysis.lexicon import (
    LONGEST_KEY,
    Helper,
    Language,
    key_of,
    lexicon,
)
from passagework.analysis.terms_forms import Form, find_forms

_WORD = re.compile(
    r"\d*[^\W\d_](?:[^\W_]|[.'’`´\-](?=[^\W\d_]))*[°º]?\.?|\d+(?:er|re)?\b\.?", re.IGNORECASE
)
_BREAK = re.compile(r"[,;:()\[\]–—\n/]|\s-\s")


@dataclass(frozen=True, slots=True)
class Token:
    """One word as written; `broken` where a comma or bracket stands before it."""

    text: str
    key: str
    broken: bool
    dotted: bool


@dataclass(slots=True)
class Item:
    """One or several words that mean something together."""

    text: str
    broken: bool
    forms: tuple[Form, ...] = ()
    helpers: tuple[Helper, ...] = ()
    languages: frozenset[str] = field(default_factory=frozenset)

    @property
    def known(self) -> bool:
        """Whether the lexicon has it."""
        return bool(self.forms or self.helpers)


def tokens(text: str) -> list[Token]:
    """The words of `text`; words run together with a full stop or hyphen are parted where that helps."""
    found: list[Token] = []
    last = 0
    for match in _WORD.finditer(text):
        broken = bool(_BREAK.search(text[last : match.start()]))
        last = match.end()
        for k, part in enumerate(_parted(match[0])):
            key = key_of(part)
            if key:
                found.append(Token(part, key, broken and k == 0, part.endswith(".")))
    return found


def _parted(word: str) -> list[str]:
    if lexicon().knows(key_of(word)) or not re.search(r"[.'’`´\-]\w", word):
        return [word]
    pieces = re.split(r"(?<=[.])(?=\w)|-(?=\w)", word)
    parts: list[str] = []
    for piece in pieces:
        elided = re.match(r"(\w{1,4})['’`´](\w.*)", piece)
        if elided and not lexicon().knows(key_of(piece)):
            parts += [elided[1], elided[2]]
        else:
            parts.append(piece)
    return parts


def items(text: str) -> list[Item]:
    """The longest entries of the lexicon that the words of `text` make, from left to right."""
    row = tokens(text)
    found: list[Item] = []
    at = 0
    while at < len(row):
        item, used = _longest(row, at)
        found.append(item)
        at += used
    return found


def _longest(row: Sequence[Token], at: int) -> tuple[Item, int]:
    book = lexicon()
    most = 1
    while most < min(LONGEST_KEY, len(row) - at) and not row[at + most].broken:
        most += 1
    for count in range(most, 0, -1):
        part = row[at : at + count]
        key = " ".join(t.key for t in part)
        text = " ".join(t.text for t in part)
        if book.knows(key):
            return _item(text, part[0].broken, key), count
        if count > 1:
            joined = "".join(t.key for t in part)
            if len(joined) > 5 and joined in book.lines and not _all_known(part):
                return _item(text, part[0].broken, joined), count
    token = row[at]
    forms = find_forms(token.text, token.dotted)
    item = Item(token.text, token.broken, forms)
    item.languages = frozenset(f.entry.language for f in forms)
    return item, 1


def _all_known(part: Sequence[Token]) -> bool:
    """Syllables (*cre scen do*) are joined only where they are no words themselves."""
    return all(lexicon().knows(t.key) for t in part)


def _item(text: str, broken: bool, key: str) -> Item:
    book = lexicon()
    item = Item(text, broken, tuple(Form(e) for e in book.entries(key)), book.helpers.get(key, ()))
    item.languages = frozenset(
        [f.entry.language for f in item.forms] + [h.language for h in item.helpers]
    )
    return item


def language_of(found: Sequence[Item], hint: Language | None = None) -> Language:
    """The language that most of the phrase is in, the hinted one where it is a draw, else Italian."""
    votes: dict[str, float] = dict.fromkeys(("it", "fr", "de", "en"), 0.0)
    for item in found:
        for language in item.languages:
            # a word that several languages share tells little about which of them it is
            weight = len(key_of(item.text)) ** 0.5 if item.forms else 1.0
            votes[language] += weight / len(item.languages) ** 2
    if hint is not None:
        votes[hint] += 0.9
    order: tuple[Language, ...] = ("it", "fr", "de", "en")
    return max(order, key=lambda language: (votes[language], language == "it"))
