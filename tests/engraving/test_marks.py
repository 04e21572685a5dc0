"""Marks on engraved music: they hold their notes, keep apart, and leave the music as it was."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from passagework.engraving import rings
from passagework.engraving.draw import GREYED, System, draw
from passagework.engraving.layout import SPACE, Layout
from passagework.engraving.lettering import set_chords, set_words
from passagework.engraving.marks import Chord, Grey, Mark, Ring, Tune, Word
from passagework.engraving.pencil import SHADE
from passagework.engraving.placing import Room
from passagework.engraving.render import EXCERPT, render_excerpt, render_notation, start_score
from passagework.engraving.rings import draw_piece, margin_numbers, pieces
from passagework.engraving.symbols import symbol
from passagework.engraving.system import Box, Engraving, overlap, union
from passagework.engraving.together import shared_characters, with_prefix, without_characters
from passagework.score import Reading
from tests.engraving.scores import demo

LAYOUT = Layout()


@cache
def engraved(name: str = "ferry") -> tuple[Reading, Engraving]:
    score = demo(name)
    return score, start_score(score.notation, LAYOUT).result(60)


def ids(score: Reading, first: int, last: int, hand: str | None = None) -> tuple[str, ...]:
    return tuple(
        i
        for n in score.piece.notes
        if first <= n.bar <= last and n.printed and hand in (None, n.hand)
        for i in n.ids
    )


def view_box(system: System) -> Box:
    left, top, width, height = (int(v) for v in etree.fromstring(system.svg).get("viewBox").split())
    return left, top, left + width, top + height


def within(inner: Box, outer: Box) -> bool:
    return union([inner, outer]) == outer


def test_rings_hold_their_notes_on_every_system() -> None:
    score, engraving = engraved()
    for first in range(0, 60, 7):
        ring = Ring(ids(score, first, first + 2), "1")
        for system, here in zip(engraving.systems, pieces(engraving.systems, [ring]), strict=True):
            on = [system.notes[i].full for i in ring.ids if i in system.notes]
            assert bool(on) == bool(here)
            for piece in here:
                assert piece.box == union(on)
                if not piece.long:
                    assert within(union(on), draw_piece(piece, system, LAYOUT).box)


def test_a_ring_of_one_hand_keeps_to_its_staff() -> None:
    score, engraving = engraved("lamp")
    for piece in (
        p for row in pieces(engraving.systems, [Ring(ids(score, 4, 4, "left"))]) for p in row
    ):
        assert piece.staves == (1,)


def test_long_passages_get_a_bracket_clear_of_the_notes() -> None:
    score, engraving = engraved()
    ring = Ring(ids(score, 4, 30, "right"), "2")
    rows = pieces(engraving.systems, [ring])
    flat = [p for row in rows for p in row]
    assert len(flat) > 2
    assert all(p.long for p in flat)
    assert [p.first for p in flat] == [True] + [False] * (len(flat) - 1)
    assert [p.last for p in flat] == [False] * (len(flat) - 1) + [True]
    for system, row in zip(engraving.systems, rows, strict=True):
        for piece in row:
            box = draw_piece(piece, system, LAYOUT).box
            assert box[1] < piece.box[1] - SPACE // 2


def test_margin_numbers_do_not_touch_each_other_or_the_music() -> None:
    score, engraving = engraved()
    marks = [
        Ring(ids(score, 0, 1, h), str(k))
        for k, h in enumerate(["left", "right", "left", None, "right"], 8)
    ]
    here = pieces(engraving.systems, marks)[0]
    numbers = margin_numbers(here, engraving.systems[0], LAYOUT)
    assert len(numbers) == 5
    for i, one in enumerate(numbers):
        assert one.box[2] < engraving.systems[0].ink[0]
        assert one.box[0] >= -LAYOUT.margin_mm / LAYOUT.mm
        assert not any(overlap(one.box, other.box) for other in numbers[i + 1 :])


def test_numbers_stand_only_where_a_spot_begins() -> None:
    score, engraving = engraved()
    rows = pieces(engraving.systems, [Ring(ids(score, 0, 12), "7")])
    counts = [
        len(margin_numbers(row, s, LAYOUT)) for row, s in zip(rows, engraving.systems, strict=True)
    ]
    assert counts[0] == 1
    assert sum(counts) == 1


def test_no_number_without_a_margin() -> None:
    score, engraving = engraved()
    here = pieces(engraving.systems, [Ring(ids(score, 0, 0), "7")])[0]
    assert margin_numbers(here, engraving.systems[0], EXCERPT) == []


@given(st.lists(st.integers(-500, 4000), max_size=12), st.integers(1, 400))
def test_apart_keeps_order_distance_and_middle(heights: list[int], distance: int) -> None:
    heights.sort()
    placed = rings._apart(heights, distance)
    assert len(placed) == len(heights)
    assert all(b - a >= distance - 1e-6 for a, b in pairwise(placed))
    assert sum(placed) == pytest.approx(sum(heights), abs=1e-3)
    if all(b - a >= distance for a, b in pairwise(heights)):
        assert placed == pytest.approx(heights)


def every_mark(score: Reading) -> list[Mark]:
    right = ids(score, 8, 9, "right")
    return [
        Ring(ids(score, 0, 1), "1"),
        Ring(ids(score, 1, 1, "left"), "12"),
        Ring(ids(score, 20, 50), "3"),
        Grey(ids(score, 2, 3, "left")),
        Tune(right),
        *(Word(i, "3", "above") for i in right),
        *(Word(i, "5", "below", "print") for i in ids(score, 8, 9, "left")),
        Word(right[0], "sing & listen <here>", "above", "teacher"),
        *(Chord(ids(score, b, b)[0], "Bbmaj7/Ab", "bVI") for b in range(8)),
        Ring(("nowhere",), "99"),
        Word("nowhere", "x"),
        Tune(("nowhere",)),
    ]


@pytest.mark.parametrize("name", ["ferry", "lamp", "boat"])
def test_finished_systems_are_whole(name: str) -> None:
    score, engraving = engraved(name)
    last = len(score.piece.bars) - 1
    marks = every_mark(score) if last > 50 else [Ring(ids(score, 0, last), "1")]
    systems = draw(engraving, LAYOUT, marks)
    assert "99" not in "".join(re.findall(r"<text[^>]*>([^<]*)", "".join(s.svg for s in systems)))
    for system, source in zip(systems, engraving.systems, strict=True):
        root = etree.fromstring(system.svg)
        defined = {e.get("id") for e in root.iter() if e.get("id")}
        assert {(e.get("href") or "#")[1:] for e in root.iter("{*}use")} <= defined
        assert not any(str(i).startswith("~") for i in defined)
        assert system.notes <= defined
        assert len(defined) == len([e for e in root.iter() if e.get("id")])
        box = view_box(system)
        assert within(source.ink, box)
        assert system.width_mm == pytest.approx((box[2] - box[0]) * LAYOUT.mm, abs=0.02)
        for path in root.iter("{*}path"):
            numbers = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", path.get("d") or "")]
            assert numbers or path.get("id")
        assert system.svg == draw(engraving, LAYOUT, marks)[engraving.systems.index(source)].svg


def test_pages_keep_one_width_when_spots_are_ringed() -> None:
    score, engraving = engraved()
    systems = draw(engraving, LAYOUT, [Ring(ids(score, b, b), str(b)) for b in range(60)])
    assert all(s.width_mm == pytest.approx(LAYOUT.width_mm, abs=0.1) for s in systems)


def test_grey_takes_notes_and_what_is_wholly_theirs() -> None:
    _, engraving = engraved("lamp")
    source = engraving.systems[0]
    beams = {
        k: v for k, v in source.members.items() if len(v) > 1 and all(i in source.notes for i in v)
    }
    key, members = next(iter(beams.items()))
    system = draw(engraving, LAYOUT, [Grey(members)])[0]
    root = etree.fromstring(system.svg)
    by_id = {e.get("id"): e for e in root.iter("{*}g")}
    assert all(by_id[i].get("fill") == GREYED for i in members)
    assert sum(e.get("fill") == GREYED for e in root.iter("{*}g")) > len(members)
    part = draw(engraving, LAYOUT, [Grey(members[:1])])[0]
    root = etree.fromstring(part.svg)
    grey = [e for e in root.iter("{*}g") if e.get("fill") == GREYED]
    assert members[0] in [e.get("id") for e in grey]
    assert not any(i in [e.get("id") for e in grey] for i in members[1:])
    assert key.startswith("~")


def test_the_tune_lies_behind_the_notes() -> None:
    score, engraving = engraved("lamp")
    system = draw(engraving, LAYOUT, [Tune(ids(score, 0, 2, "right"))])[0]
    assert 0 < system.svg.index(SHADE) < system.svg.index('<g id="')


def test_words_find_free_paper() -> None:
    score, engraving = engraved("lamp")
    for source in engraving.systems[:4]:
        notes = [i for i in ids(score, 0, 40, "right") if i in source.notes]
        drawn = set_words(source, [Word(i, "4") for i in notes], Room(source.obstacles))
        assert len(drawn) == len(notes)
        for i, (word, note) in enumerate(zip(drawn, notes, strict=True)):
            head = source.notes[note].head
            assert word.box[0] < (head[0] + head[2]) / 2 < word.box[2]
            assert word.box[3] <= head[1]
            assert not any(overlap(word.box, other) for other in source.obstacles)
            assert not any(overlap(word.box, other.box) for other in drawn[:i])


def test_chord_symbols_stand_under_everything_and_apart() -> None:
    score, engraving = engraved("ferry")
    source = engraving.systems[1]
    notes = [i for i in source.notes if i in score.piece.by_id]
    drawn = set_chords(source, [Chord(i, "F#maj7/C#") for i in notes], source.ink[3])
    for i, one in enumerate(drawn):
        assert one.box[1] >= source.ink[3]
        assert not any(overlap(one.box, other.box) for other in drawn[:i])


def test_room_moves_outwards_only_as_far_as_needed() -> None:
    room = Room([(0, 0, 100, 50)])
    assert room.outwards((10, 20, 30, 40), -10, 500) == (10, -20, 30, 0)
    assert room.outwards((10, 20, 30, 40), 10, 500) == (10, 50, 30, 70)
    assert room.outwards((10, 20, 30, 40), 10, 20) == (10, 20, 30, 40)
    assert room.outwards((200, 20, 230, 40), 10, 500) == (200, 20, 230, 40)


@pytest.mark.parametrize(
    ("text", "signs"),
    [("Bb7", 1), ("F#m7b5", 2), ("Ebmaj7/Bb", 2), ("C##", 1), ("Bbb", 1), ("bVI", 1), ("Dm/A", 0),
     ("sub", 0), ("#iv", 1), ("C7#9", 1), ("V65/ii", 0), ("E♭", 1)],
)  # fmt: skip
def test_accidentals_of_chord_symbols(text: str, signs: int) -> None:
    shape = symbol(text, 0, 0, 114)
    assert shape.svg.count("<use") == signs
    letters = "".join(re.findall(r">([^<]+)</text>", shape.svg))
    assert len(letters) == len(text) - signs - (text in {"C##", "Bbb"})


def test_excerpts_show_their_bars_alone() -> None:
    score = demo("ferry")
    systems = render_excerpt(score.notation, 10, 11, [Ring(ids(score, 10, 10), "1")])
    bars = [m for s in systems for m in s.measures]
    assert bars == [m.get("id") for m in score.notation.measures[10:12]]
    assert set().union(*(s.notes for s in systems)) >= set(ids(score, 10, 11))
    assert all(s.width_mm <= EXCERPT.width_mm + 3 for s in systems)
    assert f">{score.piece.bars[10].number}<" in systems[0].svg


def test_a_short_notation_keeps_its_own_width() -> None:
    score = demo("boat")
    from passagework.score.cut import cut

    (system,) = render_notation(cut(score.notation, 2, 2))
    assert system.width_mm < 80


def test_several_pictures_in_one_document() -> None:
    score, engraving = engraved("lamp")
    svgs = [s.svg for s in draw(engraving, LAYOUT, [Chord(ids(score, 0, 0)[0], "Bb")])]
    page = shared_characters(svgs) + "".join(
        without_characters(svg, f"a{i}-") + with_prefix(svg, f"b{i}-") for i, svg in enumerate(svgs)
    )
    root = etree.fromstring(f"<body>{page}</body>")
    every = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(every) == len(set(every))
    assert {(e.get("href") or "#")[1:] for e in root.iter("{*}use")} <= set(every)
    note = ids(score, 0, 0)[0]
    assert f"a0-{note}" in every
    assert f"b0-{note}" in every


def test_the_pictures_stay_small() -> None:
    score, engraving = engraved("ferry")
    systems = draw(engraving, LAYOUT)
    bytes_per_note = sum(len(without_characters(s.svg)) for s in systems) / len(score.piece.notes)
    assert bytes_per_note < 400
