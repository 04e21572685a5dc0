"""The keyboard in millimetres.

White keys are 23.5 mm wide on average, so that an octave is 164.5 mm from centre to centre (the
usual measure of modern pianos; see D. Norman, "Piano keyboard dimensions", and ISO-free maker data:
octave spans of 164 to 165 mm). Black keys lie over the joins of the white ones, in twos and threes
not quite over them: C#, F# lean left and D#, A# lean right by some millimetres, which is neglected.
"""

from __future__ import annotations

WHITE_WIDTH_MM = 23.5
"""Width of a white key, joins included."""

OCTAVE_MM = 7 * WHITE_WIDTH_MM

_CENTRES = (0.5, 1.0, 1.5, 2.0, 2.5, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5)
"""Centre of each key of the octave from C, in white keys."""

_BLACK = frozenset({1, 3, 6, 8, 10})


def is_black(midi: int) -> bool:
    """Whether the key of MIDI number `midi` is black."""
    return midi % 12 in _BLACK


def key_mm(midi: int) -> float:
    """Centre of the key of MIDI number `midi`, in millimetres to the right of the lowest C's edge."""
    octave, step = divmod(midi, 12)
    return (octave * 7 + _CENTRES[step]) * WHITE_WIDTH_MM


def distance_mm(low: int, high: int) -> float:
    """Distance between the centres of two keys in millimetres, 0 or more."""
    return abs(key_mm(high) - key_mm(low))
