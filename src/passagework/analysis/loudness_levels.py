"""The scale of loudness: one step for each sign from pppp to ffff, and what a sign means on it.

A level is a float: pppp 0, ppp 1, pp 2, p 3, mp 4, mf 5, f 6, ff 7, fff 8, ffff 9. Signs are relative to the piece and
the player (Kosta, Bandtlow and Chew, 2018, found performers' loudness for one sign to depend on the signs round
it), so the MIDI velocities are a convention: equal steps, as the velocity table of the MIDI 1.0 specification
spaces ppp to fff, with mp on 64, the value the specification gives a keyboard without velocity.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

SIGNS = ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff")
SOFTEST, LOUDEST = 0.0, 9.0
MP_LEVEL = 4.0
VELOCITY_OF_MP = 64.0
VELOCITY_STEP = 16.0

ASSUMED_LEVEL = 5.0
"""mf: what is assumed of music without any sign, neither soft nor loud."""

SFORZATO_STEPS = 1.5
"""How far sf, sfz and fz stand out: between one and two signs, an assumption (no figure holds for all)."""
RINFORZATO_STEPS = 1.0
DOUBLE_SFORZATO_STEPS = 2.5
ACCENT_STEPS = {"accent": 0.75, "strong-accent": 1.25, "tenuto": 0.25}
"""The same for the signs at a note, by MusicXML's names; assumptions."""

_LEVEL = re.compile(r"p{1,6}|f{1,6}|mp|mf|n")
_ACCENT = re.compile(r"(s?f{1,3}z?|rfz?|sfz{1,2}|mf)(p{1,3}|f{1,2}|mp|mf)?")


_GLYPHS = {
    "\ue520": "p", "\ue521": "m", "\ue522": "f", "\ue523": "r", "\ue524": "s", "\ue525": "z",
    "\ue529": "pppp", "\ue52a": "ppp", "\ue52b": "pp", "\ue52c": "mp", "\ue52d": "mf",
    "\ue52f": "ff", "\ue530": "fff", "\ue531": "ffff", "\ue534": "fp", "\ue535": "fz",
    "\ue536": "sf", "\ue537": "sfp", "\ue538": "sfpp", "\ue539": "sfz", "\ue53b": "sffz",
}  # fmt: skip
"""Dynamics as characters of music fonts (SMuFL), which some files put into plain words."""


def without_glyphs(text: str) -> str:
    """`text` with the letters of a music font turned into plain ones."""
    return "".join(_GLYPHS.get(c, c) for c in text)


def spelled(text: str) -> str:
    """A sign as plain letters: no font's characters, brackets or blanks."""
    return without_glyphs(text).replace(" ", "").strip("()[]").lower()


def velocity(level: float) -> int:
    """MIDI velocity (1 to 127) of `level`."""
    return max(1, min(127, round(VELOCITY_OF_MP + VELOCITY_STEP * (level - MP_LEVEL))))


def level_of(sign: str) -> float | None:
    """Level of a plain sign such as ``"mf"``; None for any other text."""
    if not _LEVEL.fullmatch(sign):
        return None
    if sign == "n" or sign.startswith("ppp"):
        return SOFTEST if sign == "n" else max(SOFTEST, 4.0 - len(sign))
    if sign.startswith("fff"):
        return min(LOUDEST, 5.0 + len(sign))
    return float(SIGNS.index(sign))


def level_name(level: float) -> str:
    """The sign for `level`, or the two it lies between: ``"mf"``, ``"between p and mp"``."""
    nearest = round(level)
    if abs(level - nearest) <= 0.25:
        return SIGNS[max(0, min(9, nearest))]
    low = max(0, min(8, int(level)))
    return f"between {SIGNS[low]} and {SIGNS[low + 1]}"


@dataclass(frozen=True, slots=True)
class Sign:
    """A dynamic sign: the level it sets (None for an accent alone), and how loud its first note is."""

    level: float | None
    attack_steps: float = 0.0
    """Steps above the level round it, for sf and its like."""
    attack_level: float | None = None
    """Level of the attack where the sign names it (f of fp)."""


def read_sign(text: str) -> Sign | None:
    """The sign ``text``, as ``"p"``, ``"sfz"``, ``"fp"``, ``"sfpp"``; None where it is no sign."""
    text = without_glyphs(text)
    level = level_of(text)
    if level is not None:
        return Sign(level)
    match = _ACCENT.fullmatch(text)
    if match is None:
        return None
    head, tail = match[1], match[2]
    after = level_of(tail) if tail else None
    plain = level_of(head)
    if plain is not None:
        return Sign(after, attack_level=plain)
    if head.startswith("r"):
        return Sign(after, RINFORZATO_STEPS)
    return Sign(after, DOUBLE_SFORZATO_STEPS if "ff" in head else SFORZATO_STEPS)


def is_sign(text: str) -> bool:
    """Whether `text` is a dynamic sign and not a word."""
    return read_sign(text) is not None
