"""Sentences that techniques share: bars and hands by name, and the test of a last step."""

from __future__ import annotations

from collections.abc import Iterable

from passagework.exercises.exercise import Exercise, Step, Tempo
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, tempo_name
from passagework.spots.words_of import capital, hand_name

__all__ = ["as_written", "bars", "capital", "exercise", "hand_name", "hard_at", "three_times"]

DONE_SHARE = 0.9
"""Share of the full tempo at which a place counts as done: the last tenth comes with the whole piece."""


def bars(passage: Passage, study: Study) -> str:
    """The bars of the passage: ``"bars 12 and 13"``."""
    return study.context.bar_names(list(passage.bars))


def three_times(what: str, tempo: Tempo, more: str = "") -> str:
    """The plain test: ``"Bars 3 and 4 three times in a row at crotchet = 60, with no stop."``."""
    end = f", {more}" if more else ""
    return f"{capital(what)} three times in a row at {tempo_name(tempo)}{end}."


def as_written(passage: Passage, study: Study, done_when: str = "") -> Step:
    """The last step of every exercise: the passage as written, up to tempo."""
    tempo = full_tempo(passage, study)
    where = bars(passage, study)
    return Step(
        title="As written",
        instruction=f"Play {where} as they stand in the piece." if len(passage.bars) > 1 else f"Play {where} as it stands in the piece.",
        notation=study.written(passage),
        tempo=tempo,
        done_when=done_when or three_times(where, tempo, "with no stop and no wrong note"),
        repeat=3,
    )  # fmt: skip


def hard_at(passage: Passage, study: Study) -> str:
    """What makes the place hard, to begin a reason with: the spot's own title and bars."""
    where = capital(bars(passage, study))
    if passage.spot is None:
        return where
    title = passage.spot.wording.title
    return f"{where} ({title[:1].lower() + title[1:] if title[1:2].islower() else title})"


def exercise(passage: Passage, named: tuple[str, str], why: str, steps: Iterable[Step]) -> Exercise:
    """The exercise of a technique, ``named`` by its name and title."""
    name, title = named
    return Exercise(
        id=f"{name}-{passage.key}",
        technique=name,
        title=title,
        why=why,
        first_bar=passage.first_bar,
        last_bar=passage.last_bar,
        steps=tuple(steps),
        spot_id=passage.spot.id if passage.spot else "",
    )
