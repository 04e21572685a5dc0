"""Turns an entry of the lexicon and the words that act on it into effects."""

from __future__ import annotations

from dataclasses import replace
from math import log, sqrt

from passagework.analysis.lexicon import Atom, Entry
from passagework.analysis.terms_effects import Effect, Kind, Reading
from passagework.analysis.terms_wording import (
    Mods,
    change_meaning,
    comparative,
    first_sense,
    more_of,
    state_meaning,
)

MODERATE = 100.0
"""Beats a minute of *moderato*, between slow and fast: which way a tempo word leans is seen from here."""

MIDDLE_LEVEL = 4.5
"""Between mp and mf: signs below are soft, signs above loud."""

NEGATED_BEATS = (0.6, 0.95)
"""*Not fast* is taken as this share of the slowest speed that *fast* would have; the inverse for *not slow*."""
NEGATED_LEVELS = 1.5
"""Steps by which *non f* stays below f."""
LIMITED = 0.6
"""Degree of *non troppo*."""

POSSIBLE = 2.0
"""Degree of *possibile*."""

_SECOND = {
    ("tempo", "calm", -1): "read as a speed: somewhat slower",
    ("tempo", "slowing", -1): "only slower, little by little",
    ("tempo", "heldback", -1): "only slower, at once",
    ("loudness", "growing", 1): "several notes growing louder",
    ("loudness", "fading", -1): "only softer, the speed unchanged",
    ("loudness", "accent", 0): "an accent",
    ("pedal", "up", 0): "read as: without the damper pedal",
    ("pedal", "soft", 0): "read as: with the left pedal",
    ("pedal", "softoff", 0): "read as: left pedal up",
}

_SIGNS = {
    "growing": 1, "louder": 1, "fading": -1, "softer": -1,
    "raise": 1, "lower": -1, "quickening": 1, "brisk": 1, "quicker": 1, "slowing": -1, "calm": -1, "heldback": -1, "lively": 1,
}  # fmt: skip
_STEMS = {("loudness", 1): "louder", ("loudness", -1): "softer", ("tempo", 1): "faster", ("tempo", -1): "slower"}  # fmt: skip


def build(entry: Entry, text: str, mods: Mods) -> tuple[tuple[Effect, ...], tuple[Reading, ...]]:
    """Effects of `entry` as modified, and the other ways to read it."""
    if mods.more > 0 and mods.size >= POSSIBLE:
        mods = replace(mods, more=0)  # il più presto possibile: a state, not a comparison
    readings = [
        tuple(replace(_effect(atom, entry, text, mods), name=entry.name) for atom in reading)
        for reading in entry.readings
    ]
    others = [_told_apart(reading, mods) for reading in readings[1:]]
    main = readings[0]
    if mods.more and not mods.negated:
        others += _compared_readings(main, entry, text, mods)
    return main, tuple(Reading(text, r) for r in others)


def _told_apart(reading: tuple[Effect, ...], mods: Mods) -> tuple[Effect, ...]:
    """A second reading in words of its own, where the entry's meaning speaks of the first."""
    if mods.more or mods.negated:
        return reading
    return tuple(
        replace(e, meaning=_SECOND.get((e.dimension, e.verb, e.direction), e.meaning))
        for e in reading
    )


def _effect(atom: Atom, entry: Entry, text: str, mods: Mods) -> Effect:
    kind, sign = _kind(atom), _lean(atom)
    size = LIMITED if mods.limited else mods.size
    if mods.more and kind in {"state", "step", "manner"}:
        return _comparison(atom, entry, text, mods, sign)
    if mods.becoming and kind in {"manner", "state", "step"}:
        return Effect(
            atom.dimension, "change" if sign else kind, text, change_meaning(f"becoming {entry.meaning}", mods),
            entry.language, sign, size, verb=atom.verb, gradual=True, until=mods.until,
        )  # fmt: skip
    if mods.negated and kind in {"change", "step"}:
        return Effect(
            atom.dimension, "keep", text, change_meaning(entry.meaning, mods), entry.language,
            size=size, verb=atom.verb, negated=True,
        )  # fmt: skip
    wording = change_meaning if kind == "change" else state_meaning
    return Effect(
        atom.dimension,
        kind,
        text,
        wording(entry.meaning, mods),
        entry.language,
        direction=-sign if mods.negated else sign,
        size=size,
        level=_level(atom, sign, size, mods),
        beats=_beats(atom, sign, mods),
        verb=atom.verb,
        factor=atom.values[0] if atom.verb == "times" else 1.0,
        gradual=mods.gradual or kind == "change",
        always=mods.always,
        sudden=mods.sudden,
        negated=mods.negated,
        until=mods.until,
    )


def _kind(atom: Atom) -> Kind:
    verb = atom.verb
    by_verb: dict[str, Kind] = {
        "level": "state", "beat": "state", "dance": "state", "growing": "change", "fading": "change",
        "quickening": "change", "slowing": "change", "heldback": "step", "raise": "step", "lower": "step", "quicker": "step",
        "atempo": "restore", "tempo1": "restore", "same": "keep", "times": "scale", "free": "free",
    }  # fmt: skip
    if verb == "accent" and atom.dimension == "loudness":
        return "accent"
    return by_verb.get(verb, "manner")


def _lean(atom: Atom) -> int:
    """Which way a plain term points: +1 loud or fast, -1 soft or slow."""
    if atom.verb == "level":
        return 1 if atom.values[0] > MIDDLE_LEVEL else -1
    if atom.verb == "beat":
        return side_of_moderate(atom.values[0], atom.values[1])
    return _SIGNS.get(atom.verb, 0)


def side_of_moderate(low: float, high: float) -> int:
    """+1 for a fast range, -1 for a slow one, 0 for one about the middle."""
    lean = log(sqrt(low * high) / MODERATE)
    return 0 if abs(lean) < log(1.06) else (1 if lean > 0 else -1)


def _level(atom: Atom, sign: int, size: float, mods: Mods) -> float | None:
    if atom.dimension != "loudness":
        return None
    if atom.verb in {"growing", "fading"}:
        return mods.until_level
    if atom.verb != "level":
        return None
    level = atom.values[0]
    if mods.negated:
        return level - sign * NEGATED_LEVELS
    # poco f is less than f and poco p louder than p: degree moves a sign from or to the middle
    return max(0.0, min(9.0, level + sign * max(-1.0, min(1.0, size - 1.0))))


def _beats(atom: Atom, sign: int, mods: Mods) -> tuple[float, float] | None:
    if atom.verb not in {"beat", "dance"}:
        return None
    low, high = atom.values
    if mods.negated and sign:
        near, far = NEGATED_BEATS[1], NEGATED_BEATS[0]
        return (low * far, low * near) if sign > 0 else (high / near, high / far)
    return low, high


def _comparison(atom: Atom, entry: Entry, text: str, mods: Mods, sign: int) -> Effect:
    if atom.verb == "beat" and entry.meaning.startswith("walking"):
        sign = 1  # more walking is more movement
    direction = sign * mods.more
    size = LIMITED if mods.limited else mods.size
    growing = mods.always and not mods.still
    stem = _STEMS.get((atom.dimension, direction), "")
    if mods.negated:
        meaning = f"not {stem or 'more so'} than before"
        kind: Kind = "keep"
    elif stem:
        step = f"{stem} and {stem}" if growing else comparative(stem, size)
        tail = ", little by little" if mods.gradual else ("" if growing else " than before")
        still = "still " if mods.still else ""
        meaning = f"{'suddenly ' if mods.sudden else ''}{still}{step}{tail}"
        plain = first_sense(entry.meaning)
        if atom.verb == "beat" and not _says_it_all(plain, mods):
            meaning += f" ({'more' if mods.more > 0 else 'less'} {plain})"
        kind = "change" if growing or mods.gradual else "step"
    else:
        meaning = more_of(entry.meaning, mods)
        kind = "step" if atom.dimension in {"tempo", "loudness"} else "manner"
    return Effect(
        atom.dimension, kind, text, meaning, entry.language, 0 if mods.negated else direction, size,
        verb=atom.verb, gradual=kind == "change", always=mods.always, sudden=mods.sudden,
        negated=mods.negated, compared=True, until=mods.until,
        beats=(atom.values[0], atom.values[1]) if atom.verb == "beat" else None,
        sign_level=atom.values[0] if atom.verb == "level" else None,
    )  # fmt: skip


def _says_it_all(plain: str, mods: Mods) -> bool:
    """Whether *more* or *less* of `plain` adds nothing to slower or faster, or makes no English."""
    graded = plain.split()[0] in {"very", "fairly", "as", "with", "at", "a"}
    return graded or (mods.more > 0 and plain in {"slow", "fast"})


def _compared_readings(
    main: tuple[Effect, ...], entry: Entry, text: str, mods: Mods
) -> list[tuple[Effect, ...]]:
    """A calmer or livelier character often means the speed too; *più andante* is read both ways."""
    found: list[tuple[Effect, ...]] = []
    for effect in main:
        lean = _SIGNS.get(effect.verb, 0) if effect.dimension == "character" else 0
        if effect.dimension == "tempo" and effect.beats and entry.meaning.startswith("walking"):
            lean = -1
        if lean:
            direction = lean * mods.more
            stem = "faster" if direction > 0 else "slower"
            meaning = f"{comparative(stem, mods.size)} than before"
            found.append(
                (
                    Effect(
                        "tempo", "step", text, meaning, entry.language, direction, mods.size,
                        compared=True, verb="lean",
                    ),
                )
            )  # fmt: skip
    return found
