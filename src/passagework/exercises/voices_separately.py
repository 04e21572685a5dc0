"""The voices of one hand separately, each with the fingers it will have, then together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.exercises.alone import busy_side, hand_alone, on_its_staff
from passagework.exercises.edit.at_notes import with_fingers
from passagework.exercises.edit.take_out import keep_only
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.score.piece import Note, Position, Side
from passagework.spots.words_of import counted

NAME, TITLE = "voices-separately", "Upper and lower voice separately"

FEWEST = 3
"""Notes of a voice that is worth playing alone."""

FEWEST_SHARE = 0.5
"""Share of the lower voice's attacks that must meet the upper voice for the two to be a task."""


@dataclass(frozen=True)
class Strands:
    """The notes of one hand in two voices (of the passage cut out of the piece)."""

    side: Side
    upper: tuple[Note, ...]
    lower: tuple[Note, ...]
    """Where single notes stand between double ones they are in both."""
    together: int
    """Notes of the lower voice that begin while another one of the upper sounds."""


def find_strands(passage: Passage, study: Study) -> Strands | None:
    """Two voices of the hand in question: as the page writes them, else the outer notes of its chords."""
    side = busy_side(passage, study)
    heads = study.heads_of_hand(passage, side)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    notes = [n for n in piece.notes if n.id in heads and not n.grace and n.printed]
    return _written(side, notes) or _of_chords(side, notes)


def _written(side: Side, notes: Sequence[Note]) -> Strands | None:
    """The highest voice that the page writes for the hand, and its others; None where they do not overlap."""
    rows: dict[str, list[Note]] = {}
    for note in notes:
        rows.setdefault(note.voice, []).append(note)
    voices = [row for row in rows.values() if len(row) >= FEWEST]
    if len(voices) < 2:
        return None
    voices.sort(key=lambda row: -sum(n.midi for n in row) / len(row))
    upper = voices[0]
    lower = sorted((n for row in voices[1:] for n in row), key=lambda n: n.onset)
    together = sum(any(u.onset <= n.onset < u.end for u in upper) for n in lower)
    if together < FEWEST:
        return None
    return Strands(side, tuple(upper), tuple(lower), together)


def _of_chords(side: Side, notes: Sequence[Note]) -> Strands | None:
    """The highest notes of chords, and all below them; None where there are few chords."""
    attacks: dict[Position, list[Note]] = {}
    for note in notes:
        attacks.setdefault(note.onset, []).append(note)
    rows = [sorted(row, key=lambda n: n.midi) for _, row in sorted(attacks.items())]
    doubles = sum(len(row) > 1 for row in rows)
    if doubles < FEWEST:
        return None
    lower = tuple(n for row in rows for n in (row[:-1] or row))
    return Strands(side, tuple(row[-1] for row in rows), lower, doubles)


def applies(passage: Passage, study: Study) -> float:
    """Fits where one hand plays two voices, or more double notes than single ones."""
    strands = find_strands(passage, study)
    if strands is None:
        return 0.0
    share = strands.together / len({n.onset for n in strands.lower})
    return min(0.45 + 0.45 * share, 0.9) if share >= FEWEST_SHARE else 0.0


def build(passage: Passage, study: Study) -> Exercise:
    """Upper voice alone with its fingers, lower alone, the hand together slowly, then as written."""
    strands = find_strands(passage, study)
    if strands is None:
        raise DoesNotFitError("the hand has no two voices here")
    where, slow, middle = (
        bars(passage, study),
        start_tempo(passage, study),
        middle_tempo(passage, study),
    )
    alone = with_fingers(hand_alone(passage, study, strands.side), _fingers(strands, study))
    side = strands.side
    steps = [
        Step(
            title=f"The {name} voice alone",
            instruction=f"Only the {name} voice of the {side} hand in {where}, {counted(len(notes), 'note')}, with the fingers it has when both are played, as legato as they allow.",
            notation=_only(alone, notes),
            tempo=middle,
            done_when=three_times(f"the {name} voice", middle, f"no finger changed{'' if name == 'upper' else ' and as even as the upper one'}"),
            repeat=3,
        )
        for name, notes in (("upper", strands.upper), ("lower", strands.lower))
    ]  # fmt: skip
    steps.append(
        Step(
            title="Both voices, the hand alone",
            instruction="Both together with the same fingers; first listen to the upper voice, then to the lower.",
            notation=alone,
            tempo=slow,
            done_when=three_times(
                f"the {side} hand", slow, "both notes of every pair exactly together"
            ),
            repeat=3,
        )
    )
    why = (
        f"{hard_at(passage, study)}: the {side} hand has {counted(strands.together, 'note')} of the lower voice under a sounding upper one. "
        "The weaker voice is only heard when the stronger is silent, and each must be sure of its own fingers."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _only(alone: Notation, notes: tuple[Note, ...]) -> Notation:
    return on_its_staff(keep_only(alone, {i for n in notes for i in n.ids}))


def _fingers(strands: Strands, study: Study) -> dict[str, int]:
    given = study.fingering.fingers
    return {n.id: given[n.id][0] for n in (*strands.upper, *strands.lower) if given.get(n.id)}


TECHNIQUE = Technique(NAME, TITLE, applies, build)
