"""Keys and chords all along a piece."""

from passagework.analysis.harmony.analyse import analyse_harmony
from passagework.analysis.harmony.notable import NotableChord, notable_chords
from passagework.analysis.harmony.result import Chord, Harmony, KeySpan, NonChordNote, Pivot

__all__ = [
    "Chord",
    "Harmony",
    "KeySpan",
    "NonChordNote",
    "NotableChord",
    "Pivot",
    "analyse_harmony",
    "notable_chords",
]
