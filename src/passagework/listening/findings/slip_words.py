"""Notes, keys and passes in the words of a sentence about slips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.score.piece import STEP_SEMITONES, Note, Pitch
from passagework.spots.signature import signature_alter
from passagework.spots.spot import SpotHand
from passagework.spots.words_of import letter, listed, note_name, number

NAMED = 3
"""Notes that one sentence names; the others are counted."""


def spelled_like(heard: Heard, note: Note, pitch: int) -> Pitch:
    """The key `pitch` (MIDI), struck for `note`, spelled as its reader would: as the signature has it, a white key
    by its letter, else with the note's own letter, else with the fewest signs.
    """
    fifths = heard.piece.bars[note.bar].fifths
    return spelled(pitch, fifths, note.pitch)


def spelled(pitch: int, fifths: int, near: Pitch | None = None) -> Pitch:
    """The key `pitch` (MIDI) under a signature, with the letter of `near` where the signature does not have it."""
    names = [
        Pitch(step, alter, (pitch - alter) // 12 - 1)
        for step, semitone in STEP_SEMITONES.items()
        for alter in (-1, 0, 1)
        if (semitone + alter - pitch) % 12 == 0
    ]
    names = [
        n if n.midi == pitch else replace(n, octave=n.octave + (pitch - n.midi) // 12)
        for n in names
    ]
    own = [n for n in names if signature_alter(n.step, fifths) == n.alter]
    natural = [n for n in names if n.alter == 0]
    same = [n for n in names if near is not None and n.step == near.step]
    if own or natural or same:
        return (own or natural or same)[0]
    sharp = fifths >= 0
    return min(names, key=lambda n: (abs(n.alter), (n.alter < 0) == sharp))


def key_name(pitch: Pitch, fifths: int = 0, against: Pitch | None = None) -> str:
    """``"G sharp 4"``; with *natural* where the signature alters its letter, and where it must be told from an altered note of
    its letter: ``"G natural 4"``.
    """
    told = against is not None and against.step == pitch.step and against.alter != 0
    if pitch.alter == 0 and (told or signature_alter(pitch.step, fifths)):
        return f"{pitch.step} natural {pitch.octave}"
    return note_name(pitch)


def letter_name(pitch: Pitch) -> str:
    """A pitch without its octave, naturals named: ``"F natural"``."""
    return letter(pitch) if pitch.alter else f"{pitch.step} natural"


def named(parts: Sequence[str]) -> str:
    """The first few of `parts`, the rest counted: ``"E4, G4, C5 and two more"``."""
    if len(parts) <= NAMED + 1:
        return listed(parts)
    return listed([*parts[:NAMED], f"{number(len(parts) - NAMED)} more"])


def the_hand(hand: SpotHand) -> str:
    """``"the right hand"``, ``"the hands"``."""
    return "the hands" if hand == "both" else f"the {hand} hand"


def passes_over(heard: Heard, first_bar: int, last_bar: int, hand: SpotHand) -> int:
    """Passes that played some of these bars with that hand."""
    return sum(
        p.first_bar <= last_bar
        and first_bar <= p.last_bar
        and (hand == "both" or p.hand in ("both", hand))
        for p in heard.alignment.passes
    )


def how_often(heard_in: int, of: int) -> str:
    """``""`` where there was one pass; else ``", in both passes"``, ``", in two of three passes"``."""
    if of <= 1:
        return ""
    if heard_in >= of:
        return ", in both passes" if of == 2 else f", in all {number(of)} passes"
    return f", in {number(heard_in)} of {number(of)} passes"


def distinct(slips: Sequence[Slip]) -> list[Slip]:
    """One slip for each note and key, in order of the piece."""
    rows: dict[tuple[str, int], Slip] = {}
    for slip in slips:
        rows.setdefault((slip.note.id if slip.note else "", slip.played or -1), slip)
    seen: dict[str, Slip] = {}
    for slip in rows.values():
        seen.setdefault(slip.note.id if slip.note else f"#{slip.played}", slip)
    return sorted(
        seen.values(),
        key=lambda s: (s.bar, s.note.onset if s.note else 0, s.note.midi if s.note else 0),
    )
