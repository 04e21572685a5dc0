"""Keys struck that are not on the page, and that stand for no note on it.

A key that is written close by and struck once more (a note tried again) is told apart from a stranger.
"""

from __future__ import annotations

from collections.abc import Iterable

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.single_slips import groups
from passagework.listening.findings.slip_words import how_often, key_name, named, spelled
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted

SOURCE = "keys struck that no written note accounts for"


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each bar and hand with added notes."""
    for group in groups(heard, "extra"):
        pattern = group.pattern
        bar = heard.piece.bars[pattern.first_bar]
        place = heard.context.bar_names([bar.index])
        written = {n.midi for n in heard.piece.notes_of_bar[bar.index]}
        strokes = [heard.take.notes[k] for k in pattern.played]
        again = [s for s in strokes if s.pitch in written]
        strange = [s for s in strokes if s.pitch not in written]
        names = {s.pitch: key_name(spelled(s.pitch, bar.fifths), bar.fifths) for s in strokes}
        parts = []
        if strange:
            keys = list(dict.fromkeys(names[s.pitch] for s in strange))
            parts.append(f"{named(keys)} {'is' if len(keys) == 1 else 'are'} not on the page there")
        if again:
            keys = list(dict.fromkeys(names[s.pitch] for s in again))
            parts.append(
                f"{named(keys)} {'is' if len(keys) == 1 else 'are'} struck more often than written"
            )
        yield Finding(
            "extra-notes",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            (),
            (
                Evidence("added notes", len(strokes), "", SOURCE),
                Evidence("loudest of them", max(s.velocity for s in strokes), "MIDI velocity"),
                Evidence("passes with them", len(pattern.runs)),
                Evidence("passes that played the bar", group.passes),
            ),
            f"{capital(place)}, {pattern.hand} hand: {', and '.join(parts)}{how_often(len(pattern.runs), group.passes)} "
            f"({counted(len(strokes), 'key')} in all).",
            f"Play {place} slowly and lift each finger clear of the keys beside it."
            if strange
            else f"In {place} go on after a slip as if nothing had happened: play the bar three times without stopping to put it right.",
            group.confidence,
            group.weight,
            pattern.runs,
            pattern.played,
            ("passagework", "reading") if strange else ("reading",),
        )


KIND = FindingKind("extra-notes", "added notes", find)
