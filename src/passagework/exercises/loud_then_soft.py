"""Soft playing by way of loud playing: to the bottom of the key first, then the same touch with less."""

from __future__ import annotations

from passagework.exercises.edit.loudness import LOW, Sign, with_loudness
from passagework.exercises.exercise import Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.spots.words_of import counted

NAME, TITLE = "loud-then-soft", "Loud to the bottom of the key, then soft"

SIGNS = ("ppp", "pp", "p", "mp", "mf", "f", "ff")
"""Signs of loudness, the softest first."""

LOUD = "f"


def applies(passage: Passage, study: Study) -> float:
    """Best where the page asks for piano or less."""
    sign = sign_of(passage, study)
    if passage.spot and passage.spot.kind == "soft-playing":
        return 0.9
    return {"ppp": 0.7, "pp": 0.7, "p": 0.5}.get(sign, 0.0)


def sign_of(passage: Passage, study: Study) -> str:
    """The softest sign in force where notes of the passage begin; ``""`` where the page has none."""
    context = study.context
    signs = {context.dynamic_at(n.onset) for n in passage.notes(study.piece)}
    return next((s for s in SIGNS if s in signs), "")


def build(passage: Passage, study: Study) -> Exercise:
    """Loud and slow, then a sign softer each time down to the page's, then as written."""
    goal = sign_of(passage, study) or "p"
    slow, middle, where = (
        start_tempo(passage, study),
        middle_tempo(passage, study),
        bars(passage, study),
    )
    ways = [(LOUD, slow)]
    ways += [(s, middle) for s in ("p", "pp", "ppp") if SIGNS.index(s) >= SIGNS.index(goal)]
    if len(ways) == 1:
        ways.append((goal, middle))
    steps = []
    for k, (sign, tempo) in enumerate(ways):
        steps.append(
            Step(
                title=f"{_word(sign).capitalize()}, {tempo_name(tempo)}",
                instruction=(
                    f"Play {where} loud, every key down to its bottom, and feel the bottom under each finger."
                    if k == 0
                    else f"The same way down to the bottom of the key, only slower: {_word(sign)}, with the fingers never leaving the keys."
                ),
                notation=_at(passage, study, sign),
                tempo=tempo,
                done_when=three_times(where, tempo, "every note sounding" if k else "every note equally loud"),
                repeat=3,
            )
        )  # fmt: skip
    notes = len(passage.notes(study.piece))
    why = (
        f"{hard_at(passage, study)}: {counted(notes, 'note')} at {_word(goal)}. Notes that fail were not played to the bottom of the key; "
        "how fast the key goes down makes the loudness, and not how far."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _word(sign: str) -> str:
    return {"f": "forte", "p": "piano", "pp": "pianissimo", "ppp": "as soft as it will sound",
            "mp": "mezzo piano", "mf": "mezzo forte", "ff": "fortissimo"}[sign]  # fmt: skip


def _at(passage: Passage, study: Study, sign: str) -> Notation:
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    first = next(n for n in piece.notes if not n.grace)
    return with_loudness(study.practice(passage), [Sign(first.onset, sign, 1, LOW)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
