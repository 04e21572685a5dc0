"""Roman numerals and chord symbols."""

from __future__ import annotations

from passagework.analysis.harmony.qualities import FLAT_NINTH, QUALITIES, SUSPENDED_SEVENTH, spelled
from passagework.analysis.harmony.scales import Key
from passagework.analysis.harmony.vocabulary import CADENTIAL_TONES, GROUPS, Function

_NUMERALS = ("I", "II", "III", "IV", "V", "VI", "VII")
_SCALES = {
    False: (0, 2, 4, -1, 1, 3, 5),
    True: (0, 2, -3, -1, 1, -4, -2),
}
"""Fifths of the degrees, major and natural minor."""
_TRIAD_FIGURES = ("", "6", "64")
_SEVENTH_FIGURES = ("7", "65", "43", "2")
_MARKS = {
    "diminished": "o",
    "diminished-seventh": "o",
    "half-diminished": "ø",
    "augmented": "+",
    "augmented-seventh": "+",
    "major-seventh": "M",
    "major-ninth": "M",
    "major-minor": "M",
}
_NAMED = {"Italian": "It", "German": "Ger", "French": "Fr"}
_NAMED_FIGURES = {
    "Italian": ("53", "6", "64"),
    "German": _SEVENTH_FIGURES,
    "French": _SEVENTH_FIGURES,
}
_DOMINANTS = frozenset(
    {"major", "dominant", "dominant-ninth", FLAT_NINTH, "augmented", "augmented-seventh"}
)
_LEADING = frozenset({"diminished", "diminished-seventh", "half-diminished"})


def degree(root: int, minor_key: bool, small: bool) -> str:
    """Numeral of a root in fifths from the tonic: ``"bVI"``, ``"#iv"``; the leading note is plain VII."""
    step = root * 4 % 7
    signs = (root - _SCALES[minor_key][step]) // 7
    numeral = _NUMERALS[step].lower() if small else _NUMERALS[step]
    if minor_key and root == 5:
        signs = 0
    return ("#" * signs if signs > 0 else "b" * -signs) + numeral


def _figures(quality: str, member: int) -> str:
    found = QUALITIES[quality]
    if quality in _NAMED_FIGURES:
        return _NAMED_FIGURES[quality][member]
    if quality == "dominant-ninth" or quality.endswith("-ninth"):
        if quality == FLAT_NINTH:
            return "7(b9)" if member == 0 else f"{_SEVENTH_FIGURES[min(member, 3)]}(b9)"
        return "9" if member == 0 else f"{_SEVENTH_FIGURES[min(member, 3)]}(9)"
    if quality == "major-sixth":
        return "(6)"
    if quality == SUSPENDED_SEVENTH:
        return _SEVENTH_FIGURES[member] + "(4)"
    if quality.startswith("suspended"):
        return "(4)" if quality == "suspended-fourth" else "(2)"
    if found.seventh:
        return _SEVENTH_FIGURES[member]
    return _TRIAD_FIGURES[member]


def _target(function: Function, following: int | None) -> int | None:
    """Root, in fifths from the tonic, that a dominant belongs to; None for a chord that is no applied one."""
    group = GROUPS[function.group]
    leading = function.quality in _LEADING
    if group.startswith("D/"):
        return function.root - 5 if leading else function.root - 1
    if group != "X" or following is None:
        return None
    if leading and following == function.root - 5:
        return following
    if function.quality in {"dominant", FLAT_NINTH} and following == function.root - 1:
        return following
    return None


def numeral(function: Function, key: Key, member: int, quality: str, following: int | None) -> str:
    """Roman numeral of a chord in its key.

    `member` is the bass, `quality` what the chord is called (a suspended chord's function is that of
    the triad), `following` the next root in fifths from the tonic.
    """
    if function.quality in CADENTIAL_TONES:
        return "V(64)"
    figures = _figures(quality, member)
    if quality in _NAMED:
        return _NAMED[quality] + figures
    mark = _MARKS.get(quality, "")
    small = QUALITIES[function.quality].minor_third
    target = _target(function, following)
    if target is None or target == 0:
        return degree(function.root, key.minor, small) + mark + figures
    head = "vii" if function.quality in _LEADING else "V"
    return f"{head}{mark}{figures}/{degree(target, key.minor, _goal_is_small(target, key.minor))}"


def _goal_is_small(target: int, minor_key: bool) -> bool:
    """Whether the key's own triad on a degree is minor or diminished."""
    return target in ({0, -1, 2, 5} if minor_key else {2, 3, 4, 5})


def symbol(root: int, quality: str, bass: int) -> str:
    """Common chord symbol of a chord whose bass note is `bass` (line of fifths)."""
    if quality in CADENTIAL_TONES:
        tonic = root - 1
        return f"{spelled(tonic)}{'m' if quality.endswith('minor') else ''}/{spelled(bass)}"
    if quality in _NAMED:
        low = root - (6 if quality == "French" else 10)
        suffix = {"German": "7", "Italian": "7(no5)", "French": "7(b5)"}[quality]
        return spelled(low) + suffix + ("" if bass == low else f"/{spelled(bass)}")
    slash = "" if bass == root else f"/{spelled(bass)}"
    return spelled(root) + QUALITIES[quality].suffix + slash
