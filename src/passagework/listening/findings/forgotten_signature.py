"""Notes played natural that the signature alters.

One such note is a slip of the finger. Where at least `FEWEST` come close together for one letter, and make up a good part of what
that letter has there, the signature was forgotten.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.patterns import Pattern
from passagework.listening.findings.slip_words import how_often, letter_name, passes_over
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.listening.misreadings import unsigned
from passagework.score.piece import Pitch
from passagework.spots.signature import signature_alter, signature_words
from passagework.spots.spot import Evidence
from passagework.spots.words_of import counted

SOURCE = "natural struck for a letter that the signature alters"

FEWEST = 2
"""Slips that make a habit of it."""
GAP = 4
"""Bars, at most, from one to the next."""
SHARE = 0.4
"""Share of the letter's notes in those bars that must have gone wrong: below it, chance slips would do."""


def pick(heard: Heard, slips: Sequence[Slip]) -> list[Pattern]:
    """The slips that a forgotten signature explains, by letter and stretch."""
    rows: dict[str, list[Slip]] = defaultdict(list)
    for slip in slips:
        if slip.note is None or slip.played is None:
            continue
        plain = unsigned(heard.piece, slip.note)
        if plain is None or plain.midi != heard.take.notes[slip.played].pitch:
            continue
        if not _in_signature(heard, slip, plain.midi):
            rows[slip.note.pitch.name].append(slip)
    found: list[Pattern] = []
    for name, row in sorted(rows.items()):
        for near in _stretches(row):
            of = _chances(heard, name, near)
            if len(near) >= FEWEST and len(near) >= SHARE * of:
                found.append(Pattern(name, tuple(near), of))
    return found


def _in_signature(heard: Heard, slip: Slip, key: int) -> bool:
    """Whether the key is one of the signature's own under another name (F natural is E sharp): a slip to the key beside it."""
    fifths = heard.piece.bars[slip.bar].fifths
    return any(
        Pitch(step, signature_alter(step, fifths), 4).midi % 12 == key % 12 for step in "CDEFGAB"
    )


def _stretches(row: Sequence[Slip]) -> list[list[Slip]]:
    rows: list[list[Slip]] = []
    for slip in sorted(row, key=lambda s: s.bar):
        if rows and slip.bar - rows[-1][-1].bar <= GAP:
            rows[-1].append(slip)
        else:
            rows.append([slip])
    return rows


def _chances(heard: Heard, name: str, row: Sequence[Slip]) -> int:
    bars = range(row[0].bar, row[-1].bar + 1)
    notes = [
        n.id for bar in bars for n in heard.piece.notes_of_bar[bar] if n.pitch.name == name and not n.accidental
    ]  # fmt: skip
    return len(row) + sum(ident in struck for struck in heard.struck for ident in notes)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each letter and stretch in which the signature was forgotten."""
    for pattern in heard.slips.unsigned:
        note = pattern.slips[0].note
        if note is None:
            continue
        bars = heard.context.bar_names(sorted({s.bar for s in pattern.slips}))
        passes = passes_over(heard, pattern.first_bar, pattern.last_bar, pattern.hand)
        wrong, right = f"{note.pitch.step} natural", letter_name(note.pitch)
        count = len(pattern.slips)
        fifths = heard.piece.bars[note.bar].fifths
        yield Finding(
            "forgotten-signature",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("notes", count, "", SOURCE),
                Evidence(f"notes {right} in these bars that were played", pattern.of),
                Evidence("passes with them", len(pattern.runs)),
            ),
            f"{wrong} instead of {right} in {bars}{how_often(len(pattern.runs), passes)}: {counted(count, 'note')} of {pattern.of}. "
            f"The signature has {signature_words(fifths)}.",
            f"Find every {right} of {bars} on the page with a finger before playing, and say it; then play slowly, saying it each time.",
            min(0.6 + 0.1 * count, 0.95) * pattern.sure,
            min(0.4 + 0.05 * count + 0.1 * (len(pattern.runs) - 1), 0.9),
            pattern.runs,
            pattern.played,
            ("key-signature", "accidentals"),
        )


KIND = FindingKind("forgotten-signature", "signature forgotten", find)
