"""Ornaments by stages: the notes without them, then written out slowly, then quicker, then as the sign."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.exercises.alone import busy_side, hand_alone, other
from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.take_out import take_out
from passagework.exercises.edit.ties import take_out_ties
from passagework.exercises.edit.unfold import Item, unfold
from passagework.exercises.edit.write_out import (
    FINEST,
    Stroke,
    graces_in_time,
    unit_of,
    without_signs,
    write_out,
)
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.score.piece import Note, Ornament, Pitch, Side
from passagework.spots.ornament_notes import auxiliaries, auxiliary
from passagework.spots.ornaments import SIGNS
from passagework.spots.words_of import counted, letter, listed

NAME, TITLE = "ornament-stages", "The ornament by stages"

TRILL = "trill"
SLOW_TRILL = 4
"""Notes at least of a trill that is written out slowly; the next stage has twice as many."""


@dataclass(frozen=True)
class Ornaments:
    """The ornaments of one hand in a passage (notes of the passage cut out of the piece)."""

    side: Side
    signed: tuple[tuple[Note, Ornament], ...]
    graces: tuple[Note, ...]
    """Grace notes, and"""
    principals: tuple[Note, ...]
    """the notes that they lean on."""

    @property
    def names(self) -> list[str]:
        """What they are, each once: ``["trill", "grace note"]``."""
        rows = [SIGNS[o.kind][0] for _, o in self.signed]
        if self.graces:
            rows.append("grace note" if len(self.graces) == 1 else "grace notes")
        return list(dict.fromkeys(rows))

    @property
    def trills(self) -> bool:
        """Whether one of them has as many notes as there is time for."""
        return any(SIGNS[o.kind][0] == TRILL for _, o in self.signed)


def find_ornaments(passage: Passage, study: Study) -> Ornaments:
    """Signs and grace notes of the hand in question; where both are and the busier one has none, of the other."""
    side = busy_side(passage, study)
    found = _of_hand(passage, study, side)
    if passage.hand == "both" and not (found.signed or found.principals):
        return _of_hand(passage, study, other(side))
    return found


def _of_hand(passage: Passage, study: Study, side: Side) -> Ornaments:
    heads = study.heads_of_hand(passage, side)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    signed: list[tuple[Note, Ornament]] = []
    graces: list[Note] = []
    for note in piece.notes:
        if note.id not in heads or not note.printed:
            continue
        if note.grace:
            graces.append(note)
            continue
        sign = next((o for o in note.ornaments if o.kind in SIGNS and o.role != "stop"), None)
        if sign is not None and note.id in study.piece.by_id:
            signed.append((note, sign))
    lean = {(g.bar, g.onset, g.voice) for g in graces}
    principals = [
        n
        for n in piece.notes
        if n.id in heads and not n.grace and (n.bar, n.onset, n.voice) in lean
    ]
    return Ornaments(side, tuple(signed), tuple(graces), tuple(principals))


def applies(passage: Passage, study: Study) -> float:
    """Only where there are ornaments; best where they are the notes concerned."""
    found = find_ornaments(passage, study)
    if not found.signed and not found.principals:
        return 0.0
    concerned = set(passage.note_ids)
    own = {n.id for n, _ in found.signed} | {n.id for n in (*found.graces, *found.principals)}
    return 0.95 if concerned & own else 0.4


def build(passage: Passage, study: Study) -> Exercise:
    """Without, written out slowly, (trills) twice as many notes, with the other hand, then as written."""
    found = find_ornaments(passage, study)
    if not found.signed and not found.principals:
        raise DoesNotFitError("there is no ornament here")
    side, where = found.side, bars(passage, study)
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    alone = hand_alone(passage, study, side)
    names = listed([f"the {n}" for n in found.names])
    plain, out = without(alone, found), written_out(alone, found, study, 1)
    steps = [
        Step(
            title="Without the ornament",
            instruction=f"The {side} hand of {where} without {names}: the plain notes in time, as they must still be felt later.",
            notation=plain,
            tempo=middle,
            done_when=three_times("the plain notes", middle, "counting aloud"),
            repeat=3,
        ),
        Step(
            title="Written out",
            instruction=f"{names[:1].upper() + names[1:]} in measured notes{_of_what(found, study)}; count, and land on the next beat.",
            notation=out,
            tempo=slow,
            done_when=three_times(f"the {side} hand", slow, "the beats where they were without the ornament"),
            repeat=3,
        ),
    ]  # fmt: skip
    if found.trills:
        steps.append(
            Step(
                title="Twice as many notes",
                instruction="The trill in notes half as long, still measured; as many of them as the loose hand gives, no more.",
                notation=written_out(alone, found, study, 2),
                tempo=slow,
                done_when=three_times(
                    f"the {side} hand", slow, "the trill even and over in time for the next note"
                ),
                repeat=3,
            )
        )
    if study.heads_of_hand(passage, other(side)):
        steps.append(
            Step(
                title="Written out, both hands",
                instruction=f"{where[:1].upper() + where[1:]} with the measured notes; hear which of them meets the other hand.",
                notation=written_out(study.practice(passage), found, study, 1),
                tempo=slow,
                done_when=three_times(where, slow, "the other hand undisturbed"),
                repeat=3,
            )
        )
    why = (
        f"{hard_at(passage, study)}: {counted(len(found.signed) + len({(n.onset, n.voice) for n in found.principals}), 'ornament')} ({listed(found.names)}) in the {side} hand. "
        "An ornament that is late or hurried was never counted: written out, every note of it has its place."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def without(notation: Notation, found: Ornaments) -> Notation:
    """The notes without their ornaments."""
    work = take_out(notation, {n.id for n in found.graces}) if found.graces else notation
    layout = unfold(work)
    signed = {i for n, _ in found.signed for i in n.ids}
    for element in (e for _, item in layout.items() for e in item.elements):
        if element.get("id", "") in signed:
            without_signs(element)
    return finish(layout)


def written_out(notation: Notation, found: Ornaments, study: Study, stage: int) -> Notation:
    """Signs and grace notes as measured notes; `stage` 2 has twice as many notes in a trill.

    Raises `DoesNotFitError` where none of them can be printed in values that are counted.
    """
    signed = {n.id: (n, o) for n, o in found.signed}
    tied = [i for i, (n, _) in signed.items() if n.tied_ids]
    work = take_out_ties(notation, tied) if tied else notation
    items = {i: item for _, item in unfold(work).items() for i in item.ids}
    figures: dict[str, Sequence[Stroke]] = {}
    for note, sign in signed.values():
        for head in note.ids:
            item = items.get(head)
            if item is None or (head != note.id and not _signed_itself(item, head)):
                continue
            figure = _figure(study, note, sign, item, stage)
            if figure:
                figures[head] = figure
    values: dict[str, Fraction] = {}
    for note in found.principals:
        item = items.get(note.id)
        if item is None or note.id in figures:
            continue
        count = sum(g.onset == note.onset and g.voice == note.voice for g in found.graces)
        value = _halved(unit_of(item), lambda v, c=count, i=item: 2 * c * v <= i.length)  # type: ignore[misc]
        if value:
            values[note.id] = value
    if not figures and not values:
        raise DoesNotFitError("the ornament has no time to be written out in")
    return graces_in_time(write_out(work, figures), values)


def _signed_itself(item: Item, head: str) -> bool:
    """Whether a later head of a tied note carries an ornament sign of its own: the ornament goes on."""
    element = next(e for e in item.elements if e.get("id", "") == head)
    return any(n.find("ornaments") is not None for n in element.findall("notations"))


def _figure(
    study: Study, note: Note, sign: Ornament, item: Item, stage: int
) -> list[Stroke] | None:
    """The strokes of one sign, None where they would be too short to count."""
    whole = study.piece.by_id[note.id]
    extra = auxiliaries(study.context, whole, sign)
    name, unit, length = SIGNS[sign.kind][0], unit_of(item), item.length
    if name == TRILL:
        value = _halved(unit, lambda v: length >= SLOW_TRILL * v)
        if value is None:
            return None
        value = value / stage if value / stage >= FINEST else value
        count = int(length / value)
        return [Stroke(value, (extra[0],) if k % 2 else ()) for k in range(count)]
    if name == "slide":
        below = [auxiliary(study.context, whole, step, ()) for step in (-2, -1)]
        return _quick(unit, length, [(below[0],), (below[1],), ()])
    if len(extra) == 1:
        return _quick(unit, length, [(), extra, ()])
    if len(extra) != 2:
        return None
    upper, lower = (extra[0],), (extra[1],)
    around: list[tuple[Pitch, ...]] = [lower, (), upper, ()] if "inverted" in name else [upper, (), lower, ()]  # fmt: skip
    if "after" in name:
        value = _halved(unit, lambda v: 8 * v <= length)
        if value is None:
            return None
        return [Stroke(length - 4 * value), *(Stroke(value, p) for p in around)]
    return _quick(unit, length, around)


def _quick(
    unit: Fraction, length: Fraction, pitches: Sequence[tuple[Pitch, ...]]
) -> list[Stroke] | None:
    """Notes of one value, the last of which takes what is left."""
    value = _halved(unit, lambda v: 4 * v <= length)
    if value is None:
        return None
    rest = length - value * (len(pitches) - 1)
    return [*(Stroke(value, p) for p in pitches[:-1]), Stroke(rest, pitches[-1])]


def _halved(unit: Fraction, fits: Callable[[Fraction], bool]) -> Fraction | None:
    """The largest of `unit`, its half, its quarter ... that fits and can still be counted."""
    value = unit
    while value >= FINEST:
        if fits(value):
            return value
        value /= 2
    return None


def _of_what(found: Ornaments, study: Study) -> str:
    """The notes that the signs add: ``" (with D and B flat)"``."""
    added = [
        letter(p)
        for n, o in found.signed
        for p in auxiliaries(study.context, study.piece.by_id[n.id], o)
    ]
    return f" (with {listed(list(dict.fromkeys(added)))})" if added else ""


TECHNIQUE = Technique(NAME, TITLE, applies, build)
