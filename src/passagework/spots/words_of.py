"""Numbers, notes, hands and tempos in plain words, for the sentences about spots."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from passagework.score.piece import Pitch, Position
from passagework.spots.context import Context
from passagework.spots.spot import Candidate, SpotHand

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve")  # fmt: skip

_BEATS = {
    Fraction(1, 4): "semiquaver", Fraction(1, 2): "quaver", Fraction(1): "crotchet",
    Fraction(2): "minim", Fraction(4): "semibreve", Fraction(3, 8): "dotted semiquaver",
    Fraction(3, 4): "dotted quaver", Fraction(3, 2): "dotted crotchet", Fraction(3): "dotted minim",
    Fraction(1, 8): "demisemiquaver",
}  # fmt: skip

_ALTERED = {0: "", 1: " sharp", 2: " double sharp", -1: " flat", -2: " double flat"}

SLOWEST_PRACTICE = 30
"""Beats per minute below which a metronome no longer holds a beat together."""

FASTEST_MARK = 208
"""Beats per minute at the end of a pendulum metronome's scale."""


def number(count: int) -> str:
    """A count in words up to twelve, in figures beyond: ``"three"``, ``"14"``."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def counted(count: int, thing: str, things: str = "") -> str:
    """A count with its noun: ``"one note"``, ``"three notes"``."""
    return f"{number(count)} {thing if count == 1 else things or thing + 's'}"


def listed(parts: Sequence[str]) -> str:
    """``"C"``, ``"C and D"``, ``"C, D and E"``; ``""`` for nothing."""
    if not parts:
        return ""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def letter(pitch: Pitch) -> str:
    """A pitch's name without its octave: ``"E flat"``, ``"F double sharp"``, ``"C"``."""
    return pitch.step + _ALTERED.get(pitch.alter, f" altered by {pitch.alter} semitones")


def note_name(pitch: Pitch) -> str:
    """A pitch with its octave, 4 from middle C: ``"E flat 2"``, ``"C5"``."""
    return f"{letter(pitch)}{' ' if pitch.alter else ''}{pitch.octave}"


def hand_name(hand: SpotHand) -> str:
    """``"left hand"``, ``"right hand"``, ``"both hands"``."""
    return "both hands" if hand == "both" else f"{hand} hand"


def beat_name(context: Context, position: Position) -> str:
    """The beat that is counted at `position`: ``"crotchet"``, ``"dotted crotchet"``."""
    beat = context.piece.bar_at(position).time.beat
    return _BEATS.get(beat, f"beat of {beat} crotchets")


def value_name(quarters: Fraction) -> str:
    """A note value: ``"dotted quaver"``; ``""`` for one without a common name."""
    return _BEATS.get(quarters, "")


def tempo_words(context: Context, position: Position, share: float = 1.0) -> str:
    """The tempo at `position`, times `share`, in words: ``"crotchet = 60"``. Slower than
    `SLOWEST_PRACTICE` is given in half beats, faster than `FASTEST_MARK` in two beats or the bar.
    """
    bar = context.piece.bar_at(position)
    beat, whole = bar.time.beat, bar.time.length
    rate = context.tempo.steady_at(position).quarters_per_minute / float(beat)
    while rate > FASTEST_MARK and beat < whole:
        larger = beat * 2 if (whole / beat) % 2 == 0 else whole
        rate, beat = rate * float(beat / larger), larger
    rate *= share
    parts = 3 if beat.numerator % 3 == 0 else 2
    while rate < SLOWEST_PRACTICE and beat / parts in _BEATS:
        rate, beat, parts = rate * parts, beat / parts, 2
    name = _BEATS.get(beat, f"beat of {beat} crotchets")
    return f"{name} = {max(floor(rate / 2 + 0.5) * 2, 2)}"


def tempo_basis(context: Context, position: Position) -> str:
    """Where the tempo comes from, to follow a speed: ``"at the printed tempo (crotchet = 96)"``."""
    mark = tempo_words(context, position)
    if context.tempo.span_at(position).changing:
        return f"where the tempo changes (from {mark})"
    source = context.tempo.steady_at(position).source
    if source == "assumed" and any(s.source != "assumed" for s in context.tempo.spans):
        return f"at {mark}, estimated from the signs before it"
    return {
        "marked": f"at the printed tempo ({mark})",
        "file": f"at the tempo stored in the file ({mark})",
        "words": f"at a usual tempo for the words at the head ({mark})",
        "assumed": f"at {mark}, assumed because the score gives no tempo",
    }[source]


def tempo_source(context: Context, position: Position) -> str:
    """Where the tempo comes from, for a row of evidence."""
    return {
        "marked": "printed metronome mark",
        "file": "playback tempo of the file",
        "words": "usual tempo of the words",
        "assumed": "assumed tempo, none given",
    }[context.tempo.steady_at(position).source]


def seconds(value: float) -> str:
    """A duration for a sentence: ``"0.3 seconds"``, ``"0.09 seconds"``, ``"12 seconds"``."""
    if value >= 10:
        return f"{value:.0f} seconds"
    text = decimal(value, 1 if value >= 1 else 2)
    return "1 second" if text == "1" else f"{text} seconds"


def capital(text: str) -> str:
    """`text` with its first letter large."""
    return text[:1].upper() + text[1:]


def times(count: int) -> str:
    """``"once"``, ``"twice"``, ``"three times"``."""
    return {1: "once", 2: "twice"}.get(count, f"{number(count)} times")


def decimal(value: float, places: int = 1) -> str:
    """A number without idle zeros: ``"7"``, ``"7.5"``."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def centimetres(mm: float) -> str:
    """A distance in centimetres to the nearest half: ``"18.5 cm"``."""
    return f"{decimal(round(mm / 5) / 2)} cm"


def where(candidate: Candidate, context: Context) -> str:
    """The bars of one occurrence: ``"bar 12"``, ``"bars 12 and 13"``."""
    return context.bar_names(range(candidate.first_bar, candidate.last_bar + 1))


def other_places(worst_first: Sequence[Candidate], context: Context) -> str:
    """A sentence that names the other bars of a spot, and on which step they stand; empty where there are
    none.
    """
    first = worst_first[0]
    named = set(range(first.first_bar, first.last_bar + 1))
    rows: dict[int, set[int]] = {}
    for candidate in sorted(worst_first, key=lambda c: (abs(c.shift - first.shift), c.first_bar)):
        bars = set(range(candidate.first_bar, candidate.last_bar + 1)) - named
        if bars:
            rows.setdefault(candidate.shift - first.shift, set()).update(bars)
            named |= bars
    parts = [
        (f"{_interval(shift)} " if shift else "") + f"in {context.bar_names(sorted(bars))}"
        for shift, bars in rows.items()
    ]
    return f" Likewise {', and '.join(parts)}." if parts else ""


_INTERVALS = ("a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh", "an octave")


def _interval(steps: int) -> str:
    """How far another place stands from the first, in words: ``"a fourth higher"``."""
    way = "higher" if steps > 0 else "lower"
    octaves, rest = divmod(abs(steps), 7)
    if abs(steps) <= 7:
        return f"{_INTERVALS[abs(steps) - 1]} {way}"
    whole = "an octave" if octaves == 1 else f"{number(octaves)} octaves"
    return f"{whole} and {_INTERVALS[rest - 1]} {way}" if rest else f"{whole} {way}"


def start_of(candidate: Candidate, context: Context) -> Position:
    """Position of the first bar of an occurrence."""
    return context.bar(candidate.first_bar).onset
