"""The lexicon of terms: what a word on the page means, in Italian, French, German and English.

The data is ``lexicon.toml``; this module gives it types and finds entries. A *key* is a spelling made
comparable: no accents, case, dots or hyphens, ``ß`` as ``ss``, so that ``"Più-mosso"`` is ``"piu mosso"``.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal, cast

Language = Literal["it", "fr", "de", "en"]
LANGUAGES: tuple[Language, ...] = ("it", "fr", "de", "en")
LANGUAGE_NAMES = {"it": "Italian", "fr": "French", "de": "German", "en": "English"}

Dimension = Literal[
    "loudness", "tempo", "touch", "pedal", "character", "technique", "modifier"
]  # fmt: skip
"""What a term acts on; ``modifier`` is a word of degree that stands alone."""

Role = Literal[
    "degree", "more", "less", "not", "limit", "gradual", "fewer", "always", "still", "sudden", "until", "link",
]  # fmt: skip
"""What a word does to others."""

LONGEST_KEY = 5
"""Words in the longest entry that is looked for."""


@dataclass(frozen=True, slots=True)
class Atom:
    """One effect of an entry as the lexicon writes it, ``tempo beat 60-80``."""

    dimension: Dimension
    verb: str
    values: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One term. `readings` are its possible effects, the usual one first."""

    name: str
    language: Language
    meaning: str
    readings: tuple[tuple[Atom, ...], ...]


@dataclass(frozen=True, slots=True)
class Helper:
    """A word that acts on others; `size` is the degree of a degree word (1 is plain), else 1."""

    name: str
    language: Language
    role: Role
    size: float = 1.0


@dataclass(frozen=True)
class Lexicon:
    """Both tables by key; several languages may share a key."""

    lines: dict[str, dict[Language, tuple[Dimension, str]]]
    """For every key the line of the data file, by language. Lines are made entries when asked for."""
    helpers: dict[str, tuple[Helper, ...]]

    def entries(self, key: str) -> tuple[Entry, ...]:
        """The terms with `key`, one for each language that has it."""
        return tuple(
            _entry(line, lang, dim) for lang, (dim, line) in self.lines.get(key, {}).items()
        )

    def entry(self, key: str, language: Language) -> Entry | None:
        """The term with `key` in `language`."""
        found = self.lines.get(key, {}).get(language)
        return _entry(found[1], language, found[0]) if found else None

    def knows(self, key: str) -> bool:
        """Whether `key` is a term or a word that acts on terms."""
        return key in self.lines or key in self.helpers


_FOLD: dict[int, str | None] = {
    **dict.fromkeys(map(ord, ".’'`´°º♯♭")),
    **dict.fromkeys(map(ord, "-–—_/,;"), " "),
    **{ord(a): b for a, b in {"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "ı": "i"}.items()},
    **{
        ord(a): b
        for a, b in zip("àâäáãèéêëìíîïòóôöõùúûüçñ", "aaaaaeeeeiiiiooooouuuucn", strict=True)
    },
}


@lru_cache(maxsize=8192)
def key_of(text: str) -> str:
    """The key of `text`: folded spelling, words separated by single spaces."""
    text = text.casefold()
    if not text.isalpha() or not text.isascii():
        text = text.translate(_FOLD)
    if not text.isascii():
        text = "".join(
            c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c)
        )
    return " ".join(text.split())


_FOLD_BLOCK = {c: to for c, to in _FOLD.items() if chr(c) not in ",;'"}


@lru_cache(maxsize=1)
def lexicon() -> Lexicon:
    """The lexicon, read once."""
    raw = tomllib.loads(Path(__file__).with_name("lexicon.toml").read_text(encoding="utf-8"))
    lines: dict[str, dict[Language, tuple[Dimension, str]]] = {}
    helpers: dict[str, tuple[Helper, ...]] = {}
    for language in LANGUAGES:
        for dimension, block in raw[language].items():
            # folding a whole block at once is several times faster than folding name by name
            folded = block.casefold().translate(_FOLD_BLOCK).splitlines()
            for line, plain in zip(block.splitlines(), folded, strict=True):
                for name in plain[: plain.find(" ; ")].split(","):
                    for key in _keys(name):
                        lines.setdefault(key, {}).setdefault(language, (dimension, line))
        for role, text in raw["words"][language].items():
            for helper in _helpers(text, language, cast(Role, role)):
                for key in _keys(helper.name.casefold().translate(_FOLD_BLOCK)):
                    helpers[key] = (*helpers.get(key, ()), helper)
    return Lexicon(lines, helpers)


def _keys(folded: str) -> tuple[str, ...]:
    """Keys of a folded name; one with an apostrophe is found joined and parted (*uneco*, *un eco*)."""
    if "'" in folded:
        return (
            " ".join(folded.replace("'", "").split()),
            " ".join(folded.replace("'", " ").split()),
        )
    return (" ".join(folded.split()),) if folded else ()


@lru_cache(maxsize=2048)
def _entry(line: str, language: Language, dimension: Dimension) -> Entry:
    names, meaning, *effect = (part.strip() for part in line.split(" ; "))
    readings = tuple(
        tuple(_atom(a, dimension) for a in reading.split(" + "))
        for reading in (effect[0] if effect else "plain").split(" / ")
    )
    return Entry(names.split(",")[0].strip(), language, meaning, readings)


@lru_cache(maxsize=512)
def _atom(text: str, dimension: Dimension) -> Atom:
    words = text.split()
    if words[0] in {"loudness", "tempo", "touch", "pedal", "character", "technique"}:
        dimension = cast(Dimension, words.pop(0))
    verb = words[0] if words else "plain"
    values = tuple(float(v) for v in words[1].split("-")) if len(words) > 1 else ()
    return Atom(dimension, verb, values)


def _helpers(text: str, language: Language, role: Role) -> list[Helper]:
    found = []
    for item in text.split(","):
        name, size = item.strip(), 1.0
        match = re.fullmatch(r"(.+) ([\d.]+)", name)
        if match:
            name, size = match[1], float(match[2])
        found.append(Helper(name, language, role, size))
    return found
