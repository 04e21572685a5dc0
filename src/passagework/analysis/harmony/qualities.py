"""Qualities of chords, under the value names of MusicXML's harmony ``kind``.

Every tone is a place on the line of fifths counted from the root (third of a major triad = 4,
minor seventh = -2), so that a chord is a spelled thing and transposes by adding one number.
"""

from __future__ import annotations

from dataclasses import dataclass

MAJOR_THIRD, MINOR_THIRD = 4, -3
FIFTH, DIMINISHED_FIFTH, AUGMENTED_FIFTH = 1, -6, 8
MINOR_SEVENTH, MAJOR_SEVENTH, DIMINISHED_SEVENTH = -2, 5, -9
MAJOR_SECOND, FOURTH = 2, -1


@dataclass(frozen=True, slots=True)
class Quality:
    """One kind of chord."""

    kind: str
    """MusicXML's name."""
    tones: tuple[int, ...]
    """Fifths from the root, in order of stacking: root, third, fifth, seventh, ninth."""
    suffix: str
    """What follows the root in a common chord symbol."""
    shares: tuple[int, ...]
    """How much of the chord's sound each tone has, in percent (they add up to 100). Roots are
    doubled most, fifths of sevenths left out first: the doubling rules of four-part writing."""
    seventh: bool = False
    minor_third: bool = False
    """Whether its numeral is written in small letters."""


SUSPENDED_SEVENTH = "suspended-seventh"
"""Only inside the model: a dominant seventh with its fourth in place of the third."""
FLAT_NINTH = "dominant-flat-ninth"
"""Only inside the model: MusicXML calls it a dominant with a degree added."""

QUALITIES: dict[str, Quality] = {
    q.kind: q
    for q in (
        Quality("major", (0, MAJOR_THIRD, FIFTH), "", (38, 31, 31)),
        Quality("minor", (0, MINOR_THIRD, FIFTH), "m", (38, 31, 31), minor_third=True),
        Quality(
            "diminished", (0, MINOR_THIRD, DIMINISHED_FIFTH), "dim", (32, 36, 32), minor_third=True
        ),
        Quality("augmented", (0, MAJOR_THIRD, AUGMENTED_FIFTH), "aug", (34, 33, 33)),
        Quality("dominant", (0, MAJOR_THIRD, FIFTH, MINOR_SEVENTH), "7", (30, 26, 20, 24), True),
        Quality(
            "minor-seventh",
            (0, MINOR_THIRD, FIFTH, MINOR_SEVENTH),
            "m7",
            (28, 26, 22, 24),
            True,
            True,
        ),
        Quality(
            "major-seventh", (0, MAJOR_THIRD, FIFTH, MAJOR_SEVENTH), "maj7", (28, 26, 22, 24), True
        ),
        Quality(
            "major-minor",
            (0, MINOR_THIRD, FIFTH, MAJOR_SEVENTH),
            "m(maj7)",
            (28, 26, 22, 24),
            True,
            True,
        ),
        Quality(
            "half-diminished",
            (0, MINOR_THIRD, DIMINISHED_FIFTH, MINOR_SEVENTH),
            "m7b5",
            (25, 25, 25, 25),
            True,
            True,
        ),
        Quality(
            "diminished-seventh",
            (0, MINOR_THIRD, DIMINISHED_FIFTH, DIMINISHED_SEVENTH),
            "dim7",
            (25, 25, 25, 25),
            True,
            True,
        ),
        Quality(
            "augmented-seventh",
            (0, MAJOR_THIRD, AUGMENTED_FIFTH, MINOR_SEVENTH),
            "aug7",
            (28, 26, 23, 23),
            True,
        ),
        Quality(
            FLAT_NINTH,
            (0, MAJOR_THIRD, FIFTH, MINOR_SEVENTH, -5),
            "7(b9)",
            (24, 22, 14, 20, 20),
            True,
        ),
        Quality(
            "dominant-ninth",
            (0, MAJOR_THIRD, FIFTH, MINOR_SEVENTH, MAJOR_SECOND),
            "9",
            (24, 22, 14, 20, 20),
            True,
        ),
        Quality(
            "minor-ninth",
            (0, MINOR_THIRD, FIFTH, MINOR_SEVENTH, MAJOR_SECOND),
            "m9",
            (24, 22, 16, 20, 18),
            True,
            True,
        ),
        Quality("major-sixth", (0, MAJOR_THIRD, FIFTH, 3), "6", (28, 24, 24, 24)),
        Quality("suspended-fourth", (0, FOURTH, FIFTH), "sus4", (38, 31, 31)),
        Quality(
            SUSPENDED_SEVENTH, (0, FOURTH, FIFTH, MINOR_SEVENTH), "7sus4", (32, 24, 20, 24), True
        ),
        Quality("suspended-second", (0, MAJOR_SECOND, FIFTH), "sus2", (38, 31, 31)),
        # The augmented sixths are read as the diminished triad and seventh on the raised fourth
        # degree (Italian, German) and the seventh on the second degree (French), third or fifth
        # lowered, which puts the flat sixth degree in their usual bass.
        Quality("Italian", (0, -10, -6), "It", (30, 40, 30), minor_third=True),
        Quality("German", (0, -10, -6, -9), "Ger", (25, 30, 22, 23), True, True),
        Quality(
            "French",
            (0, MAJOR_THIRD, DIMINISHED_FIFTH, MINOR_SEVENTH),
            "Fr",
            (24, 26, 26, 24),
            True,
        ),
    )
}
"""Every kind this analysis can name."""

AUGMENTED_SIXTHS = frozenset({"Italian", "German", "French"})


def spelled(fifths: int) -> str:
    """Letter and accidentals of a place on the line of fifths: 0 is C, -3 is Eb, 6 is F#."""
    alter, letter = divmod(fifths + 1, 7)
    return "FCGDAEB"[letter] + ("#" * alter if alter > 0 else "b" * -alter)


def fifths_of(name: str) -> int:
    """Place on the line of fifths of a spelled name, the inverse of `spelled`."""
    return "FCGDAEB".index(name[0]) - 1 + 7 * (name.count("#") - name.count("b"))
