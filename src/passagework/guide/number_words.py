"""Numbers, times and keys in the words of a sentence."""

from __future__ import annotations

_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
          "eleven", "twelve")  # fmt: skip

MAJOR_KEYS = ("C♭", "G♭", "D♭", "A♭", "E♭", "B♭", "F", "C", "G", "D", "A", "E", "B", "F♯", "C♯")
MINOR_KEYS = ("A♭", "E♭", "B♭", "F", "C", "G", "D", "A", "E", "B", "F♯", "C♯", "G♯", "D♯", "A♯")


def count(number: int, singular: str, plural: str = "") -> str:
    """``"three bars"``, ``"41 bars"``, ``"one bar"``, ``"no bars"``."""
    word = _SMALL[number] if 0 <= number < len(_SMALL) else f"{number:,}"
    return f"{word} {singular if number == 1 else plural or singular + 's'}"


def sentence(text: str) -> str:
    """`text` with a capital at its start and a full stop at its end."""
    text = " ".join(text.split())
    if not text:
        return ""
    text = text[0].upper() + text[1:]
    return text if text[-1] in ".?:" else text + "."


def duration(seconds: float) -> str:
    """A playing time as one would say it: ``"40 seconds"``, ``"2 and a half minutes"``."""
    if seconds < 55:
        return f"{max(5, round(seconds / 5) * 5)} seconds"
    halves = round(seconds / 30)
    whole, half = divmod(halves, 2)
    if not half:
        return count(whole, "minute")
    if whole == 1:
        return "a minute and a half"
    return f"{count(whole, 'and a half minute', 'and a half minutes')}"


def pretty(name: str) -> str:
    """A spelled name with the musical signs: ``"Bb"`` to ``"B♭"``, ``"F##"`` to ``"F♯♯"``."""
    letter, signs = name[:1], name[1:]
    return letter + signs.replace("#", "♯").replace("b", "♭")


def signature(fifths: int) -> str:
    """A key signature in words: ``"no sharps or flats"``, ``"one flat"``, ``"four sharps"``."""
    if fifths == 0:
        return "no sharps or flats"
    return count(abs(fifths), "sharp" if fifths > 0 else "flat")


def signature_keys(fifths: int, mode: str | None) -> str:
    """The key that a signature stands for; both of them where the mode is not known."""
    major, minor = MAJOR_KEYS[fifths + 7], MINOR_KEYS[fifths + 7]
    if mode == "major":
        return f"{major} major"
    if mode == "minor":
        return f"{minor} minor"
    return f"{major} major or {minor} minor"
