"""Forms of words: superlatives, adverbs, gender, gerunds, comparatives, syllables and abbreviations."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from passagework.analysis.lexicon import LANGUAGES, Entry, Language, key_of, lexicon

SUPERLATIVE = 1.7
"""Degree of *-issimo* and of German *-ste*, a little above *molto* (1.5)."""
DIMINUTIVE = 0.6
"""Degree of *-etto*, *-ino*: about *poco*."""
SHORTEST_ABBREVIATION = 3
"""Letters before the dot below which an abbreviation is not completed."""
SHORTEST_STEM = 3
SHORTEST_INFLECTED = 5
"""Letters from which on an Italian word may change its last vowel: *alle* is no form of *allo* (allegro)."""
SHORTEST_SUGGESTED = 5
"""Letters of a word below which a near spelling is too often another word."""


@dataclass(frozen=True, slots=True)
class Form:
    """An entry found through a form of its word."""

    entry: Entry
    size: float = 1.0
    comparative: bool = False
    becoming: bool = False
    """True for a gerund: *animando* is becoming *animato*."""


@lru_cache(maxsize=4096)
def find_forms(word: str, dotted: bool = False) -> tuple[Form, ...]:
    """Entries that `word` (one word, any spelling) is a form of; `dotted` where a full stop follows."""
    key = key_of(word)
    book = lexicon()
    if key in book.lines:
        return tuple(Form(e) for e in book.entries(key))
    found: list[Form] = []
    for language in LANGUAGES:
        for base, size, comparative, becoming in _bases(key, language):
            entry = book.entry(base, language)
            if entry is not None:
                found.append(Form(entry, size, comparative, becoming))
                break
    if not found and dotted and len(key) >= SHORTEST_ABBREVIATION:
        found += _completed(key)
    return tuple(found)


def _bases(key: str, language: Language) -> Iterator[tuple[str, float, bool, bool]]:
    makers = {"it": _italian, "fr": _french, "de": _german, "en": _english}
    yield from makers[language](key)


def _italian(key: str) -> Iterator[tuple[str, float, bool, bool]]:
    for ending, size in (
        ("issimamente", SUPERLATIVE),
        ("amente", 1.0),
        ("emente", 1.0),
        ("mente", 1.0),
    ):
        if key.endswith(ending):
            stem = key[: -len(ending)]
            for vowel in ("o", "e", "a", ""):
                yield stem + vowel, size, False, False
    if len(key) > 6 and key[-6:-1] == "issim" and key[-1] in "oaie":
        for vowel in ("o", "e", "a"):
            yield key[:-6] + vowel, SUPERLATIVE, False, False
    for ending in ("ando", "endo", "andosi", "endosi"):
        if key.endswith(ending) and len(key) > len(ending) + 2:
            stem = key[: -len(ending)]
            for participle in ("ato", "ito", "uto"):
                yield stem + participle, 1.0, False, True
    for ending in ("etto", "etta", "ino", "ina", "ello"):
        if key.endswith(ending) and len(key) > len(ending) + 3:
            for vowel in ("o", "e"):
                yield key[: -len(ending)] + vowel, DIMINUTIVE, False, False
    if key and key[-1] in "oaie" and len(key) >= SHORTEST_INFLECTED:
        for vowel in "oaei":
            yield key[:-1] + vowel, 1.0, False, False


def _french(key: str) -> Iterator[tuple[str, float, bool, bool]]:
    for ending in ("s", "x", "e", "es"):
        if key.endswith(ending) and len(key) - len(ending) >= SHORTEST_STEM:
            yield key[: -len(ending)], 1.0, False, False
    for ending, swap in (
        ("ment", ""),
        ("ement", ""),
        ("ement", "e"),
        ("euse", "eux"),
        ("ive", "if"),
        ("ere", "er"),
    ):
        if key.endswith(ending) and len(key) - len(ending) >= SHORTEST_STEM:
            yield key[: -len(ending)] + swap, 1.0, False, False
    for ending in ("ant", "ez", "er"):
        if key.endswith(ending) and len(key) - len(ending) >= SHORTEST_STEM:
            yield key[: -len(ending)] + "e", 1.0, False, True


def _german(key: str) -> Iterator[tuple[str, float, bool, bool]]:
    plain = key.replace("ae", "a").replace("oe", "o").replace("ue", "u")
    stems = [key] if plain == key else [key, plain]
    for stem in stems[1:]:
        yield stem, 1.0, False, False
    for stem in stems:
        for ending in ("esten", "este", "ester", "estes", "sten", "ste", "stes", "ster", "st"):
            if stem.endswith(ending) and len(stem) - len(ending) >= SHORTEST_STEM:
                yield stem[: -len(ending)], SUPERLATIVE, False, False
        if stem.endswith("er") and len(stem) > 5:
            yield stem[:-2], 1.0, True, False
            yield stem[:-1], 1.0, True, False  # leiser, from leise
        for ending in ("ere", "eren", "eres", "erem"):
            if stem.endswith(ending) and len(stem) - len(ending) >= SHORTEST_STEM:
                yield stem[: -len(ending)], 1.0, True, False
        for ending in ("en", "em", "es", "e"):
            if stem.endswith(ending) and len(stem) - len(ending) >= SHORTEST_STEM:
                yield stem[: -len(ending)], 1.0, False, False


def _english(key: str) -> Iterator[tuple[str, float, bool, bool]]:
    if key.endswith("ly"):
        yield key[:-2], 1.0, False, False
        if key.endswith("ily"):
            yield key[:-3] + "y", 1.0, False, False
    if key.endswith("er") and len(key) > 5:
        yield key[:-2], 1.0, True, False
        yield key[:-1], 1.0, True, False
        if key.endswith("ier"):
            yield key[:-3] + "y", 1.0, True, False


def _completed(key: str) -> list[Form]:
    """The entries that the letters before a full stop begin, where they leave no choice."""
    book = lexicon()
    found: list[Form] = []
    begun = [k for k in book.lines if k.startswith(key) and " " not in k]
    for language in LANGUAGES:
        entries = {e.readings: e for k in begun if (e := book.entry(k, language))}
        if len(entries) == 1:
            found.append(Form(next(iter(entries.values()))))
    return found


def near_spellings(word: str) -> tuple[Entry, ...]:
    """Entries spelled nearly like `word`: at most one slip in five letters, two in longer words."""
    key = key_of(word)
    if len(key) < SHORTEST_SUGGESTED:
        return ()
    allowed = 1 if len(key) <= 6 else 2
    best: dict[str, int] = {}
    book = lexicon()
    for other in book.lines:
        if abs(len(other) - len(key)) > allowed or len(other) < SHORTEST_SUGGESTED:
            continue
        if other[0] != key[0] and other[1:3] != key[1:3]:
            continue
        distance = _slips(key, other, allowed)
        if distance <= allowed:
            best[other] = distance
    ranked = sorted(best, key=lambda k: (best[k], k))[:3]
    return tuple(book.entries(k)[0] for k in ranked)


def _slips(a: str, b: str, most: int) -> int:
    """Letters changed, added, dropped or swapped (Damerau 1964); more than `most` counts as most + 1."""
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        older, before, row = before, row, [i]
        for j, y in enumerate(b, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                cost = min(cost, older[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return row[-1]
