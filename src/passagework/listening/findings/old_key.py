"""The old signature's notes after a change of signature.

A wrong note counts where its letter is altered otherwise since the change, the page wants what the new signature says, and the
key struck is what the old one said. One such note within the first bars after the change is enough: it is what a hand does
that has not turned over yet.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.patterns import Pattern
from passagework.listening.findings.slip_words import how_often, letter_name, passes_over
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.score.piece import KeySignature
from passagework.spots.signature import Signatures, signature_alter, signature_words
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted, listed

SOURCE = "key struck is the old signature's for that letter"

AT_ONCE = 4
"""Bars after the change within which a single old note tells."""
STILL = 16
"""Bars after the change within which further ones belong to it: hands turn over in the first bars or learn the wrong key."""


def pick(heard: Heard, slips: Sequence[Slip]) -> list[Pattern]:
    """The slips that the old signature explains, one pattern for each change."""
    changes = Signatures(heard.piece).changes
    onsets = [new.onset for _, new in changes]
    rows: dict[int, list[Slip]] = defaultdict(list)
    for slip in slips:
        if slip.note is None or slip.played is None:
            continue
        at = bisect_right(onsets, slip.note.onset) - 1
        if (
            at >= 0
            and slip.note.bar < changes[at][1].bar + STILL
            and _old(heard, slip, *changes[at])
        ):
            rows[at].append(slip)
    found: list[Pattern] = []
    for at, row in sorted(rows.items()):
        old, new = changes[at]
        if len(row) > 1 or row[0].bar < new.bar + AT_ONCE:
            found.append(Pattern(str(at), tuple(row), _chances(heard, old, new, row)))
    return found


def _old(heard: Heard, slip: Slip, old: KeySignature, new: KeySignature) -> bool:
    assert slip.note is not None
    assert slip.played is not None
    pitch = slip.note.pitch
    was, now = signature_alter(pitch.step, old.fifths), signature_alter(pitch.step, new.fifths)
    key = heard.take.notes[slip.played].pitch
    return was != now == pitch.alter and replace(pitch, alter=was).midi == key


def _chances(heard: Heard, old: KeySignature, new: KeySignature, row: Sequence[Slip]) -> int:
    """Notes of the altered letters from the change to the last slip that were played, rightly or not."""
    last = max(s.bar for s in row)
    altered = {
        step
        for step in "CDEFGAB"
        if signature_alter(step, old.fifths) != signature_alter(step, new.fifths)
    }
    count = len(row)
    for struck in heard.struck:
        for bar in range(new.bar, last + 1):
            for note in heard.piece.notes_of_bar[bar]:
                right = signature_alter(note.pitch.step, new.fifths) == note.pitch.alter
                count += note.pitch.step in altered and right and note.id in struck
    return count


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each change of signature that the hands missed."""
    changes = Signatures(heard.piece).changes
    for pattern in heard.slips.old_key:
        old, new = changes[int(pattern.key)]
        bars = heard.context.bar_names(sorted({s.bar for s in pattern.slips}))
        passes = passes_over(heard, pattern.first_bar, pattern.last_bar, pattern.hand)
        pairs = _pairs(pattern, old)
        wrong = len(pattern.slips)
        yield Finding(
            "old-key",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("notes of the old signature", wrong, "", SOURCE),
                Evidence("notes that the change alters, played up to there", pattern.of),
                Evidence("passes with them", len(pattern.runs)),
            ),
            f"{capital(listed(pairs))} in {bars}{how_often(len(pattern.runs), passes)}: "
            f"{counted(wrong, 'note')} of the signature before the change at {heard.context.bar_names([new.bar])} "
            f"(from {signature_words(old.fifths)} to {signature_words(new.fifths)}), out of {pattern.of} that it alters.",
            f"Say the new signature aloud, play its scale once, then start a bar before {heard.context.bar_names([new.bar])} "
            "and stop at the change: name the altered notes, then go on.",
            min(0.6 + 0.1 * wrong, 0.95) * pattern.sure,
            min(0.5 + 0.05 * wrong + 0.1 * (len(pattern.runs) - 1), 0.95),
            pattern.runs,
            pattern.played,
            ("key-signature", "accidentals"),
        )


def _pairs(pattern: Pattern, old: KeySignature) -> list[str]:
    rows: dict[str, str] = {}
    for slip in pattern.slips:
        if slip.note is not None:
            pitch = slip.note.pitch
            was = replace(pitch, alter=signature_alter(pitch.step, old.fifths))
            rows.setdefault(pitch.step, f"{letter_name(was)} instead of {letter_name(pitch)}")
    return list(rows.values())


KIND = FindingKind("old-key", "the old key's notes", find)
