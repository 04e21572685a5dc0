"""Plain first, then with what the words and signs ask, more than needed, then as written."""

from __future__ import annotations

from passagework.exercises.edit.loudness import without_loudness
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, tempo_name
from passagework.exercises.words import as_written, bars, capital, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.score.piece import Words
from passagework.spots.words_of import listed

NAME, TITLE = "plain-then-words", "Plain, then with what the words ask"


def asked(passage: Passage, study: Study) -> tuple[str, ...]:
    """Words, signs of loudness and hairpins of the passage, each once, in order."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    rows = [(w.onset, _one_line(w)) for w in piece.words if any(c.isalpha() for c in w.text)]
    rows += [(d.onset, d.text) for d in piece.dynamics]
    rows += [(h.onset, f"a {h.kind}") for h in piece.hairpins]
    return tuple(dict.fromkeys(text for _, text in sorted(rows, key=lambda row: row[0])))


def _one_line(words: Words) -> str:
    return f"“{' '.join(words.text.split())}”"  # in quotes: a full stop of its own stays its own


def applies(passage: Passage, study: Study) -> float:
    """Fits where the page asks for something by word or sign."""
    if not asked(passage, study):
        return 0.0
    kind = passage.spot.kind if passage.spot else ""
    return {"words": 0.9, "sudden-dynamics": 0.6}.get(kind, 0.2)


def build(passage: Passage, study: Study) -> Exercise:
    """Without words and signs, with them beyond need, then as written."""
    signs = asked(passage, study)
    if not signs:
        raise DoesNotFitError("no word or sign stands here")
    where, tempo = bars(passage, study), middle_tempo(passage, study)
    first = signs[:MOST_NAMED]
    names = listed(list(first))
    steps = [
        Step(
            title="Plain",
            instruction=f"{capital(where)} in one loudness and one tempo, as if nothing were written but the notes.",
            notation=plain(study.practice(passage)),
            tempo=tempo,
            done_when=three_times(where, tempo, "nothing louder, softer, quicker or slower"),
            repeat=3,
        ),
        Step(
            title="More than the words ask",
            instruction=f"Say what each of these asks for ({names}), then do twice as much of it as you would for an audience.",
            notation=study.practice(passage),
            tempo=tempo,
            done_when=f"Plain and with the words by turns, three times each at {tempo_name(tempo)}, and each of them is heard as a difference.",
            repeat=3,
        ),
    ]
    why = (
        f"{hard_at(passage, study)}: the page asks for {names}{' and more' if len(signs) > len(first) else ''}. Against a plain version the ear hears "
        "whether it was done; a change that is only meant is not heard."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


MOST_NAMED = 5
"""Words and signs that are named in a sentence."""


def plain(notation: Notation) -> Notation:
    """Without words, signs of loudness and hairpins."""
    work = without_loudness(notation)
    for direction in list(work.part.iter("direction")):
        for kind in direction.findall("direction-type"):
            for node in kind.findall("words") + kind.findall("dashes"):
                kind.remove(node)
            if len(kind) == 0:
                direction.remove(kind)
        parent = direction.getparent()
        if direction.find("direction-type") is None and parent is not None:
            parent.remove(direction)
    return work


TECHNIQUE = Technique(NAME, TITLE, applies, build)
