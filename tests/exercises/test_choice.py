"""For every kind of difficulty and every spot there are exercises, whole and readable by other programs."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import pytest

from passagework.engraving.render import render_notation
from passagework.exercises.choose import FEWEST, MOST, exercises_for
from passagework.exercises.exercise import Exercise, Step
from passagework.exercises.for_kinds import BY_KIND, GENERAL, REASONS
from passagework.exercises.passage import passage_of
from passagework.exercises.study import Study
from passagework.exercises.table import BY_NAME, TECHNIQUES
from passagework.exercises.tempos import full_tempo
from passagework.score import Reading, read_score
from passagework.score.musicxml import read_piece
from passagework.spots.context import Context
from passagework.spots.find import find_spots
from passagework.spots.spot import Spot
from passagework.spots.table import all_kinds
from tests.conftest import real_scores
from tests.engraving.scores import DEMO, demo, real
from tests.exercises.helpers import check_pairs, sound, wrong_values

SAMPLE = (("bach-prelude", 12), ("schubert-moment", 20), ("mozart", 60))


def study(score: Reading) -> Study:
    return Study(Context(score.piece), score.notation)


@cache
def of_demo(name: str) -> tuple[Study, tuple[Spot, ...]]:
    """A demo piece with its spots, found once for all tests."""
    st = study(demo(name))
    return st, find_spots(st.context)


def test_every_kind_has_two_to_five_techniques_of_its_own() -> None:
    assert set(BY_KIND) == {kind.name for kind in all_kinds()}
    for kind, names in BY_KIND.items():
        assert FEWEST <= len(names) <= MOST, kind
        assert set(names) <= set(BY_NAME), kind


def test_every_technique_serves_some_kind() -> None:
    used = {name for names in BY_KIND.values() for name in names} | set(GENERAL)
    assert used == {t.name for t in TECHNIQUES}
    assert len(BY_NAME) == len(TECHNIQUES)


def test_every_choice_has_its_reason() -> None:
    reasons = [reason for row in REASONS.values() for reason in row.values()]
    assert all(r == r.strip() and r[0].islower() and r[-1] not in ".!" for r in reasons)


def check_spots(st: Study, spots: tuple[Spot, ...], every: int) -> None:
    for spot in spots[::every]:
        found = exercises_for(spot, st)
        assert FEWEST <= len(found) <= MOST, spot.id
        assert len({e.technique for e in found}) == len(found)
        own = BY_KIND[spot.kind]
        order = [own.index(e.technique) for e in found if e.technique in own]
        assert order == sorted(order)
        for exercise in found:
            check_exercise(exercise, st, spot.id)


def check_exercise(exercise: Exercise, st: Study, spot_id: str) -> None:
    assert exercise.spot_id == spot_id
    written = st.cut(exercise.first_bar, exercise.last_bar)
    last = exercise.steps[-1]
    assert sound(read_piece(last.notation)) == sound(read_piece(written))
    assert not last.grey
    faults = wrong_values(st.notation)  # what the file itself says wrongly
    sound_bars = not wrong_values(written)
    for step in exercise.steps:
        piece = read_piece(step.notation)
        assert {i for n in piece.notes for i in n.ids} - step.grey
        assert wrong_values(step.notation) <= faults or not sound_bars
        check_pairs(step.notation)
        assert step.tempo.quarters_per_minute > 0
        for text in (step.title, step.instruction, step.done_when, exercise.why):
            check_sentence(text)


def check_sentence(text: str) -> None:
    assert text == text.strip()
    assert text[0] == text[0].upper()
    for fault in ("  ", "None", "{", "}", " ,", " .", "..", "!", "one notes", "Fraction", "()"):
        assert fault not in text, text


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_demo_pieces(name: str) -> None:
    check_spots(*of_demo(name), 9)


@pytest.mark.parametrize(("name", "every"), SAMPLE)
def test_real_scores(name: str, every: int) -> None:
    st = study(real(name))
    check_spots(st, find_spots(st.context), every)


@pytest.mark.nightly
@pytest.mark.parametrize("path", real_scores(), ids=lambda p: p.stem)
def test_every_spot_of_every_score(path: Path) -> None:
    st = study(read_score(path.read_bytes(), path.name))
    check_spots(st, find_spots(st.context), 1)


def sampled(name: str, technique: str) -> Step | None:
    """The first step of the first exercise of a technique in a demo piece."""
    st, spots = of_demo(name)
    for spot in spots:
        passage = passage_of(spot, st.context)
        if BY_NAME[technique].applies(passage, st) >= 0.3:
            exercise = next((e for e in exercises_for(spot, st) if e.technique == technique), None)
            if exercise is not None:
                assert exercise.steps[-1].tempo == full_tempo(passage, st)
                return exercise.steps[0]
    return None


READ = ("polyrhythm", "tune-first", "new-key", "hear-the-chord", "ornament-stages", "forks",
        "voices-separately", "counted-pulse", "balance", "name-notes")  # fmt: skip


@pytest.mark.parametrize("technique", READ)
def test_other_programs_read_the_same_notes(technique: str) -> None:
    import music21
    import partitura

    step = sampled("evening-ferry", technique)
    if step is None:
        pytest.skip("this piece has no such place")
    ours = sorted((n.onset, n.midi) for n in read_piece(step.notation).notes if not n.grace)
    data = step.notation.to_bytes()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "step.musicxml"
        path.write_bytes(data)
        part = partitura.load_musicxml(str(path))[0]
        notes = partitura.utils.ensure_notearray(part, include_divs_per_quarter=True)
        start = min(n["onset_div"] for n in notes)
        theirs = sorted(
            ((int(n["onset_div"]) - int(start)) / int(n["divs_pq"]), int(n["pitch"])) for n in notes
        )
    first = ours[0][0]
    assert [key for _, key in ours] == [key for _, key in theirs]
    assert [float(at - first) for at, _ in ours] == pytest.approx([at for at, _ in theirs])
    parsed = music21.converter.parseData(data.decode(), format="musicxml").stripTies()
    keys = sorted(
        p.midi for n in parsed.flatten().notes if not n.duration.isGrace for p in n.pitches
    )
    assert keys == sorted(key for _, key in ours)
    systems = render_notation(step.notation)
    shown = {i for s in systems for i in s.notes}
    assert {n.id for n in read_piece(step.notation).notes} <= shown


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_a_student_can_apply_every_test_alone(name: str) -> None:
    """A tempo to do it at, and nobody else needed."""
    st, spots = of_demo(name)
    for spot in spots[::5]:
        for exercise in exercises_for(spot, st):
            for step in exercise.steps:
                assert " = " in step.done_when, step
                assert "some" not in step.done_when.lower().replace("something", ""), step
