"""A stop at the join, made shorter step by step until it is gone."""

from __future__ import annotations

from fractions import Fraction

from passagework.exercises.edit.retime import put_stops
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.spans import beat_words, beats
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, exercise, hard_at
from passagework.score.piece import Piece, Position
from passagework.spots.words_of import beat_name, capital, counted

NAME, TITLE = "shrinking-stop", "A stop at the join, made shorter"

AT_A_SIGN = frozenset({"sudden-dynamics", "words", "key-signature"})
"""Kinds whose first note of the new thing is the join."""

AT_A_LANDING = frozenset({"leap", "crossing", "stretch", "same-keys"})
"""Kinds whose last note is where the hand arrives."""


def applies(passage: Passage, study: Study) -> float:
    """Fits where there is a join; best where the spot is one: a leap, a sign, a crossing."""
    if find_join(passage, study) is None:
        return 0.0
    kind = passage.spot.kind if passage.spot else ""
    return 0.8 if kind in AT_A_SIGN | AT_A_LANDING else 0.45


def find_join(passage: Passage, study: Study) -> Position | None:
    """Where the difficulty has to be got over, from the passage's start: the landing or the new sign of the
    spot, else the bar line in the middle, else the middle beat. None where nothing is struck before it.
    """
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    struck = sorted({n.onset for n in piece.notes if not n.grace})
    if len(struck) < 2:
        return None
    inside = [at for at in struck if struck[0] < at]
    kind = passage.spot.kind if passage.spot else ""
    own = sorted({n.onset for i in passage.note_ids if (n := piece.by_id.get(i)) and not n.grace})
    if kind in AT_A_LANDING and own:
        return next((at for at in own[1:2] if at in inside), None) or _middle(piece, inside)
    if kind in AT_A_SIGN and own and own[0] in inside:
        return own[0]
    return _middle(piece, inside)


def _middle(piece: Piece, inside: list[Position]) -> Position | None:
    half = piece.end / 2
    lines = [bar.onset for bar in piece.bars if bar.onset in inside]
    every = [at for bar in piece.bars for at in beats(bar) if at in inside]
    for grid in (lines, every):
        if grid:
            return min(grid, key=lambda at: (abs(at - half), at))
    return None


def build(passage: Passage, study: Study) -> Exercise:
    """A stop of a bar, of a beat, of half a beat, then none, slowly; then as written."""
    join = find_join(passage, study)
    if join is None:
        raise DoesNotFitError("there is no join here")
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    bar = piece.bar_at(join)
    beat = bar.time.beat
    start = study.context.bar(passage.first_bar).onset
    name = beat_name(study.context, start)
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    place = beat_words(passage, study, join)
    steps: list[Step] = []
    for length, tempo in zip(_lengths(bar.time.length, beat), (slow, slow, middle), strict=True):
        try:
            notation = put_stops(study.practice(passage), {join: length})
        except DoesNotFitError:
            continue
        words = _long(length, beat, name)
        steps.append(
            Step(
                title=f"A stop of {words}",
                instruction=f"Play up to {place} and stop for {words}; use the stop to put the hands over what follows, then go on in time.",
                notation=notation,
                tempo=tempo,
                done_when=f"Three times in a row at {tempo_name(tempo)}, the hands in place before the stop is over.",
                repeat=3,
            )
        )  # fmt: skip
    if not steps:
        raise DoesNotFitError("a stop cannot be written here")
    steps.append(
        Step(
            title="The stop only thought",
            instruction=f"No stop any more: at {tempo_name(slow)}, thinking it at {place}.",
            notation=study.practice(passage),
            tempo=slow,
            done_when=f"Three times in a row at {tempo_name(slow)}, and a listener cannot tell where the stop was.",
            repeat=3,
        )
    )
    why = (
        f"{hard_at(passage, study)}: what has to be got ready lies at {place}. {capital(counted(len(steps) - 1, 'stop'))} there, each shorter than "
        f"the last, give the hands that time first and take it away again by {tempo_name(full_tempo(passage, study))}."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _lengths(bar: Fraction, beat: Fraction) -> tuple[Fraction, Fraction, Fraction]:
    """A bar, a beat, and the half (or the third) of a beat; two beats where the bar has only one."""
    small = beat / 3 if beat.numerator % 3 == 0 else beat / 2
    return (bar if bar > beat else 2 * beat), beat, small


def _long(length: Fraction, beat: Fraction, name: str) -> str:
    count = length / beat
    if count >= 1 and count.denominator == 1:
        return counted(int(count), name)
    return "half a beat" if 2 * length == beat else "a third of a beat"


TECHNIQUE = Technique(NAME, TITLE, applies, build)
