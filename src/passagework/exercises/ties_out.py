"""Without the ties, then with them: the held note struck again where its beat falls."""

from __future__ import annotations

from passagework.exercises.alone import busy_side, hand_alone, other
from passagework.exercises.edit.ties import take_out_ties
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.piece import Note
from passagework.spots.words_of import counted, listed, note_name

NAME, TITLE = "ties-out", "Without the ties, then with them"


def applies(passage: Passage, study: Study) -> float:
    """Only where notes of the passage are tied; best where they are the notes concerned."""
    tied = find_tied(passage, study)
    if not tied:
        return 0.0
    concerned = set(passage.note_ids)
    return 0.9 if any(concerned & set(n.ids) for n in tied) else 0.4


def find_tied(passage: Passage, study: Study) -> tuple[Note, ...]:
    """Notes tied inside the passage: those concerned if any are, else all of the hand in question."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    tied = [n for n in piece.notes if n.tied_ids and n.duration]
    concerned = set(passage.note_ids)
    own = [n for n in tied if concerned & set(n.ids)]
    if own:
        return tuple(own)
    sides = ("left", "right") if passage.hand == "both" else (passage.hand,)
    return tuple(n for n in tied if n.hand in sides)


def build(passage: Passage, study: Study) -> Exercise:
    """The hand alone without ties, both hands without ties, with the ties slowly, then as written."""
    tied = find_tied(passage, study)
    if not tied:
        raise DoesNotFitError("nothing is tied here")
    ids = [i for n in tied for i in n.ids]
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    where = bars(passage, study)
    names = listed(list(dict.fromkeys(note_name(n.pitch) for n in tied))[:3])
    side = busy_side(passage, study)
    steps = []
    both = bool(study.heads_of_hand(passage, other(side)))
    if both and all(n.hand == side for n in tied):
        steps.append(
            Step(
                title=f"{side.capitalize()} hand without the ties",
                instruction=f"Strike {names} again wherever a tie leads, in the {side} hand of {where} alone, and hear where the beat falls.",
                notation=take_out_ties(hand_alone(passage, study, side), ids),
                tempo=middle,
                done_when=three_times(f"the {side} hand", middle, "every repeated note exactly on its beat"),
                repeat=3,
            )
        )  # fmt: skip
    steps.append(
        Step(
            title="Without the ties" + (", both hands" if both else ""),
            instruction=f"{where[:1].upper() + where[1:]} with {names} struck again at each tie.",
            notation=take_out_ties(study.practice(passage), ids),
            tempo=slow,
            done_when=three_times(where, slow, "no accent on the repeated notes"),
            repeat=3,
        )
    )
    steps.append(
        Step(
            title="With the ties, slowly",
            instruction=f"Tie them again at {tempo_name(slow)}, and think the repeated note where you struck it before.",
            notation=study.practice(passage),
            tempo=slow,
            done_when=f"Three times in a row at {tempo_name(slow)}, then once without the ties, and nothing comes earlier or later than it did.",
            repeat=3,
        )
    )
    why = (
        f"{hard_at(passage, study)}: {counted(len(tied), 'note is', 'notes are')} tied, so that nothing sounds where the tie ends. "
        f"Struck again, {names} {'shows' if ' and ' not in names else 'show'} the ear where that is."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
