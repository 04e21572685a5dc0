"""Tells text that is no term apart from terms: metronome marks, numbers, jumps, headings, credits, signs."""

from __future__ import annotations

import re
from dataclasses import dataclass

from passagework.analysis.lexicon import key_of, lexicon
from passagework.analysis.terms_effects import Apart

SMUFL_DYNAMICS = {
    0xE520: "p", 0xE521: "m", 0xE522: "f", 0xE523: "r", 0xE524: "s", 0xE525: "z", 0xE526: "n",
    0xE529: "pppp", 0xE52A: "ppp", 0xE52B: "pp", 0xE52C: "mp", 0xE52D: "mf", 0xE52E: "pf", 0xE52F: "ff",
    0xE530: "fff", 0xE531: "ffff", 0xE534: "fp", 0xE535: "fz", 0xE536: "sf", 0xE537: "sfp", 0xE538: "sfpp",
    0xE539: "sfz", 0xE53A: "sfzp", 0xE53B: "sffz", 0xE53C: "rf", 0xE53D: "rfz",
}  # fmt: skip
"""Characters of the SMuFL standard that are letters of dynamic signs."""

_PRIVATE = re.compile("[\ue000-\uf8ff\U0001d100-\U0001d1ff]+")
_NOTE = r"(?:[♩♪♫♬𝅝𝅗𝅘\ue1d0-\ue1ef\ueca0-\uecb7]|[hqew]|half|quarter|eighth|\d/\d)\.?"
_METRONOME = re.compile(
    rf"\(?\s*(?:\bm\.?\s*m\.?\s*(?=$|=|{_NOTE}|\d|\))\.?)?\s*(?:{_NOTE})?\s*=\s*"
    rf"(?:(?:ca?\.?|circa|um)\s*)?(?:\d+(?:\s*[-–]\s*\d+)?|{_NOTE})?\s*\)?"
    r"|\bm\.\s*m\.(?!\w)\s*\d*(?:\s*[-–]\s*\d+)?",
    re.IGNORECASE,
)
_JUMP = re.compile(
    r"\b(?:d\.\s*[cs]\.?|da\s+capo|dal\s+segno|dc|ds)(?:\s+(?:al|alla|e|poi|la|il|to|senza|repetizione|ripetizione|fine|coda|segno|replica))*\b\.?"
    r"|\b(?:to|al|alla)\s+coda\b|^\s*\W*(?:(?:al\s+)?(?:fine|coda|segno)|to coda)\W*$",
    re.IGNORECASE,
)
_CREDIT = re.compile(
    r"©|\(c\)|\b(?:copyright|fingering|fingered|edited|transcri\w+|arr\.|arranged|composed|composer|music by|words by|lyrics|"
    r"op\.\s?\d|opus \d|kv?\.?\s?\d+|bwv\s?\d|d\.\s?\d{2,}|www\.|http|page \d|seite|typeset|engraved|public domain|"
    r"gewidmet|zuge?eignet|dedi(?:cated|ée?)\b|dédiée?)|\b1[5-9]\d\d\b|\b20\d\d\b",
    re.IGNORECASE,
)
_HEADING = re.compile(
    r"\b(?:(?:in\s+)?(?:minore|maggiore|minor|mineur|majeur)|trio|intermezzo|var(?:iation|iazione|\.)?|thema|theme|tema(?!\s+\w)|"
    r"son(?:ate|ata|atina)|fantas(?:ie|ia)|arabes(?:ke|que)|rondo|scherzo|pr[eé]lud(?:e|ium|io)|fug(?:e|a|ue)|menuett?o?|minuett?o?|"
    r"wal(?:tz|zer)|[eé]tude|impromptu|nocturne|ballade|mazurka|polonaise|gavotte|sarabande|courante|allemande|gigue|bourr[eé]e|"
    r"introdu(?:ction|zione)|einleitung|finale|coda|satz|mus?ette|aria|chorale?|invention|sinfonia|suite|lied|"
    r"zum schlu(?:ß|ss)|schlu(?:ß|ss)|verse|chorus|bridge|refrain|intro|outro|section|part)"
    r"\b\.?(?:\s+(?:in|en)\s+[a-h][♯♭]?(?:[ -]?(?:dur|moll|major|minor|flat|sharp|is|es|s))*\b)?"
    r"(?:\s*(?:no\.?|nr\.?|#)?\s*(?:[ivx]+|\d+)\b\.?)?(?=[^\w]|$)",
    re.IGNORECASE,
)
_CHORD_NAME = r"[A-G][b#♭♯]?(?:(?:maj|min|mi|m|M|dim|aug|sus|add|°|ø|\+)?(?:[245679]|11|13)?(?:sus[24]?|add\d|[b#♭♯]\d)?)(?:/[A-G][b#♭♯]?)?"
_CHORDS = re.compile(rf"\(?\s*{_CHORD_NAME}(?:[\s|,–-]+{_CHORD_NAME})*\s*\)?")
"""Chord symbols typed as words, one or several."""
_BAR_LABEL = re.compile(
    r"\b(?:mm?\.|bars?|measures?|takte?|battut[ae]|mesures?)\s*\d+(?:\s*[-–]\s*\d+)?", re.IGNORECASE
)
_PREVIOUS_TERM = re.compile(r"\b(?:di|alla|quasi|de|im|tempo|una?|come)\s*$", re.IGNORECASE)
_NUMERAL = re.compile(r"(?<![\w°])(?:n[or]\.\s*)?[.#]?\d+(?:[.,]\d+)?(?:[.):\]]|\b)(?!\s*(?:corda|corde|ped|er|re|°|º|va|ma|mo|tempo|mouv))(?=\W|$)", re.IGNORECASE)  # fmt: skip
_LINE = re.compile(
    r"(?:(?<=[\s.])|^)(?:(?:[-–—_…]|\.{2,})+\s*)+(?=\s|$)|(?<=\w)[-–—_…]+\s*$|(?<=\w)-(?=\s)"
)
_ROMAN = re.compile(r"^\W*[IVX]+\W*$")
_TEMPO_FIRST = re.compile(
    r"\btempo\s*(?:1\s*(?:mo|[°ºo])?|i\s*(?:mo|[°º])?|i)(?![\w])|\b(?:1\s*[°ºo]|i\s*[°º])\s*tempo\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Sifted:
    """What is left to be read as terms, and what was told apart. `kept` has the length of the text."""

    kept: str
    apart: tuple[Apart, ...]


def sift(text: str) -> Sifted:
    """Tell `text` apart; what is no term is blanked in the result, so that places stay the same."""
    apart: list[Apart] = []
    text = _PRIVATE.sub(lambda m: _glyphs(m[0], apart), text)
    text = _TEMPO_FIRST.sub(lambda m: "tempo primo".ljust(len(m[0])), text)
    if _CHORDS.fullmatch(text.strip()):
        kind = "heading" if len(text.strip()) == 1 else "chord"
        return Sifted(" " * len(text), (*apart, Apart(text.strip(), kind)))
    if _ROMAN.match(text) and text.strip() not in {"I", "V", "X"}:
        return Sifted(" " * len(text), (*apart, Apart(text.strip(), "heading")))
    text = _take(_METRONOME, text, "metronome", apart)
    if _CREDIT.search(text):
        whole = " ".join(text.split())
        return Sifted(" " * len(text), (*apart, Apart(whole, "credit")))
    text = _take(_JUMP, text, "jump", apart)
    text = _take(_BAR_LABEL, text, "number", apart)
    text = _take_headings(text, apart)
    text = _take(_NUMERAL, text, "number", apart)
    text = _take(_LINE, text, "line", apart)
    return Sifted(text, tuple(apart))


def _glyphs(run: str, apart: list[Apart]) -> str:
    letters = [SMUFL_DYNAMICS.get(ord(c)) for c in run]
    if all(letters):
        return " " + "".join(c or "" for c in letters) + " "
    if re.search("[\ue1d0-\ue1ef\ueca0-\uecb7\U0001d15d-\U0001d164]", run):
        return run  # a note value, which belongs to a metronome mark
    apart.append(Apart(run, "sign"))
    return " "


def _take(pattern: re.Pattern[str], text: str, kind: str, apart: list[Apart]) -> str:
    def blank(match: re.Match[str]) -> str:
        found = match[0].strip()
        if not found:
            return match[0]
        apart.append(Apart(found, kind))
        return " " * len(match[0])

    return pattern.sub(blank, text)


def _take_headings(text: str, apart: list[Apart]) -> str:
    """Names of forms and sections, unless the words before make a term of them (*tempo di valzer*)."""

    def blank(match: re.Match[str]) -> str:
        before = text[: match.start()]
        if _PREVIOUS_TERM.search(before) or lexicon().knows(key_of(text.strip())):
            return match[0]
        apart.append(Apart(match[0].strip(), "heading"))
        return " " * len(match[0])

    return _HEADING.sub(blank, text)
