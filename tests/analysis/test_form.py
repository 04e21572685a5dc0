"""Form on small pieces whose answer is known, and what holds for the form of every piece."""

from __future__ import annotations

from dataclasses import replace

import pytest

from passagework.analysis.form import Form, find_form
from passagework.score import Piece
from tests.analysis.altered import augmented, demo, real, revoiced, transposed
from tests.spots.build import musicxml, piece

A = ["C5/1 D5/1 E5/1 C5/1", "F5/1 E5/1 D5/2", "E5/1 F5/1 G5/1 E5/1", "D5/2 C5/2"]
B = ["G4/1 A4/1 B4/1 G4/1", "C5/1/2 B4/1/2 A4/1 G4/2", "A4/1 F4/1 D4/1 A4/1", "B4/1 D5/1 G4/2"]
BASS = ["C3/2 G3/2", "F3/2 G3/2", "C3/2 E3/2", "G3/2 C3/2"]


def of_bars(right: list[str], left: list[str]) -> Piece:
    return piece(f"R: {' | '.join(right)}; L: {' | '.join(left)}")


def test_exact_return_is_found_and_learnt_once() -> None:
    form = find_form(of_bars([*A, *B, *A], [*BASS, *BASS, *BASS]))
    (back,) = [r for r in form.repeats if r.bars == 4 and r.kind == "exact"]
    assert (back.first_bar, back.last_bar, back.again_first, back.again_last) == (0, 3, 8, 11)
    assert (back.shift, back.semitones, back.likeness, back.changed) == (0, 0, 1.0, ())
    assert set(form.learning_map.returning_bars) >= {8, 9, 10, 11}
    (passage,) = [p for p in form.learning_map.passages if p.first_bar == 0]
    assert [(r.first_bar, r.last_bar, r.kind) for r in passage.returns] == [(8, 11, "exact")]


def test_transposed_return_keeps_its_interval() -> None:
    up = ["D5/1 E5/1 F#5/1 D5/1", "G5/1 F#5/1 E5/2", "F#5/1 G5/1 A5/1 F#5/1", "E5/2 D5/2"]
    bass = ["D3/2 A3/2", "G3/2 A3/2", "D3/2 F#3/2", "A3/2 D3/2"]
    form = find_form(of_bars([*A, *up], [*BASS, *bass]))
    (back,) = form.repeats
    assert (back.kind, back.shift, back.semitones, back.bars) == ("transposed", 1, 2, 4)


def test_varied_return_names_the_bars_that_changed() -> None:
    changed = [A[0], "F5/1 E5/1 D5/1 B4/1", A[2], A[3]]
    form = find_form(of_bars([*A, *B, *changed], [*BASS, *BASS, *BASS]))
    (back,) = [r for r in form.repeats if r.again_first == 8]
    assert back.kind == "varied"
    assert back.changed == (9,)


def test_fork_gives_the_first_note_that_differs_in_each() -> None:
    other = [A[0], A[1], "E5/1 F5/1 A5/1 B5/1", "C6/2 C5/2"]
    p = of_bars([*A, *B, *other], [*BASS, *BASS, *BASS])
    (fork,) = find_form(p).forks
    assert (fork.earlier.parting_bar, fork.later.parting_bar) == (2, 10)
    assert (fork.earlier.first_bar, fork.later.first_bar) == (0, 8)
    assert fork.stem_bars == 2
    assert fork.earlier.position == 10
    assert fork.later.position == 42
    assert [str(p.by_id[i].pitch) for i in fork.earlier.note_ids] == ["G5"]
    assert [str(p.by_id[i].pitch) for i in fork.later.note_ids] == ["A5"]
    assert str(p.by_id[fork.earlier.last_common].pitch) == "F5"
    assert fork.stem_notes == 7 + 4 + 2 + 1, "two bars of 7 and 4 + 2 notes and E5, F5 with C3"


def test_passages_that_differ_only_in_length_are_no_fork() -> None:
    shorter = [*A[:3], "D5/2 C5/1 r/1"]
    assert find_form(of_bars([*A, *B, *shorter], [*BASS, *BASS, *BASS])).forks == ()


def test_first_and_second_ending_are_a_fork() -> None:
    text = musicxml(
        f"R: {' | '.join([*A, 'C5/1 B4/1 C5/2'])}; L: {' | '.join([*BASS, 'G3/2 C3/2'])}"
    )
    start = '<barline location="left"><ending number="{0}" type="start"/></barline>'
    stop = '<barline location="right"><ending number="{0}" type="stop"/>{1}</barline>'
    bars = text.split("</measure>")
    for index, number, repeat in ((3, 1, '<repeat direction="backward"/>'), (4, 2, "")):
        head, tag, rest = bars[index].partition(">")
        if "<measure" not in head:
            head, tag, rest = bars[index].rpartition("<measure")
            number_part, gt, rest = rest.partition(">")
            head, tag = head + "<measure" + number_part, gt
        bars[index] = head + tag + start.format(number) + rest + stop.format(number, repeat)
    from passagework.score import read_score

    p = read_score("</measure>".join(bars).encode()).piece
    assert p.bars[3].endings == (1,)
    assert p.bars[4].endings == (2,)
    (fork,) = find_form(p).forks
    assert (fork.earlier.parting_bar, fork.later.parting_bar) == (3, 4)
    assert fork.earlier.first_bar == fork.later.first_bar == 0
    assert [str(p.by_id[i].pitch) for i in fork.earlier.note_ids] == ["D5"]
    assert [str(p.by_id[i].pitch) for i in fork.later.note_ids] == ["C5"]


def test_sections_of_a_piece_that_comes_home() -> None:
    long_a, long_b = [*A, *A[:3], "D5/1 B4/1 C5/2"], [*B, *B[2:], *B[:2]]
    left = [*BASS, *BASS]
    broken = ["C3/1/2 E3/1/2 G3/1/2 E3/1/2 C3/1/2 E3/1/2 G3/1/2 E3/1/2"] * 8
    form = find_form(of_bars([*long_a, *long_b, *long_a], [*left, *broken, *left]))
    assert [(s.label, s.first_bar, s.last_bar) for s in form.sections] == [
        ("A", 0, 7), ("B", 8, 15), ("A", 16, 23),
    ]  # fmt: skip
    assert "a passage comes back" in form.sections[2].reasons


def test_phrases_end_where_the_tune_rests() -> None:
    half = ["C5/1 D5/1 E5/1 F5/1", "G5/1 F5/1 E5/1 D5/1", "E5/1 D5/1 C5/1 D5/1", "E5/2 r/2"]
    form = find_form(of_bars([*half, *half], ["C3/4"] * 8))
    assert [(p.first_bar, p.last_bar) for p in form.phrases] == [(0, 3), (4, 7)]


def test_empty_bars_have_a_form_without_anything_in_it() -> None:
    form = find_form(replace(piece("R: C4/4 | D4/4; L: C3/4 | G3/4"), notes=()))
    assert [(s.first_bar, s.last_bar) for s in form.sections] == [(0, 1)]
    assert (form.phrases, form.repeats, form.forks) == ((), (), ())
    assert form.learning_map.new_bars == (0, 1)


def without_positions(form: Form) -> tuple[object, ...]:
    return (
        form.sections, form.repeats, form.learning_map,
        tuple((p.first, p.last, p.first_bar, p.last_bar) for p in form.phrases),
        tuple(
            (b.first_bar, b.parting_bar, b.last_common, b.note_ids)
            for f in form.forks
            for b in (f.earlier, f.later)
        ),
    )  # fmt: skip


def check(original: Piece) -> None:
    form = find_form(original)
    expected = without_positions(form)
    assert without_positions(find_form(transposed(original, 2, 4))) == expected
    assert without_positions(find_form(augmented(original))) == expected
    assert find_form(revoiced(original, 5)) == form
    bars = list(range(len(original.bars)))
    assert [b for s in form.sections for b in range(s.first_bar, s.last_bar + 1)] == bars
    learning = form.learning_map
    assert sorted((*learning.new_bars, *learning.returning_bars)) == bars
    for repeat in form.repeats:
        assert repeat.again_first > repeat.last_bar, "a return does not overlap its model"
        assert repeat.bars >= 2
        assert (repeat.kind == "varied") == bool(repeat.changed)
    for fork in form.forks:
        one, other = (
            {original.by_id[i].midi for i in branch.note_ids}
            for branch in (fork.earlier, fork.later)
        )
        assert one != other
        assert one
        assert other
        assert fork.earlier.parting_bar < fork.later.parting_bar


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_form_of_a_demo_piece(name: str) -> None:
    check(demo(name))


@pytest.mark.parametrize(
    "name",
    ["bach-prelude-846", "mozart-sonata-12-2", "schubert-moment-3", "brahms-intermezzo-118-2"],
)
def test_form_of_a_real_piece(name: str) -> None:
    check(real(name))


def test_known_form_of_a_rondo() -> None:
    """The Arabeske: its refrain (with its own middle) comes three times, 231 bars in all."""
    form = find_form(real("schumann-arabeske-18"))
    starts = [s.first_bar for s in form.sections if s.label[0] == "A"]
    assert {0, 26, 106} <= set(starts)
    assert len(form.learning_map.new_bars) < 110
