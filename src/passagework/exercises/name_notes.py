"""The altered notes named aloud: first said, then said and played, then played."""

from __future__ import annotations

from passagework.exercises.alone import busy_side, hand_alone, other
from passagework.exercises.edit.at_notes import printed_name, with_words
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.new_key import altered, firsts
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.piece import Note
from passagework.spots.words_of import capital, counted, letter, listed

NAME, TITLE = "name-notes", "The notes in question named aloud"

MOST_NAMES = 16
"""Names that can be said in a passage; of more, only the notes in question are named."""


def named(passage: Passage, study: Study) -> tuple[Note, ...]:
    """The notes of the passage outside its signature, else the notes that its spot is about."""
    own = [
        n for n in passage.notes(study.piece) if n.printed and not n.grace and n.bar in passage.bars
    ]
    rows = altered(passage, study) or tuple(own)
    if len(rows) > MOST_NAMES:
        concerned = set(passage.note_ids)
        rows = tuple(n for n in rows if concerned & set(n.ids)) or rows
    return firsts(rows)[:MOST_NAMES]


def applies(passage: Passage, study: Study) -> float:
    """Best for what the eye or the ear gets wrong."""
    if not named(passage, study):
        return 0.0
    kind = passage.spot.kind if passage.spot else ""
    fits = {"accidentals": 0.9, "harmony": 0.8, "key-signature": 0.7, "reading": 0.6}
    return fits.get(kind, 0.3 if altered(passage, study) else 0.1)


def build(passage: Passage, study: Study) -> Exercise:
    """Each hand with its names, both hands, then as written."""
    rows = named(passage, study)
    if not rows:
        raise DoesNotFitError("there is no note here to name")
    where, slow, middle = (
        bars(passage, study),
        start_tempo(passage, study),
        middle_tempo(passage, study),
    )
    words = {n.id: printed_name(n.pitch) for n in rows}
    names = listed(list(dict.fromkeys(letter(n.pitch) for n in rows)))
    side = busy_side(passage, study)
    both = bool(study.heads_of_hand(passage, other(side)))
    steps = []
    for one in (side, other(side)) if both else (side,):
        own = [n for n in rows if n.hand == one]
        if not own:
            continue
        said = listed(list(dict.fromkeys(letter(n.pitch) for n in own)))
        steps.append(
            Step(
                title=f"{one.capitalize()} hand, naming",
                instruction=f"The {one} hand alone: stop before each printed name, say it ({said}), then play on.",
                notation=with_words(hand_alone(passage, study, one), words),
                tempo=middle,
                done_when=three_times(f"the {one} hand", middle, "every name said before its key, and no more stops"),
                repeat=3,
            )
        )  # fmt: skip
    if both:
        steps.append(
            Step(
                title="Both hands, naming",
                instruction=f"Both hands at {tempo_name(slow)} in time, saying the names aloud as they come.",
                notation=with_words(study.practice(passage), words),
                tempo=slow,
                done_when=three_times(where, slow, "then once with the names only thought"),
                repeat=3,
            )
        )
    first = capital(counted(len(rows), "note"))
    why = (
        f"{hard_at(passage, study)}: {first.lower()} to be thought of ({names}). The voice goes ahead of the hand: "
        "a note that has been said is not corrected by the ear or forgotten by the eye."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
