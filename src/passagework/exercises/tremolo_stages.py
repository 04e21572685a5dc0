"""Tremolos by stages: the grip, then measured notes, then twice as many, then as the sign says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.exercises.alone import busy_side, hand_alone
from passagework.exercises.edit.blocks import gather
from passagework.exercises.edit.unfold import Item, unfold
from passagework.exercises.edit.write_out import FINEST, Stroke, write_out
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.hands.keyboard import distance_mm
from passagework.score.notation import Notation
from passagework.score.piece import Note, Pitch
from passagework.spots.words_of import centimetres, counted

NAME, TITLE = "tremolo-stages", "The tremolo by stages"

SLOWEST_NOTE = Fraction(1, 2)
"""Quarters of the notes of the first measured stage: quavers."""


@dataclass(frozen=True)
class Tremolo:
    """A tremolo of one hand: what is struck first, and (between two) what in turn with it."""

    first: tuple[Note, ...]
    second: tuple[Note, ...]
    """Empty where one note or chord is repeated."""

    @property
    def mm(self) -> float:
        """How far apart its outer keys are."""
        keys = [n.midi for n in (*self.first, *self.second)]
        return distance_mm(min(keys), max(keys))


def find_tremolos(passage: Passage, study: Study) -> tuple[Tremolo, ...]:
    """The tremolos that signs ask for, of the hand in question."""
    heads = study.heads_of_hand(passage, busy_side(passage, study))
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    chords: dict[int, list[Note]] = {}
    for note in piece.notes:
        if note.id in heads and not note.grace and note.printed:
            chords.setdefault(note.chord, []).append(note)
    rows = sorted(chords.values(), key=lambda r: (r[0].voice, r[0].onset))
    found = []
    for k, row in enumerate(rows):
        signs = [o for n in row for o in n.ornaments if o.kind == "tremolo" and o.strokes]
        if not signs:
            continue
        if signs[0].role == "start" and k + 1 < len(rows):
            found.append(Tremolo(tuple(row), tuple(rows[k + 1])))
        elif signs[0].role in {"single", ""}:
            found.append(Tremolo(tuple(row), ()))
    return tuple(found)


def applies(passage: Passage, study: Study) -> float:
    """Only where a sign asks for a tremolo."""
    return 0.95 if find_tremolos(passage, study) else 0.0


def build(passage: Passage, study: Study) -> Exercise:
    """The grip, measured quavers, measured semiquavers, then as written."""
    found = find_tremolos(passage, study)
    if not found:
        raise DoesNotFitError("no sign asks for a tremolo here")
    side, where = busy_side(passage, study), bars(passage, study)
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    alone = hand_alone(passage, study, side)
    between_two = any(t.second for t in found)
    steps = [
        Step(
            title="The grip",
            instruction=f"The {side} hand of {where} without the tremolo, its keys struck together: hand and wrist at ease before anything moves.",
            notation=grips(alone, found),
            tempo=middle,
            done_when=three_times(f"the {side} hand", middle, "the wrist loose while the keys are held"),
            repeat=3,
        )
    ]  # fmt: skip
    for value, title in (
        (SLOWEST_NOTE, "In measured quavers"),
        (SLOWEST_NOTE / 2, "In measured semiquavers"),
    ):
        try:
            notation = measured(alone, found, value)
        except DoesNotFitError:
            continue
        turn = "turning the forearm from side to side" if between_two else "from a loose wrist"
        steps.append(
            Step(
                title=title,
                instruction=f"The tremolo counted, {turn}; keep the fingers on the keys, and stop as soon as the arm grows tight.",
                notation=notation,
                tempo=slow,
                done_when=three_times(
                    f"the {side} hand", slow, "even, and as loose at the end as at the beginning"
                ),
                repeat=3,
            )
        )
    if len(steps) == 1:
        raise DoesNotFitError("the tremolo cannot be written out in counted notes")
    widest = max(found, key=lambda t: t.mm)
    why = (
        f"{hard_at(passage, study)}: {counted(len(found), 'tremolo', 'tremolos')} in the {side} hand"
        + (f", {centimetres(widest.mm)} from side to side" if widest.mm else "")
        + ". A tremolo tires by being pressed: counted and loose first, it grows quick by itself. If the arm hurts, stop for the day."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def grips(notation: Notation, found: Sequence[Tremolo]) -> Notation:
    """Each tremolo as what it is made of, struck once and held."""
    plain = {n.id: [Stroke(n.duration)] for t in found for n in t.first[:1] if not t.second}
    items = _items(notation)
    for tremolo in found:
        for row in (tremolo.first, tremolo.second):
            if tremolo.second and row[0].id in items:
                plain[row[0].id] = [Stroke(items[row[0].id].length)]
    for head in list(plain):
        if head in items:
            plain[head] = [Stroke(items[head].length)]
    figures = [[n.id for n in (*t.first, *t.second)] for t in found if t.second]
    return gather(write_out(notation, plain), figures)


def measured(notation: Notation, found: Sequence[Tremolo], value: Fraction) -> Notation:
    """Each tremolo in notes of `value` quarters. Raises `DoesNotFitError` where they do not fill its time."""
    if value < FINEST:
        raise DoesNotFitError("notes too short to count")
    items = _items(notation)
    figures: dict[str, Sequence[Stroke]] = {}
    for tremolo in found:
        halves = [tremolo.first, tremolo.second] if tremolo.second else [tremolo.first]
        lengths = [items[h[0].id].length if h[0].id in items else Fraction(0) for h in halves]
        count = sum(lengths) / value
        if (
            count.denominator != 1
            or count < 2
            or any((x / value).denominator != 1 for x in lengths)
        ):
            continue
        turn = 0
        for row, length in zip(halves, lengths, strict=True):
            strokes = []
            for _ in range(int(length / value)):
                struck = halves[turn % len(halves)]
                strokes.append(Stroke(value, () if struck is row else _pitches(struck)))
                turn += 1
            figures[row[0].id] = strokes
    if not figures:
        raise DoesNotFitError("the tremolo cannot be written out in these notes")
    return write_out(notation, figures)


def _items(notation: Notation) -> dict[str, Item]:
    return {i: item for _, item in unfold(notation).items() for i in item.ids}


def _pitches(notes: Sequence[Note]) -> tuple[Pitch, ...]:
    return tuple(n.pitch for n in sorted(notes, key=lambda n: n.midi))


TECHNIQUE = Technique(NAME, TITLE, applies, build)
