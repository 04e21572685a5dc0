"""What holds for every exercise of the ten general techniques, and each of them where it was made for."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

import pytest

from passagework.exercises import (
    add_a_beat,
    blocks,
    from_the_end,
    groups_with_stops,
    hands_separately,
    landing,
    rhythms,
    shrinking_stop,
    tempo_ladder,
    ties_out,
)
from passagework.exercises.choose import exercises_for, exercises_for_passage
from passagework.exercises.exercise import DoesNotFitError, Exercise, Tempo
from passagework.exercises.passage import Passage, passage_of, passage_of_bars
from passagework.exercises.study import Study
from passagework.exercises.tempos import as_beats, full_tempo, ladder, notch, start_share
from passagework.score import Reading
from passagework.score.musicxml import read_piece
from passagework.score.piece import TimeSignature
from passagework.spots.context import Context
from passagework.spots.find import find_spots
from tests.engraving.scores import DEMO, demo, reading, real
from tests.exercises.helpers import check_beams, odd_bars, sound, wrong_values

F = Fraction

GENERAL = [
    module.TECHNIQUE
    for module in (
        hands_separately,
        blocks,
        rhythms,
        groups_with_stops,
        add_a_beat,
        from_the_end,
        shrinking_stop,
        ties_out,
        landing,
        tempo_ladder,
    )
]  # fmt: skip


def study(score: Reading) -> Study:
    return Study(Context(score.piece), score.notation)


def check(exercise: Exercise, passage: Passage, st: Study) -> None:
    written = st.written(passage)
    names = {n.get("id") for n in written.notes() if n.find("rest") is None}
    faults, odd = wrong_values(written), odd_bars(written)
    assert 2 <= len(exercise.steps) <= 9
    last = exercise.steps[-1]
    assert sound(read_piece(last.notation)) == sound(read_piece(written))
    assert last.tempo == full_tempo(passage, st)
    assert not last.grey
    for step in exercise.steps:
        piece = read_piece(step.notation)
        assert {
            n.id for n in piece.notes
        } <= names  # the student's own notes, under their own names
        assert step.grey <= names
        assert {i for n in piece.notes for i in n.ids} - step.grey  # there is something to play
        assert wrong_values(step.notation) <= faults
        assert odd_bars(step.notation) <= odd + 1  # the last bar may be a part of one
        assert step.repeat >= 1
        assert 0 < step.tempo.quarters_per_minute <= last.tempo.quarters_per_minute * 1.05
        for text in (step.title, step.instruction, step.done_when):
            check_sentence(text)
        assert re.search(r"= \d", step.done_when)
    check_sentence(exercise.why)


def check_sentence(text: str) -> None:
    assert text == text.strip()
    assert text[0] == text[0].upper()
    for fault in ("  ", "None", "{", "}", " ,", " .", "..", "!", "one notes", "Fraction"):
        assert fault not in text, text


def check_spots(score: Reading, every: int) -> None:
    st = study(score)
    spots = find_spots(st.context)
    assert spots
    for spot in spots[::every]:
        passage = passage_of(spot, st.context)
        assert passage.first_bar <= spot.focus.first_bar <= passage.last_bar
        for technique in GENERAL:
            fit = technique.applies(passage, st)
            assert 0 <= fit <= 1
            if fit:
                try:
                    exercise = technique.build(passage, st)
                except DoesNotFitError:
                    continue
                assert exercise.spot_id == spot.id
                check(exercise, passage, st)


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_demo_pieces(name: str) -> None:
    check_spots(demo(name), 8)


@pytest.mark.parametrize(
    ("name", "every"), [("bach-prelude", 10), ("schubert-moment", 16), ("glinka", 80)]
)
def test_real_scores(name: str, every: int) -> None:
    check_spots(real(name), every)


@pytest.mark.parametrize("name", [f.stem for f in DEMO][:1])
def test_every_spot_has_two_to_five(name: str) -> None:
    st = study(demo(name))
    for spot in find_spots(st.context)[::2]:
        found = exercises_for(spot, st)
        assert 2 <= len(found) <= 5, spot.id
        assert len({e.technique for e in found}) == len(found)


RUN = (
    "R: C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/1/4 A5/1/4 B5/1/4 C6/1/4 D6/1/4 C6/1/4 B5/1/4 A5/1/4 "
    "G5/1/4 F5/1/4 E5/1/4 D5/1/4 | C5/4; L: C3/2 G3/2 | C3/4"
)


@cache
def run() -> tuple[Passage, Study]:
    st = study(reading(RUN, tempo=96.0))
    return passage_of_bars(0, 1, st.context, "right"), st


def test_rhythms_of_a_run() -> None:
    passage, st = run()
    exercise = rhythms.build(passage, st)
    assert [s.title for s in exercise.steps] == [
        "Long-short",
        "Short-long",
        "Long, then three quick",
        "Three quick, then long",
        "As written",
    ]
    first = read_piece(exercise.steps[0].notation)
    assert [n.onset for n in first.notes][:5] == [0, F(3, 8), F(1, 2), F(7, 8), 1]
    assert {n.hand for n in first.notes} == {"right"}


def test_stops_keep_the_beat() -> None:
    passage, st = run()
    exercise = groups_with_stops.build(passage, st)
    assert [s.title for s in exercise.steps] == ["Groups of four", "Groups of eight", "As written"]
    piece = read_piece(exercise.steps[0].notation)
    # stops of one beat on beats 2, 3 and 4: the run of four beats becomes one of seven
    assert [str(b.time) for b in piece.bars] == ["7/4", "4/4"]
    held = [n for n in piece.notes if n.duration == F(5, 4)]
    assert [n.onset for n in held] == [1, 3, 5]


def test_a_broken_chord_in_blocks() -> None:
    text = (
        "R: C4/1/4 E4/1/4 G4/1/4 E4/1/4 C4/1/4 F4/1/4 A4/1/4 F4/1/4 B3/1/4 D4/1/4 G4/1/4 D4/1/4 "
        "C4/1/4 E4/1/4 G4/1/4 E4/1/4; L: C3/4"
    )
    st = study(reading(text, tempo=96.0))
    passage = passage_of_bars(0, 0, st.context, "right")
    exercise = blocks.build(passage, st)
    piece = read_piece(exercise.steps[0].notation)
    grips = {n.onset: [m.midi for m in piece.notes if m.onset == n.onset] for n in piece.notes}
    assert grips == {0: [60, 64, 67], 1: [60, 65, 69], 2: [59, 62, 67], 3: [60, 64, 67]}
    assert "four grips" in exercise.why
    assert "three changes" in exercise.why


def test_a_scale_is_no_block() -> None:
    passage, st = run()
    assert blocks.applies(passage, st) == 0


def test_a_beat_more_each_time() -> None:
    st = study(reading("R: C5/1 D5/1 E5/1 F5/1; L: C3/4", tempo=96.0))
    passage = passage_of_bars(0, 0, st.context)
    steps = add_a_beat.build(passage, st).steps
    counts = [len([n for n in read_piece(s.notation).notes if n.hand == "right"]) for s in steps]
    assert counts == [2, 3, 4]
    assert steps[0].title == "To beat 2 of bar 1"


def test_from_the_end() -> None:
    score = reading("R: C5/2 G5/2 | D5/2 A5/2 | E5/2 B5/2; L: C3/4 | D3/4 | E3/4", tempo=96.0)
    st = study(score)
    steps = from_the_end.build(passage_of_bars(0, 2, st.context), st).steps
    # joins at the bar lines and the middles of the bars: bar 3; from the middle of bar 2; bar 2; ...
    assert [len(read_piece(s.notation).bars) for s in steps] == [1, 2, 2, 3, 3]
    assert [s.title for s in steps] == [
        "From the beginning of bar 3",
        "From beat 3 of bar 2",
        "From the beginning of bar 2",
        "From beat 3 of bar 1",
        "As written",
    ]


def test_the_stop_gets_shorter_and_goes() -> None:
    st = study(reading("R: C5/4 | D5/4; L: C3/4 | D3/4", tempo=96.0))
    steps = shrinking_stop.build(passage_of_bars(0, 1, st.context), st).steps
    assert [read_piece(s.notation).end for s in steps] == [12, 9, F(17, 2), 8, 8]


def test_ties_out_then_in() -> None:
    st = study(reading("R: C5/1 D5/2~ D5/1~ | D5/4; L: C3/4 | D3/4", tempo=96.0))
    passage = passage_of_bars(0, 1, st.context, "right")
    steps = ties_out.build(passage, st).steps
    struck = [len([n for n in read_piece(s.notation).notes if n.hand == "right"]) for s in steps]
    assert next(s.title.split(",")[0] for s in steps) == "Right hand without the ties"
    assert struck[1:] == [4, 2, 2]


def test_a_leap_is_gone_silently_first() -> None:
    st = study(reading("L: C2/1 E4+G4/1 C2/2; R: C5/4", tempo=96.0))
    passage = passage_of_bars(0, 0, st.context, "left")
    exercise = landing.build(passage, st)
    assert [s.title for s in exercise.steps] == ["Silently", "Early", "In time", "As written"]
    silent = read_piece(exercise.steps[0].notation)
    assert {n.midi for n in silent.notes if n.id in exercise.steps[0].grey} == {64, 67}
    assert {n.midi for n in silent.notes if n.id not in exercise.steps[0].grey} == {36}
    # E4 and G4 lie 16 and 18 white keys above C2, so the middle of the hand goes 17 times 23.5 mm
    assert "40 cm" in exercise.why


def test_hands_are_set_grey() -> None:
    passage, st = run()
    steps = hands_separately.build(passage, st).steps
    heads = st.heads_of_hand(passage, "left")
    assert steps[0].grey == heads
    assert {st.piece.by_id[i].hand for i in heads} == {"left"}


def test_ladder() -> None:
    passage, st = run()
    rungs = ladder(passage, st)
    speeds = [t.quarters_per_minute for t in rungs]
    assert speeds == sorted(set(speeds))
    assert speeds[-1] == 96
    assert speeds[0] == notch(96 * start_share(0.5)) == 58
    assert [s.tempo for s in tempo_ladder.build(passage, st).steps][-1] == rungs[-1]


def test_notches_and_beats() -> None:
    assert notch(61.0) == 60
    assert notch(500.0) == 500
    common = TimeSignature((4,), 4)
    assert as_beats(40.0, 100.0, common) == Tempo(F(1), 40.0)
    assert as_beats(20.0, 40.0, common) == Tempo(F(1, 2), 40.0)
    assert as_beats(120.0, 240.0, common) == Tempo(F(2), 60.0)
    assert as_beats(90.0, 180.0, TimeSignature((6,), 8)) == Tempo(F(3, 2), 60.0)


def test_bars_that_a_teacher_chose() -> None:
    _, st = run()
    passage = passage_of_bars(0, 1, st.context)
    found = exercises_for_passage(passage, st)
    assert 2 <= len(found) <= 5
    assert all(e.spot_id == "" for e in found)
    with pytest.raises(ValueError, match="no bars"):
        passage_of_bars(1, 9, st.context)
    silent = study(reading("R: C5/4; L: r/4"))
    with pytest.raises(ValueError, match="nothing is played"):
        passage_of_bars(0, 0, silent.context, "left")


def test_beams_of_every_step() -> None:
    passage, st = run()
    for technique in GENERAL:
        try:
            exercise = technique.build(passage, st)
        except DoesNotFitError:
            continue
        for step in exercise.steps[:-1]:
            if step.notation is not st.practice(passage):
                check_beams(step.notation)


def test_other_readers_find_the_same_notes() -> None:
    partitura = pytest.importorskip("partitura")
    passage, st = run()
    import tempfile
    from pathlib import Path

    for technique in (rhythms, groups_with_stops, add_a_beat, shrinking_stop):
        for step in technique.build(passage, st).steps:
            piece = read_piece(step.notation)
            with tempfile.TemporaryDirectory() as folder:
                file = Path(folder) / "step.musicxml"
                file.write_bytes(step.notation.to_bytes())
                part = partitura.load_musicxml(str(file))[0]
            rows = part.note_array()
            start = min(rows["onset_quarter"])
            found = sorted(
                (round(float(r["onset_quarter"] - start), 3), int(r["pitch"]), round(float(r["duration_quarter"]), 3))
                for r in rows
            )  # fmt: skip
            own = sorted(
                (round(float(n.onset), 3), n.midi, round(float(n.duration), 3)) for n in piece.notes
            )
            assert found == own, (technique, step.title)
