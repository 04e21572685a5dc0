"""The techniques of tune, key, harmony, ornament, memory and touch: what each step must hold."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from lxml import etree

from passagework.exercises import (
    balance,
    counted_pulse,
    finger_changes,
    forks,
    hand_positions,
    hear_the_chord,
    loud_then_soft,
    name_notes,
    new_key,
    ornament_stages,
    plain_then_words,
    starting_places,
    tremolo_stages,
    tune_first,
    voices_separately,
)
from passagework.exercises.edit.take_out import take_out
from passagework.exercises.exercise import DoesNotFitError
from passagework.exercises.parts_of import find_parts
from passagework.exercises.passage import Passage, passage_of, passage_of_bars
from passagework.exercises.study import Study
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.spots.context import Context
from passagework.spots.find import find_spots
from tests.engraving.scores import DEMO, demo, reading, real
from tests.exercises.helpers import check_beams, check_pairs, check_values

F = Fraction


def of(
    text: str, first: int = 0, last: int | None = None, **options: object
) -> tuple[Passage, Study]:
    score = reading(text, **options)
    study = Study(Context(score.piece), score.notation)
    end = len(score.piece.bars) - 1 if last is None else last
    return passage_of_bars(first, end, study.context), study


def said(notation: Notation, side: str = "right") -> list[tuple[str, Fraction, Fraction]]:
    """Name, place and length of the notes of a hand."""
    notes = [n for n in read_piece(notation).notes if n.hand == side]
    return [(str(n.pitch), n.onset, n.duration) for n in notes]


def texts(notation: Notation) -> list[str]:
    return [n.text or "" for n in notation.part.iter("text")]


SONG = (
    "R: G5/2 E5/1 F5/1 | G5/2 C6/2 | B5/1 A5/1 G5/1 F5/1 | E5/4; "
    "L: C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2 | C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2 | "
    "B2/1/2 G3/1/2 D3/1/2 G3/1/2 B2/1/2 G3/1/2 D3/1/2 G3/1/2 | C3/4"
)


def test_the_tune_alone_is_the_tune() -> None:
    passage, study = of(SONG)
    exercise = tune_first.build(passage, study)
    alone = read_piece(exercise.steps[0].notation)
    right = [n.id for n in study.piece.notes if n.hand == "right"]
    assert [n.id for n in alone.notes] == right
    assert alone.staves == 1  # no empty staff beside it


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_the_tune_step_holds_exactly_the_tune(name: str) -> None:
    check_tune(name, demo(name), 4)


@pytest.mark.parametrize("name", ["schubert-moment", "brahms"])
def test_the_tune_step_of_real_scores(name: str) -> None:
    check_tune(name, real(name), 25)


def check_tune(name: str, score: object, every: int) -> None:
    study = Study(Context(score.piece), score.notation)  # type: ignore[attr-defined]
    found = 0
    for spot in find_spots(study.context)[::every]:
        passage = passage_of(spot, study.context)
        if not tune_first.applies(passage, study):
            continue
        found += 1
        piece = study.cut_piece(passage.first_bar, passage.last_bar)
        sung = {
            n.id for n in piece.notes
            if study.piece.by_id[n.id].id in study.tune.melody | study.tune.doublings
        }  # fmt: skip
        alone = read_piece(tune_first.build(passage, study).steps[0].notation)
        # a grace note that leans on a note outside the tune may go with it
        assert {n.id for n in alone.notes} <= sung
        assert all(piece.by_id[i].grace for i in sung - {n.id for n in alone.notes})
        parts = find_parts(passage, study)
        assert not parts.sung & (parts.beside["left"] | parts.beside["right"])
        heads = {i for n in piece.notes for i in n.ids}
        assert parts.sung | parts.beside["left"] | parts.beside["right"] == heads
    assert found, name


def test_balance_writes_the_tune_loud_and_the_rest_soft() -> None:
    passage, study = of(SONG.replace("R: ", "R: @p "))
    steps = balance.build(passage, study).steps
    silent = read_piece(steps[0].notation)
    assert [d.text for d in silent.dynamics] == ["f"]
    assert steps[0].grey == {n.id for n in study.piece.notes if n.hand == "left"}
    both = read_piece(steps[1].notation)
    assert [(d.text, d.staff) for d in both.dynamics] == [("f", 1), ("ppp", 2)]
    assert [d.text for d in read_piece(steps[2].notation).dynamics] == ["p"]


def test_positions_of_an_arpeggio() -> None:
    passage, study = of(
        "R: C4/1/2 E4/1/2 G4/1/2 C5/1/2 E5/1/2 G5/1/2 C6/1/2 G5/1/2 | E5/4; L: C3/4 | C3/4", last=1
    )
    grips = hand_positions.find_grips(passage, study)
    assert sum(len(g.notes) for g in grips) == 9
    comfort = study.context.hand.comfortable_mm
    for grip in grips:
        keys = [n.midi for n in grip.keys]
        assert (max(keys) - min(keys)) * 23.5 * 7 / 12 <= comfort + 23.5
    exercise = hand_positions.build(passage, study)
    chords = read_piece(exercise.steps[0].notation)
    shown = {n.midi for n in chords.notes}
    assert shown == {n.midi for g in grips for n in g.notes}
    assert all(n.fingers for n in chords.notes)


def test_the_voices_of_thirds() -> None:
    passage, study = of("R: C5+E5/1 D5+F5/1 E5+G5/1 F5+A5/1 | E5+G5/4; L: C3/4 | C3/4", last=1)
    steps = voices_separately.build(passage, study).steps
    assert [s[0] for s in said(steps[0].notation)] == ["E5", "F5", "G5", "A5", "G5"]
    assert [str(n.pitch) for n in read_piece(steps[1].notation).notes] == [
        "C5",
        "D5",
        "E5",
        "F5",
        "E5",
    ]
    assert all(n.fingers for n in read_piece(steps[2].notation).notes)


def test_written_voices_come_before_chords() -> None:
    passage, study = of("R: G5/2 A5/1 G5/1; R2: C5/1 D5/1 E5/1 D5/1; L: C3/4")
    strands = voices_separately.find_strands(passage, study)
    assert strands is not None
    assert [str(n.pitch) for n in strands.upper] == ["G5", "A5", "G5"]
    assert strands.together == 4


def test_repeated_notes_lose_and_find_their_repetitions() -> None:
    row = "C5/1/4 C5/1/4 C5/1/4 C5/1/4 D5/1/4 D5/1/4 D5/1/4 D5/1/4 E5/1/4 E5/1/4 E5/1/4 E5/1/4 D5/1"
    passage, study = of(f"R: {row}; L: C3/4")
    steps = finger_changes.build(passage, study).steps
    assert said(steps[0].notation) == [
        ("C5", F(0), F(1)),
        ("D5", F(1), F(1)),
        ("E5", F(2), F(1)),
        ("D5", F(3), F(1)),
    ]
    fingered = read_piece(steps[2].notation).notes
    assert all(n.fingers for n in fingered)
    group = [n.fingers[0] for n in fingered[:4]]
    assert len(set(group)) > 1  # a repeated note at speed changes fingers


def test_a_tremolo_between_two_notes_by_stages() -> None:
    score = "R: C5/4; L: C3/2!trem3a G3/2!trem3b"
    passage, study = of(score)
    passage = passage_of_bars(0, 0, study.context, "left")
    steps = tremolo_stages.build(passage, study).steps
    grip = read_piece(steps[0].notation)
    assert [(str(n.pitch), n.onset, n.duration) for n in grip.notes] == [
        ("C3", F(0), F(4)),
        ("G3", F(0), F(4)),
    ]
    quavers = read_piece(steps[1].notation).notes
    assert [str(n.pitch) for n in quavers] == ["C3", "G3"] * 4
    assert [n.onset for n in quavers] == [F(k, 2) for k in range(8)]
    assert len(read_piece(steps[2].notation).notes) == 16
    for step in steps[:-1]:
        check_values(step.notation)
        assert not list(step.notation.part.iter("tremolo"))


def test_a_tremolo_on_one_chord() -> None:
    _, study = of("R: C5/4; L: C3+E3/4!trem2")
    steps = tremolo_stages.build(passage_of_bars(0, 0, study.context, "left"), study).steps
    assert [n.duration for n in read_piece(steps[1].notation).notes] == [F(1, 2)] * 16


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        ("trill-mark", [("C5", 1, 2), ("D5", 1, 2), ("C5", 1, 2), ("D5", 1, 2)]),
        ("mordent", [("C5", 1, 2), ("B4", 1, 2), ("C5", 1, 1)]),
        ("inverted-mordent", [("C5", 1, 2), ("D5", 1, 2), ("C5", 1, 1)]),
        ("turn", [("D5", 1, 2), ("C5", 1, 2), ("B4", 1, 2), ("C5", 1, 2)]),
        ("inverted-turn", [("B4", 1, 2), ("C5", 1, 2), ("D5", 1, 2), ("C5", 1, 2)]),
        ("delayed-turn", [("C5", 1, 1), ("D5", 1, 4), ("C5", 1, 4), ("B4", 1, 4), ("C5", 1, 4)]),
    ],
)
def test_an_ornament_written_out(sign: str, expected: list[tuple[str, int, int]]) -> None:
    passage, study = of(f"R: C5/2!{sign} D5/2; L: C3/4")
    steps = ornament_stages.build(passage, study).steps
    plain = [(s, o, d) for s, o, d in said(steps[0].notation)]
    assert plain == [("C5", F(0), F(2)), ("D5", F(2), F(2))]
    assert not list(steps[0].notation.part.iter("ornaments"))
    out = said(steps[1].notation)
    assert [(name, d) for name, _, d in out[:-1]] == [(n, F(a, b)) for n, a, b in expected]
    assert out[-1] == ("D5", F(2), F(2))
    for step in steps[:-1]:
        check_values(step.notation)
        check_pairs(step.notation)


def test_the_signature_and_the_sign_say_the_neighbour() -> None:
    passage, study = of("R: E5/2!mordent!acc2-sharp F5/2!trill-mark; L: D3/4", fifths=-3)
    names = [s[0] for s in said(ornament_stages.build(passage, study).steps[1].notation)]
    assert names == ["E5", "D#5", "E5", "F5", "G5", "F5", "G5"]


def test_a_trill_is_twice_as_quick_in_the_second_stage() -> None:
    passage, study = of("R: C5/3!trill-mark D5/1; L: C3/4")
    steps = ornament_stages.build(passage, study).steps
    titles = [s.title for s in steps]
    slow = said(steps[titles.index("Written out")].notation)
    quick = said(steps[titles.index("Twice as many notes")].notation)
    assert len(quick) - 1 == 2 * (len(slow) - 1)
    assert sum(d for _, _, d in quick) == 4


def test_grace_notes_in_time() -> None:
    passage, study = of("R: g:D5/1/2 g:E5/1/2 C5/2 gs:B4/1/2 D5/2; L: C3/4")
    steps = ornament_stages.build(passage, study).steps
    assert [s[0] for s in said(steps[0].notation)] == ["C5", "D5"]
    assert said(steps[1].notation) == [
        ("D5", F(0), F(1, 2)),
        ("E5", F(1, 2), F(1, 2)),
        ("C5", F(1), F(1)),
        ("B4", F(2), F(1)),
        ("D5", F(3), F(1)),
    ]
    ids = {n.get("id") for n in study.notation.notes()}
    assert {n.get("id") for n in steps[1].notation.notes()} <= ids


def test_a_tied_trill_is_written_out_without_its_tie() -> None:
    passage, study = of("R: C5/4~!trill-mark | C5/2 D5/2; L: C3/4 | C3/4")
    out = ornament_stages.build(passage, study).steps[1].notation
    check_pairs(out)
    assert sum(d for _, _, d in said(out)) == 8


def test_a_trill_signed_again_after_a_tie_goes_on() -> None:
    passage, study = of("R: C5/4~!trill-mark | C5/2!trill-mark D5/2; L: C3/4 | C3/4")
    out = ornament_stages.build(passage, study).steps[1].notation
    assert not list(out.part.iter("trill-mark"))
    assert [n for n, _, _ in said(out)] == ["C5", "D5"] * 4 + ["D5"]


def test_the_key_of_a_new_signature() -> None:
    text = (
        "R: C5/1 E5/1 G5/1 E5/1 | @key-4 Ab4/1 C5/1 Eb5/1 Db5/1 | C5/1 Eb5/1 Ab5/1 G5/1 | Ab5/4; "
        "L: C3/2 G3/2 | Ab2/2 Eb3/2 | Ab2/2 Eb3/2 | Ab2/4"
    )
    passage, study = of(text, 1, 3)
    span = new_key.find_key(passage, study)
    assert span is not None
    assert (span.tonic, span.mode) == ("Ab", "major")
    scale = said(new_key.scale(span))
    assert [n for n, _, _ in scale[:8]] == ["Ab4", "Bb4", "C5", "Db5", "Eb5", "F5", "G5", "Ab5"]
    assert [n for n, _, _ in scale[8:]] == ["G5", "F5", "Eb5", "Db5", "C5", "Bb4", "Ab4"]
    chords = read_piece(new_key.chords(span)).notes
    fifth = [str(n.pitch) for n in chords if n.onset == 6]
    assert fifth == ["Eb3", "G4", "Db5", "Eb5"]
    assert not list(new_key.chords(span).part.iter("accidental"))


def test_a_minor_scale_has_its_raised_seventh() -> None:
    passage, study = of(
        "R: D5/1 F5/1 A5/1 D6/1 | C#5/1 E5/1 G5/1 A5/1 | D5/4; L: D3/4 | A2/4 | D3/4", fifths=-1
    )
    span = new_key.find_key(passage, study)
    assert span is not None
    assert span.mode == "minor"
    names = [n for n, _, _ in said(new_key.scale(span))[:8]]
    assert names == ["D4", "E4", "F4", "G4", "A4", "Bb4", "C#5", "D5"]


def test_altered_notes_are_named_once_in_each_bar_and_hand() -> None:
    passage, study = of("R: F#5/1 G5/1 F#5/1 Bb4/1 | F5/1 F#5/1 G5/2; L: C3/4 | C3/4")
    steps = name_notes.build(passage, study).steps
    sharp, flat = "F\N{MUSIC SHARP SIGN}", "B\N{MUSIC FLAT SIGN}"
    assert texts(steps[0].notation) == [sharp, flat, sharp]
    assert not texts(steps[-1].notation)


def test_the_chord_between_its_neighbours() -> None:
    text = (
        "R: E5/4 | F5+Ab4/4 | E5+G4/4 | D5+F4/4 | E5/4; "
        "L: C3+G3/4 | F2+C3/4 | C3/4 | G2+B2/4 | C3/4"
    )
    passage, study = of(text, 1, 1)
    at = hear_the_chord.find_chord(passage, study)
    assert at is not None
    steps = hear_the_chord.build(passage, study).steps
    alone = read_piece(steps[0].notation)
    assert {n.midi % 12 for n in alone.notes} == {5, 8, 0}
    around = read_piece(steps[1].notation)
    assert [b.length for b in around.bars] == [F(4)] * 3


def test_the_two_ways_stand_side_by_side() -> None:
    score = demo("evening-ferry")
    study = Study(Context(score.piece), score.notation)
    spots = [s for s in find_spots(study.context) if s.kind == "near-repeats"]
    assert spots
    for spot in spots:
        passage = passage_of(spot, study.context)
        fork = forks.find_fork(passage, study)
        assert fork is not None
        steps = forks.build(passage, study).steps
        both = read_piece(steps[2].notation)
        parts = [read_piece(steps[k].notation) for k in (0, 1)]
        assert [n.midi for n in both.notes] == [n.midi for p in parts for n in p.notes]
        assert [n.pitch for n in both.notes] == [n.pitch for p in parts for n in p.notes]
        assert set(fork.earlier.note_ids) <= {n.id for n in parts[0].notes}
        assert set(fork.later.note_ids) <= {n.id for n in parts[1].notes}
        check_pairs(steps[2].notation)


def test_starting_places_cover_the_passage() -> None:
    passage, study = of(SONG)
    exercise = starting_places.build(passage, study)
    ids: set[str] = set()
    for step in exercise.steps[:-2]:
        ids |= {n.id for n in read_piece(step.notation).notes}
    assert ids == {n.id for n in study.piece.notes}
    assert "by heart" in exercise.steps[-1].done_when


@pytest.mark.parametrize("count", range(2, 9))
def test_places_out_of_order_come_each_once_and_never_in_order(count: int) -> None:
    order = starting_places._mixed(count)
    assert sorted(order) == list(range(count))
    assert all(b != a + 1 for a, b in pairwise(order))


def test_loud_first_then_down_to_the_sign_of_the_page() -> None:
    passage, study = of("R: @pp C5/1 D5/1 @< E5/1 @. F5/1; L: C3/4")
    steps = loud_then_soft.build(passage, study).steps
    signs = [[d.text for d in read_piece(s.notation).dynamics] for s in steps]
    assert signs == [["f"], ["p"], ["pp"], ["pp"]]
    assert not read_piece(steps[0].notation).hairpins
    assert read_piece(steps[-1].notation).hairpins


def test_plain_has_no_words_and_no_loudness() -> None:
    passage, study = of('R: @p @"dolce" C5/1 D5/1 @< E5/1 @. F5/1; L: C3/4')
    assert set(plain_then_words.asked(passage, study)) == {"p", "“dolce”", "a crescendo"}
    steps = plain_then_words.build(passage, study).steps
    piece = read_piece(steps[0].notation)
    assert not piece.words
    assert not piece.dynamics
    assert not piece.hairpins
    assert [n.id for n in piece.notes] == [n.id for n in study.piece.notes]


def test_a_rhythm_against_taps() -> None:
    passage, study = of("R: C5/3/2 D5/1/2 E5/3/2 F5/1/2; L: C3/2 G3/2")
    steps = counted_pulse.build(passage, study).steps
    short = read_piece(steps[0].notation)
    assert [n.onset for n in short.notes if n.hand == "left"] == [F(k, 2) for k in range(8)]
    assert {str(n.pitch) for n in short.notes if n.hand == "left"} == {"C3"}
    beats = read_piece(steps[1].notation)
    assert [n.onset for n in beats.notes if n.hand == "left"] == [F(k) for k in range(4)]
    right = [(n.id, n.onset, n.duration) for n in study.piece.notes if n.hand == "right"]
    for piece in (short, beats):
        assert [(n.id, n.onset, n.duration) for n in piece.notes if n.hand == "right"] == right


@pytest.mark.parametrize(
    "module",
    [
        balance,
        tune_first,
        ornament_stages,
        tremolo_stages,
        forks,
        finger_changes,
        voices_separately,
    ],
)
def test_what_the_notes_do_not_bear_is_refused(module: object) -> None:
    passage, study = of("R: C5/4; L: r/4")
    technique = module.TECHNIQUE  # type: ignore[attr-defined]
    assert technique.applies(passage, study) == 0
    with pytest.raises(DoesNotFitError):
        technique.build(passage, study)


def test_beams_of_written_out_ornaments() -> None:
    passage, study = of("R: C5/1!turn D5/1!trill-mark E5/1/2!mordent F5/1/2 G5/1; L: C3/4")
    for step in ornament_stages.build(passage, study).steps:
        check_beams(step.notation)
        check_values(step.notation)


def test_one_of_two_grace_notes_left_has_no_beam() -> None:
    passage, study = of("R: g:D5/1/2 g:E5/1/2 C5/2 D5/2; L: C3/4")
    work = study.written(passage).copy()
    graces = [n for n in work.notes() if n.find("grace") is not None]
    for note, text in zip(graces, ("begin", "end"), strict=True):
        beam = etree.SubElement(note, "beam", number="1")
        beam.text = text
    left = take_out(work, [graces[0].get("id", "")])
    check_beams(left)
    assert [str(n.pitch) for n in read_piece(left).notes if n.grace] == ["E5"]
