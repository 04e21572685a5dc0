"""What a chord can be in a key: its place, how common it is, and what it tends to go to.

A *function* is a root (fifths from the tonic) with a quality. The same list serves both modes; how
common each is differs. The figures are rounded expectations of the common practice (tonic and
dominant together make up about two thirds of all chords; see the counts of Temperley, *A
statistical analysis of tonal harmony*, 2009, and the usual textbook table of progressions), not
fitted to any single piece.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import log

from passagework.analysis.harmony.qualities import FLAT_NINTH, SUSPENDED_SEVENTH

CADENTIAL_TONES = {"cadential-major": (0, -1, 3), "cadential-minor": (0, -1, -4)}
"""Stand-in qualities inside the model: a dominant with fourth and (major, minor) sixth in place of
its third and fifth, which is what a cadential six-four is."""

GROUPS = (
    "I", "ii", "iii", "IV", "V", "vi", "bVI", "bIII", "bVII", "v", "N", "A6", "K",
    "D/V", "D/ii", "D/vi", "D/IV", "D/iii", "D/bIII", "D/bVI", "D/bVII", "X",
)  # fmt: skip
"""Classes of function that progress alike; ``D/x`` holds the dominants of x, ``K`` the cadential
six-four, ``N`` the Neapolitan, ``A6`` the augmented sixths, ``X`` whatever has no place in the key."""

# (root, quality, per mille in major, per mille in minor, group); 0 falls back on the floor below.
_TABLE: tuple[tuple[int, str, float, float, str], ...] = (
    (0, "major", 270, 12, "I"),
    (0, "minor", 9, 270, "I"),
    (0, "major-seventh", 1.5, 0.3, "I"),
    (0, "minor-seventh", 0.5, 3, "I"),
    (0, "major-sixth", 1, 0.3, "I"),
    (0, "augmented", 1.5, 0.3, "I"),
    (0, "major-minor", 0, 1, "I"),
    (1, "major", 105, 85, "V"),
    (1, "dominant", 150, 125, "V"),
    (1, "dominant-ninth", 5, 2, "V"),
    (1, "suspended-fourth", 5, 5, "V"),
    (1, SUSPENDED_SEVENTH, 1, 1, "V"),
    (1, FLAT_NINTH, 2, 6, "V"),
    (1, "augmented", 2, 1.5, "V"),
    (1, "augmented-seventh", 2, 2, "V"),
    (1, "minor", 3, 10, "v"),
    (1, "minor-seventh", 1, 2, "v"),
    (1, "cadential-major", 35, 2, "K"),
    (1, "cadential-minor", 2, 32, "K"),
    (5, "diminished", 14, 12, "V"),
    (5, "half-diminished", 8, 1, "V"),
    (5, "diminished-seventh", 10, 35, "V"),
    (-1, "major", 55, 8, "IV"),
    (-1, "minor", 8, 50, "IV"),
    (-1, "major-seventh", 4, 1, "IV"),
    (-1, "minor-seventh", 1, 7, "IV"),
    (2, "minor", 45, 3, "ii"),
    (2, "minor-seventh", 28, 2, "ii"),
    (2, "minor-ninth", 0.7, 0.3, "ii"),
    (2, "diminished", 2, 22, "ii"),
    (2, "half-diminished", 6, 24, "ii"),
    (3, "minor", 45, 2, "vi"),
    (3, "minor-seventh", 6, 0.5, "vi"),
    (3, "half-diminished", 0.5, 1.5, "vi"),
    (3, "diminished", 0.3, 1.5, "vi"),
    (4, "minor", 14, 0.5, "iii"),
    (4, "minor-seventh", 4, 0.3, "iii"),
    (-4, "major", 6, 35, "bVI"),
    (-4, "major-seventh", 1, 6, "bVI"),
    (-4, "minor", 1, 1, "bVI"),
    (-3, "major", 3, 22, "bIII"),
    (-3, "major-seventh", 0.5, 2.5, "bIII"),
    (-3, "augmented", 0.3, 2, "V"),
    (-3, "minor", 0.7, 0.7, "bIII"),
    (-2, "major", 2.5, 14, "bVII"),
    (-2, "minor", 0.7, 2, "bVII"),
    (-5, "major", 2.5, 8, "N"),
    (-5, "major-seventh", 0.5, 1, "N"),
    (6, "Italian", 2, 4, "A6"),
    (6, "German", 3, 6, "A6"),
    (2, "French", 1.5, 3, "A6"),
    (2, "major", 12, 6, "D/V"),
    (2, "dominant", 24, 12, "D/V"),
    (6, "diminished", 3, 2, "D/V"),
    (6, "diminished-seventh", 9, 9, "D/V"),
    (6, "half-diminished", 2.5, 1, "D/V"),
    (2, FLAT_NINTH, 0.7, 0.7, "D/V"),
    (3, FLAT_NINTH, 0.7, 0.1, "D/ii"),
    (4, FLAT_NINTH, 0.7, 0.1, "D/vi"),
    (0, FLAT_NINTH, 0.3, 0.7, "D/IV"),
    (3, "major", 5, 0.5, "D/ii"),
    (3, "dominant", 14, 1, "D/ii"),
    (7, "diminished", 1.5, 0.5, "D/ii"),
    (7, "diminished-seventh", 7, 1, "D/ii"),
    (4, "major", 5, 0.5, "D/vi"),
    (4, "dominant", 11, 1, "D/vi"),
    (8, "diminished", 1, 0.3, "D/vi"),
    (8, "diminished-seventh", 6, 0.5, "D/vi"),
    (0, "dominant", 14, 14, "D/IV"),
    (0, "dominant-ninth", 0.7, 0.5, "D/IV"),
    (0, "augmented-seventh", 0.7, 0.3, "D/IV"),
    (4, "diminished", 1.5, 2, "D/IV"),
    (4, "half-diminished", 1, 0.3, "D/IV"),
    (4, "diminished-seventh", 2, 7, "D/IV"),
    (5, "major", 1.5, 0.5, "D/iii"),
    (5, "dominant", 3, 0.5, "D/iii"),
    (9, "diminished-seventh", 1.5, 0.3, "D/iii"),
    (-2, "dominant", 2, 11, "D/bIII"),
    (2, "diminished-seventh", 0.7, 2.5, "D/bIII"),
    (-3, "dominant", 1, 5, "D/bVI"),
    (1, "diminished-seventh", 0.5, 1.5, "D/bVI"),
    (1, "half-diminished", 0.5, 0.7, "D/bVI"),
    (-1, "dominant", 1.2, 3, "D/bVII"),
    (3, "diminished-seventh", 0.7, 1, "D/bVII"),
    (-4, "dominant", 0.7, 1, "X"),
)

FLOOR = 0.25
"""Per mille for a function that has no entry: a chord foreign to the key."""
_FOREIGN: dict[str, range] = {
    "major": range(-7, 8),
    "minor": range(-7, 9),
    "dominant": range(-6, 8),
    "diminished": range(-2, 10),
    "half-diminished": range(-3, 10),
    "diminished-seventh": range(-1, 11),
    "minor-seventh": range(-4, 6),
    "major-seventh": range(-5, 3),
}
"""Foreign chords that are considered at all, by quality: roots in fifths from the tonic."""


@dataclass(frozen=True, slots=True)
class Function:
    """A chord's place in a key."""

    root: int
    """Fifths from the tonic."""
    quality: str
    group: int
    """Index into `GROUPS`."""
    prior: tuple[int, int]
    """Log probability in major and in minor, thousandths of a nat."""


# What follows what: log odds (nats) against what follows anything. From the usual table of root
# progressions (falling fifths, rising seconds, dominants to their own tonic).
_PROGRESSIONS: tuple[tuple[str, str, float], ...] = (
    ("V", "I", 0.8), ("V", "vi", 0.2), ("V", "bVI", 0.2), ("V", "IV", -0.8), ("V", "ii", -1.0),
    ("V", "iii", -0.7), ("V", "V", -0.2), ("V", "K", -1.0), ("V", "bIII", -0.3),
    ("I", "V", 0.2), ("I", "I", -0.3),
    ("ii", "V", 0.8), ("ii", "K", 1.2), ("ii", "I", -0.5), ("ii", "iii", -0.5),
    ("IV", "V", 0.3), ("IV", "K", 0.7), ("IV", "I", 0.3), ("IV", "ii", 0.3), ("IV", "vi", -0.6),
    ("vi", "ii", 0.6), ("vi", "IV", 0.4), ("vi", "I", -0.4), ("vi", "D/V", 0.5), ("vi", "iii", 0.3),
    ("bVI", "V", 0.2), ("bVI", "K", 0.3), ("bVI", "N", 0.4), ("bVI", "A6", 0.7), ("bVI", "ii", 0.5),
    ("bVI", "IV", 0.3), ("bVI", "D/V", 0.4),
    ("iii", "vi", 0.8), ("iii", "IV", 0.5), ("iii", "V", -0.5), ("iii", "I", -0.3),
    ("bIII", "bVI", 0.6), ("bIII", "IV", 0.3), ("bVII", "bIII", 1.0), ("bVII", "V", -0.3),
    ("v", "bVI", 0.6), ("v", "IV", 0.6), ("v", "V", -0.3),
    ("N", "V", 1.0), ("N", "K", 1.2), ("N", "D/V", 0.8), ("N", "I", -0.5),
    ("K", "D/V", -1.5),
    ("A6", "V", 1.3), ("A6", "K", 1.8), ("A6", "I", -1.5),
)  # fmt: skip
_RESOLVED = 1.5
"""A dominant that goes to its own tonic."""
_RESOLVED_MIXED = 1.2
"""The same into the other mode's chord on that degree (``V/vi`` to the flat sixth and the like)."""
_UNRESOLVED = -0.7
"""A dominant that goes elsewhere."""
_CADENTIAL_ON, _CADENTIAL_OFF = 2.2, -8.0
"""A six-four that is followed by its dominant, and one that is not: then it was none."""


def milli(value: float) -> int:
    """Nats to whole thousandths: whole numbers add up exactly in any order."""
    return round(value * 1000)


@cache
def functions() -> tuple[Function, ...]:
    """Every function considered, in order of group (a group's functions stand together)."""
    rows: dict[tuple[int, str], tuple[float, float, str]] = {
        (root, quality): (major, minor, group) for root, quality, major, minor, group in _TABLE
    }
    for quality, roots in _FOREIGN.items():
        for root in roots:
            rows.setdefault((root, quality), (0, 0, "X"))
    found = [
        Function(
            root,
            quality,
            GROUPS.index(group),
            (milli(log(max(major, FLOOR) / 1000)), milli(log(max(minor, FLOOR) / 1000))),
        )
        for (root, quality), (major, minor, group) in rows.items()
    ]
    return tuple(sorted(found, key=lambda f: (f.group, f.root, f.quality)))


@cache
def progressions() -> tuple[tuple[int, ...], ...]:
    """Log odds of going from group (row) to group (column), thousandths of a nat."""
    at = {name: i for i, name in enumerate(GROUPS)}
    table = [[0] * len(GROUPS) for _ in GROUPS]
    for name in GROUPS:
        if name == "K":
            table[at[name]] = [milli(_CADENTIAL_OFF)] * len(GROUPS)
            table[at[name]][at["V"]] = milli(_CADENTIAL_ON)
        elif name.startswith("D/"):
            table[at[name]] = [milli(_UNRESOLVED)] * len(GROUPS)
            table[at[name]][at[name]] = 0
            table[at[name]][at[name[2:]]] = milli(_RESOLVED)
    table[at["D/V"]][at["K"]] = milli(_RESOLVED_MIXED)
    table[at["D/vi"]][at["bVI"]] = milli(_RESOLVED_MIXED / 2)
    for first, second, odds in _PROGRESSIONS:
        table[at[first]][at[second]] = milli(odds)
    return tuple(tuple(row) for row in table)
