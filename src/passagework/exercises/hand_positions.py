"""By positions of the hand: each position struck as one grip with its fingers, then the moves between them."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.exercises.alone import busy_side, hand_alone
from passagework.exercises.edit.at_notes import with_fingers
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.made import Line, Sound, make
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.hands.hand import Hand
from passagework.hands.keyboard import distance_mm
from passagework.score.notation import Notation
from passagework.score.piece import Note, Side, TimeSignature
from passagework.spots.words_of import counted, letter, listed, note_name, times

NAME, TITLE = "hand-positions", "By positions of the hand"

MOST_GRIPS = 12
"""Positions of one exercise: with more there is nothing gained by learning them."""

KEYS_A_GRIP = 2.5
"""Keys, and attacks, of a position on average, from which practising by positions saves anything."""

MIDDLE_C = 60


@dataclass(frozen=True, slots=True)
class Grip:
    """Notes that one position of the hand takes, in order of time."""

    notes: tuple[Note, ...]

    @property
    def keys(self) -> tuple[Note, ...]:
        """Its keys, each once, lowest first."""
        rows: dict[int, Note] = {}
        for note in self.notes:
            rows.setdefault(note.midi, note)
        return tuple(rows[midi] for midi in sorted(rows))


def applies(passage: Passage, study: Study) -> float:
    """Fits where a hand plays single notes in several positions of some notes each."""
    if len(_attacks(passage, study)) < 4:
        return 0.0
    grips = find_grips(passage, study)
    if not 2 <= len(grips) <= MOST_GRIPS:
        return 0.0
    keys = sum(len(g.keys) for g in grips) / len(grips)
    attacks = sum(len({n.onset for n in g.notes}) for g in grips) / len(grips)
    return min(0.25 + 0.15 * keys, 0.85) if min(keys, attacks) >= KEYS_A_GRIP else 0.0


def _attacks(passage: Passage, study: Study) -> list[Note]:
    side = busy_side(passage, study)
    by_id = study.piece.by_id
    ids = dict.fromkeys(
        n.id
        for bar in passage.bars
        for n in study.piece.notes_of_bar[bar]
        if n.hand == side and not n.grace and n.printed
    )
    return sorted((by_id[i] for i in ids), key=lambda n: (n.onset, n.midi))


def find_grips(passage: Passage, study: Study) -> list[Grip]:
    """The notes of the busier hand in grips, by the student's own fingering: a new one begins where a finger would
    have to leave its key, or where the hand would have to open beyond its comfort.
    """
    given, hand = study.fingering.fingers, study.context.hand
    side = busy_side(passage, study)
    rows: list[list[Note]] = []
    taken: dict[int, int] = {}
    for note in _attacks(passage, study):
        finger = (given.get(note.id) or (0,))[0]
        if not finger:
            continue
        if rows and _fits(taken, finger, note.midi, side, hand):
            rows[-1].append(note)
        else:
            rows.append([note])
            taken = {}
        taken[finger] = note.midi
    return [Grip(tuple(row)) for row in rows]


def _fits(taken: Mapping[int, int], finger: int, midi: int, side: Side, hand: Hand) -> bool:
    """Whether `finger` reaches its key while the others stay on theirs."""
    way = 1 if side == "right" else -1
    for other, was in taken.items():
        if (finger == other) != (midi == was) or (midi - was) * (finger - other) * way < 0:
            return False
        if finger != other and distance_mm(midi, was) > hand.pair_largest_mm(finger, other):
            return False
    keys = [*taken.values(), midi]
    return distance_mm(min(keys), max(keys)) <= hand.comfortable_mm


def build(passage: Passage, study: Study) -> Exercise:
    """The grips as chords, the notes with their fingers and the moves named, each move alone, then as written."""
    side = busy_side(passage, study)
    grips = find_grips(passage, study)
    if len(grips) < 2:
        raise DoesNotFitError("the hand stays in one position")
    where, slow, middle = (
        bars(passage, study),
        start_tempo(passage, study),
        middle_tempo(passage, study),
    )
    fingers = _fingers(grips, study)
    alone = with_fingers(hand_alone(passage, study, side), fingers)
    steps = [
        Step(
            title="The positions as grips",
            instruction=f"Strike each position of the {side} hand in {where} as one grip with the fingers given, then move to the next without haste.",
            notation=_chords(grips, fingers, passage, study),
            tempo=slow,
            done_when=three_times(f"the {counted(len(grips), 'grip')}", slow, "every finger over its key before it plays"),
            repeat=3,
        ),
        *_moves(grips, fingers, passage, study),
        Step(
            title="With these fingers",
            instruction=f"The {side} hand of {where} with the fingers given; the hand travels {times(len(grips) - 1)} and is still in between.",
            notation=alone,
            tempo=middle,
            done_when=three_times(f"the {side} hand", middle, "no finger exchanged and no bump at a change of position"),
            repeat=3,
        ),
    ]  # fmt: skip
    notes = sum(len(g.notes) for g in grips)
    why = (
        f"{hard_at(passage, study)}: {counted(notes, 'note')} of the {side} hand lie in {counted(len(grips), 'position')}, so that there are only "
        f"{counted(len(grips) - 1, 'move')} to learn. Between them the fingers fall on keys where they already are."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _fingers(grips: Sequence[Grip], study: Study) -> dict[str, int]:
    given = study.fingering.fingers
    return {n.id: given[n.id][0] for g in grips for n in g.notes if given.get(n.id)}


def _chords(
    grips: Sequence[Grip], fingers: dict[str, int], passage: Passage, study: Study
) -> Notation:
    """The grips as minims, two to a bar. Where a position takes a key again, the first finger counts."""
    middle = sorted(n.midi for g in grips for n in g.keys)
    clef = "G" if middle[len(middle) // 2] >= MIDDLE_C else "F"
    sounds = [
        Sound(
            Fraction(2),
            tuple(n.pitch for n in g.keys),
            fingers=tuple(fingers[n.id] for n in g.keys)
            if all(n.id in fingers for n in g.keys)
            else (),
            ids=tuple(n.id for n in g.keys),
        )
        for g in grips
    ]
    if len(sounds) % 2:
        sounds.append(Sound(Fraction(2)))
    rows = tuple(tuple(sounds[k : k + 2]) for k in range(0, len(sounds), 2))
    return make(
        [Line(1, rows)], [clef], TimeSignature((4,), 4), study.context.bar(passage.first_bar).fifths
    )


MOST_MOVES = 3
"""Moves that get a step of their own: the widest."""


def _moves(
    grips: Sequence[Grip], fingers: Mapping[str, int], passage: Passage, study: Study
) -> list[Step]:
    """The last notes of a position and the first of the next, of the widest moves, in order of place."""
    tempo = middle_tempo(passage, study)
    pairs = [(a, b) for a, b in itertools.pairwise(grips) if b.notes[0].onset > a.notes[-1].onset]
    widest = sorted(pairs, key=lambda p: -abs(p[1].notes[0].midi - p[0].notes[-1].midi))[
        :MOST_MOVES
    ]
    steps = []
    for one, two in sorted(widest, key=lambda p: p[1].notes[0].onset):
        last, first = one.notes[-1], two.notes[0]
        steps.append(
            Step(
                title=f"From {note_name(last.pitch)} to {note_name(first.pitch)}",
                instruction=f"Only the move, in even notes: {letter(last.pitch)}, then at once the whole hand over its new keys ({listed([letter(n.pitch) for n in two.keys])}), then {letter(first.pitch)}.",
                notation=_move(one, two, fingers, passage, study),
                tempo=tempo,
                done_when=f"Five times in a row at {tempo_name(tempo)}, all fingers of the new position over their keys when {letter(first.pitch)} sounds.",
                repeat=5,
            )
        )  # fmt: skip
    return steps


def _move(
    one: Grip, two: Grip, fingers: Mapping[str, int], passage: Passage, study: Study
) -> Notation:
    """The last two notes of one position in crotchets (one in a minim), and the first of the next in a minim."""
    before = one.notes[-2:]
    row = [(n, Fraction(2, len(before))) for n in before] + [(two.notes[0], Fraction(2))]
    sounds = tuple(
        Sound(
            length,
            (note.pitch,),
            fingers=(fingers[note.id],) if note.id in fingers else (),
            ids=(note.id,),
        )
        for note, length in row
    )
    clef = "G" if sum(n.midi for n, _ in row) >= MIDDLE_C * len(row) else "F"
    return make(
        [Line(1, (sounds,))],
        [clef],
        TimeSignature((4,), 4),
        study.context.bar(passage.first_bar).fifths,
    )


TECHNIQUE = Technique(NAME, TITLE, applies, build)
