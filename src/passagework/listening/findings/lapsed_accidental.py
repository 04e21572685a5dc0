"""An accidental let go before its bar is over.

It holds to the bar line for its line or space of the staff (the rule of every primer), and is not printed again. A wrong note counts
where such an accidental holds, and the key struck is what the signature alone would say.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.patterns import Pattern
from passagework.listening.findings.slip_words import (
    how_often,
    letter_name,
    passes_over,
    spelled_like,
)
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.listening.misreadings import lapsed
from passagework.spots.spot import Evidence, SpotHand
from passagework.spots.words_of import capital, times

SOURCE = "an accidental holds to the bar line"


def pick(heard: Heard, slips: Sequence[Slip]) -> list[Pattern]:
    """The slips that a forgotten accidental explains, by bar, hand and letter."""
    rows: dict[tuple[int, SpotHand, str], list[Slip]] = defaultdict(list)
    for slip in slips:
        if slip.note is None or slip.played is None:
            continue
        plain = lapsed(heard.piece, slip.note)
        if plain is not None and plain.midi == heard.take.notes[slip.played].pitch:
            rows[slip.bar, slip.hand, slip.note.pitch.name].append(slip)
    return [
        Pattern(name, tuple(row), _chances(heard, row))
        for (_, _, name), row in sorted(rows.items())
    ]


def _chances(heard: Heard, row: Sequence[Slip]) -> int:
    pitch = row[0].note.pitch if row[0].note else None
    notes = [
        n
        for n in heard.piece.notes_of_bar[row[0].bar]
        if pitch is not None and n.pitch.name == pitch.name and lapsed(heard.piece, n) is not None
    ]
    return len(row) + sum(n.id in struck for struck in heard.struck for n in notes)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each accidental that was let go."""
    for pattern in heard.slips.lapsed:
        slip = pattern.slips[0]
        if slip.note is None or slip.played is None:
            continue
        wrong = spelled_like(heard, slip.note, heard.take.notes[slip.played].pitch)
        right = letter_name(slip.note.pitch)
        bar = heard.context.bar_names([slip.bar])
        passes = passes_over(heard, slip.bar, slip.bar, pattern.hand)
        count = len(pattern.slips)
        yield Finding(
            "lapsed-accidental",
            slip.bar,
            slip.bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("notes", count, "", SOURCE),
                Evidence("key played", letter_name(wrong)),
                Evidence("passes with it", len(pattern.runs)),
            ),
            f"{capital(letter_name(wrong))} instead of {right} in {bar}, {pattern.hand} hand"
            f"{how_often(len(pattern.runs), passes)}{f' ({times(count)})' if count > len(pattern.runs) else ''}: "
            f"the accidental stands earlier in the bar and holds to its end.",
            f"In {bar} put a finger on the accidental and follow its line to the bar line; name every {right} aloud, then play.",
            min(0.75 + 0.05 * count, 0.95) * pattern.sure,
            min(0.25 + 0.05 * count + 0.2 * (len(pattern.runs) - 1), 0.85),
            pattern.runs,
            pattern.played,
            ("accidentals", "reading"),
        )


KIND = FindingKind("lapsed-accidental", "accidentals let go within the bar", find)
