"""What an ornament sign asks for in notes: the auxiliaries with their accidentals, and grace groups."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from passagework.score.piece import Note, Ornament, Pitch, Position, Side
from passagework.spots.context import Context

SHARPS = "FCGDAEB"
LETTERS = "CDEFGAB"
MARKS = {
    "sharp": 1, "flat": -1, "natural": 0, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
    "double-flat": -2,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class GraceGroup:
    """Grace notes in a row, and the note they lean on (None at the end of a bar or a line)."""

    notes: tuple[Note, ...]
    principal: Note | None
    before: Note | None
    """The note of the same voice that ends where they stand."""


def signature_alter(letter: str, fifths: int) -> int:
    """Alteration of a letter under a key signature."""
    at = SHARPS.index(letter)
    if fifths > 0:
        return (fifths - at + 6) // 7
    return -((-fifths - (6 - at) + 6) // 7)


def auxiliary(context: Context, note: Note, steps: int, accidentals: tuple[str, ...]) -> Pitch:
    """The note `steps` letters above (1) or below (-1): its alteration is the one printed at the
    sign, else the last one used for it in the bar, else the signature's.
    """
    index = note.pitch.diatonic + steps
    octave, letter = divmod(index, 7)
    step = LETTERS[letter]
    if accidentals and accidentals[0] in MARKS:
        return Pitch(step, MARKS[accidentals[0]], octave)
    alter = signature_alter(step, context.bar(note.bar).fifths)
    for other in context.piece.notes_of_bar[note.bar]:
        if other.onset > note.onset or (other.onset == note.onset and other.id == note.id):
            break
        if other.pitch.diatonic == index and other.staff == note.staff:
            alter = other.pitch.alter
    return Pitch(step, alter, octave)


def auxiliaries(context: Context, note: Note, ornament: Ornament) -> tuple[Pitch, ...]:
    """The notes that an ornament sign adds, upper before lower; empty for signs without any."""
    marks = ornament.accidentals
    if ornament.kind in {"trill-mark", "inverted-mordent", "shake", "wavy-line"}:
        return (auxiliary(context, note, 1, marks),)
    if ornament.kind == "mordent":
        return (auxiliary(context, note, -1, marks),)
    if "turn" in ornament.kind:
        upper = marks[:1] if len(marks) > 1 else ()
        lower = marks[-1:] if marks else ()
        return (auxiliary(context, note, 1, upper), auxiliary(context, note, -1, lower))
    return ()


def grace_groups(context: Context) -> list[GraceGroup]:
    """Every group of grace notes of one voice at one position, printed ones only."""
    rows: dict[tuple[Side, str, int, Position], list[Note]] = defaultdict(list)
    for note in context.piece.notes:
        if note.grace and note.printed:
            rows[note.hand, note.voice, note.bar, note.onset].append(note)
    starts: dict[tuple[Side, str], dict[Position, Note]] = {}
    ends: dict[tuple[Side, str], dict[Position, Note]] = {}
    for key, attacks in context.streams.items():
        starts[key] = {a.onset: a.high for a in attacks}
        ends[key] = {n.end: n for a in attacks for n in a.notes}
    groups = []
    for (side, voice, bar, onset), notes in rows.items():
        principal = starts.get((side, voice), {}).get(onset)
        if principal is not None and principal.bar != bar:
            principal = None  # written after the last note of a bar
        before = ends.get((side, voice), {}).get(onset)
        groups.append(GraceGroup(tuple(notes), principal, before))
    return groups


def strikes_to_play(group: GraceGroup) -> int:
    """Attacks in the group: notes of one chord count once."""
    return len({n.chord for n in group.notes})
