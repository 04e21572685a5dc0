"""Landing practice for leaps: the way without striking, then early, then in time."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from passagework.exercises.alone import busy_side, hand_alone
from passagework.exercises.edit.part import between
from passagework.exercises.edit.retime import put_stops
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at
from passagework.hands.keyboard import key_mm
from passagework.score.piece import Note, Position, Side
from passagework.spots.words_of import beat_name, centimetres, letter, note_name

NAME, TITLE = "landing", "Landing practice"


@dataclass(frozen=True, slots=True)
class Leap:
    """The way of one hand from one attack to the next, in positions from the passage's start."""

    side: Side
    start: tuple[Note, ...]
    goal: tuple[Note, ...]
    mm: float
    """How far the hand's middle travels, in millimetres."""

    @property
    def at(self) -> Position:
        """Where it begins."""
        return self.start[0].onset

    @property
    def to(self) -> Position:
        """Where it lands."""
        return self.goal[0].onset


def applies(passage: Passage, study: Study) -> float:
    """By how far the hand has to travel, against its reach."""
    leap = find_leap(passage, study)
    if leap is None:
        return 0.0
    share = leap.mm / study.context.hand.largest_mm
    return min(0.35 + 0.4 * share, 0.95) if share >= 0.5 else 0.0


def find_leap(passage: Passage, study: Study) -> Leap | None:
    """The widest way of the hand in question between attacks of the notes concerned, or of any."""
    side = busy_side(passage, study)
    heads = study.heads_of_hand(passage, side)
    attacks: dict[Position, list[Note]] = {}
    for note in study.cut_piece(passage.first_bar, passage.last_bar).notes:
        if note.id in heads and not note.grace and note.printed:
            attacks.setdefault(note.onset, []).append(note)
    rows = [tuple(attacks[at]) for at in sorted(attacks)]
    ways = [
        Leap(side, one, two, abs(_middle(two) - _middle(one)))
        for one, two in itertools.pairwise(rows)
    ]
    concerned = set(passage.note_ids)
    own = [w for w in ways if concerned & {i for n in w.goal for i in n.ids}]
    return max(own or ways, key=lambda w: w.mm, default=None)


def _middle(notes: tuple[Note, ...]) -> float:
    keys = [key_mm(n.midi) for n in notes]
    return (min(keys) + max(keys)) / 2


def build(passage: Passage, study: Study) -> Exercise:
    """The way without striking, with a stop on the target, slowly in time, then as written."""
    leap = find_leap(passage, study)
    if leap is None:
        raise DoesNotFitError("the hand does not travel here")
    where, side = bars(passage, study), leap.side
    alone = hand_alone(passage, study, side)
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    start, goal = _name(leap.start), _name(leap.goal)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    beat = piece.bar_at(leap.to).time.beat
    name = beat_name(study.context, study.context.bar(passage.first_bar).onset)
    the_leap = between(alone, leap.at, leap.to)
    steps = [
        Step(
            title="Silently",
            instruction=f"Play {start}, go to {goal} at once and rest on the keys without striking them; look only after you have arrived.",
            notation=the_leap,
            tempo=slow,
            done_when=f"Five times in a row at {tempo_name(slow)} the fingers lie on {goal} before the grey notes are due.",
            grey=frozenset(i for n in leap.goal for i in n.ids),
            repeat=5,
        )
    ]  # fmt: skip
    try:
        early = put_stops(the_leap, {_inside(study, passage, leap): beat})
        steps.append(
            Step(
                title="Early",
                instruction=f"Play {start}, be on {goal} before the rest is over, wait there with the keys touched, and strike in time.",
                notation=early,
                tempo=middle,
                done_when=f"Five times in a row at {tempo_name(middle)}, standing on {goal} for the whole second half of the {name} of rest.",
                repeat=5,
            )
        )  # fmt: skip
    except DoesNotFitError:
        pass
    steps.append(
        Step(
            title="In time",
            instruction=f"The {side} hand of {where} with the leap to {goal} in time at {tempo_name(slow)}.",
            notation=alone,
            tempo=slow,
            done_when=f"Five times in a row at {tempo_name(slow)}, {goal} neither late nor louder than what is around it.",
            repeat=5,
        )
    )
    why = (
        f"{hard_at(passage, study)}: from {start} to {goal} the {side} hand travels {centimetres(leap.mm)}. "
        "The eye and the arm learn the distance when it is gone over without the risk of a wrong note; the time comes after."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _inside(study: Study, passage: Passage, leap: Leap) -> Position:
    """The landing as a position of the notation that begins with the bar of the leap's start."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    return leap.to - piece.bar_at(leap.at).onset


def _name(notes: tuple[Note, ...]) -> str:
    low, high = min(notes, key=lambda n: n.midi), max(notes, key=lambda n: n.midi)
    if low.midi == high.midi:
        return note_name(low.pitch)
    return (
        f"{letter(low.pitch)} and {note_name(high.pitch)}"
        if len(notes) == 2
        else f"the chord on {note_name(low.pitch)}"
    )


TECHNIQUE = Technique(NAME, TITLE, applies, build)
