"""Notes, numbers, hands and tempi in a teacher's words, shared by the sentences of every kind."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from fractions import Fraction

from passagework.score.piece import Pitch, Position
from passagework.spots.context import Context
from passagework.spots.spot import SpotHand

ALTERATIONS = {-2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp"}

NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip

UNITS = {
    Fraction(1, 4): "semiquaver",
    Fraction(1, 2): "quaver",
    Fraction(3, 4): "dotted quaver",
    Fraction(1): "crotchet",
    Fraction(3, 2): "dotted crotchet",
    Fraction(2): "minim",
    Fraction(3): "dotted minim",
    Fraction(4): "semibreve",
}

METRONOME = (
    *range(40, 60, 2), *range(60, 72, 3), *range(72, 120, 4), *range(120, 144, 6), *range(144, 209, 8),
)  # fmt: skip
"""The numbers engraved on a pendulum metronome since the nineteenth century."""


def note_name(pitch: Pitch) -> str:
    """A pitch in words: ``"C4"``, ``"E flat 2"``, ``"F sharp 5"``."""
    mark = ALTERATIONS.get(pitch.alter, f" altered by {pitch.alter}")
    return f"{pitch.step}{mark} {pitch.octave}" if mark else f"{pitch.step}{pitch.octave}"


def letter_name(pitch: Pitch) -> str:
    """A pitch without its octave: ``"E flat"``."""
    return f"{pitch.step}{ALTERATIONS.get(pitch.alter, f' altered by {pitch.alter}')}"


def listed(items: Iterable[str], last: str = "and") -> str:
    """Items in a sentence: ``"a"``, ``"a and b"``, ``"a, b and c"``."""
    rows = list(items)
    if len(rows) < 2:
        return "".join(rows)
    return f"{', '.join(rows[:-1])} {last} {rows[-1]}"


def count(number: int) -> str:
    """A count in words up to twelve."""
    return NUMBERS[number] if 0 <= number < len(NUMBERS) else str(number)


def counted(number: int, thing: str, things: str = "") -> str:
    """``"one note"``, ``"three notes"``; `things` where the plural is not made with an s."""
    return f"{count(number)} {thing if number == 1 else things or thing + 's'}"


def ordinal(number: int) -> str:
    """``"1st"``, ``"2nd"``, ``"11th"``."""
    if number % 100 in {11, 12, 13}:
        return f"{number}th"
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th') }"


def times(number: int) -> str:
    """``"once"``, ``"twice"``, ``"three times"``."""
    return {1: "once", 2: "twice"}.get(number, f"{count(number)} times")


def decimal(value: float, places: int = 1) -> str:
    """A number without idle zeros: ``"7"``, ``"7.5"``."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def seconds_words(seconds: float) -> str:
    """A time in seconds to the precision that matters: ``"0.35 seconds"``, ``"2 seconds"``."""
    text = decimal(seconds, 2 if seconds < 1 else 1)
    return f"{text} second{'' if text == '1' else 's'}"


def hand_name(hand: SpotHand) -> str:
    """``"the left hand"``, ``"both hands"``."""
    return "both hands" if hand == "both" else f"the {hand} hand"


def capital(text: str) -> str:
    """The sentence with a capital first letter."""
    return text[:1].upper() + text[1:]


def centimetres(mm: float) -> str:
    """A distance in centimetres, to the half: ``"18.5 cm"``."""
    return f"{decimal(round(mm / 5) / 2)} cm"


def pulse(context: Context, position: Position) -> tuple[str, Fraction, float]:
    """What to set a metronome to at `position`: the unit's name, its length, its full tempo.

    The unit is the beat of the bar; where that lies outside a metronome's range, its multiple or
    its half that lies inside.
    """
    bar = context.piece.bar_at(position)
    unit, quarters = bar.time.beat, context.tempo.quarters_per_minute(position)
    whole = bar.time.length / unit
    while quarters / float(unit) > METRONOME[-1] and unit < bar.time.length:
        unit = unit * 2 if whole.denominator == 1 and whole.numerator % 2 == 0 else bar.time.length
        whole = bar.time.length / unit
    while quarters / float(unit) < METRONOME[0] and unit > Fraction(1, 4):
        unit = unit / 3 if unit.numerator == 3 else unit / 2
    return UNITS.get(unit, "beat"), unit, quarters / float(unit)


def metronome(value: float) -> int:
    """The metronome number at or just below `value`."""
    at = bisect_right(METRONOME, value + 0.5) - 1
    return METRONOME[at] if at >= 0 else max(round(value), 1)


def tempo_mark(context: Context, position: Position, share: float = 1.0) -> str:
    """A metronome mark in words at that share of the full tempo: ``"crotchet = 72"``."""
    name, _, full = pulse(context, position)
    return f"{name} = {metronome(full * share)}"


def tempo_basis(context: Context, position: Position) -> str:
    """Where the tempo comes from, to follow a speed: ``"at the printed tempo"``."""
    span = context.tempo.span_at(position)
    mark = tempo_mark(context, position)
    return {
        "marked": f"at the printed tempo ({mark})",
        "file": f"at the tempo stored in the file ({mark}; no number is printed)",
        "words": f"at {mark}, a usual tempo for the words at the head",
        "assumed": f"at {mark}, assumed because the score gives no tempo",
    }[span.source]


def tempo_source(context: Context, position: Position) -> str:
    """Where the tempo comes from, for a row of evidence."""
    return {
        "marked": "printed metronome mark",
        "file": "playback tempo of the file",
        "words": "usual tempo of the words",
        "assumed": "assumed tempo, none given",
    }[context.tempo.span_at(position).source]


def rhythm_words(fractions: Sequence[Fraction]) -> str:
    """Parts of a beat in words: ``"0, 1/3, 1/2 and 2/3"``."""
    return listed(str(f) for f in fractions)
