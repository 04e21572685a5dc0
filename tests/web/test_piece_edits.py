"""The teacher's edits: nothing is lost, whatever becomes of the score and of the program."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.hands.fingering import finger_piece
from passagework.score.piece import Piece
from passagework.spots.context import Context
from passagework.spots.find import find_spots
from passagework.spots.spot import Spot
from passagework.teaching.edit_rows import from_row, from_rows, to_row
from passagework.teaching.edits import (
    OWN_KIND,
    AddedSpot,
    Anchor,
    ChangedWords,
    Edit,
    FixedFinger,
    HiddenSpot,
    NoteIndex,
    OtherEdit,
    OwnNote,
    SkippedExercise,
    SpotName,
    Words,
    fixed_by_id,
    index_of,
    lay_over,
    name_of,
    with_fixed_fingers,
)
from tests.spots.build import piece as build

TEXT = (
    "R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1 E5+G5/1 | Eb5/1/4 D5/1/4 C5/1/4 Bb4/1/4 A4/1 G4/2 | C4/1 C6/1 C4/1 C6/1 |"
    " C5/1/3 D5/1/3 E5/1/3 F5/1 G5/2 | C5+E5+G5+C6/2 B4/2~ | B4/1 C5/3;"
    "L: C3/4 | G2/1 G3/1 C3/2 | C2/1 C4/1 C2/1 C4/1 | F3/1/2 G3/1/2 A3/1 G3/2 | C3/4 | G2/1 C3/3"
)


@lru_cache
def sample() -> tuple[Piece, tuple[Spot, ...], NoteIndex]:
    score = build(TEXT)
    return score, find_spots(Context(score)), index_of(score)


texts = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=20
)
anchors = st.one_of(
    st.sampled_from(sample()[2].anchors),
    st.builds(
        Anchor,
        st.sampled_from(["n1", "n7", "gone", "x y"]),
        st.integers(0, 9),
        st.fractions(0, 4, max_denominator=12),
        st.integers(21, 108),
    ),
)
hands = st.sampled_from(["left", "right", "both"])
words = st.builds(
    Words,
    title=st.none() | texts,
    reason=st.none() | texts,
    goes_wrong=st.none() | texts,
    try_=st.none() | st.lists(texts, min_size=1, max_size=3).map(tuple),
    done_when=st.none() | texts,
)
names = st.one_of(
    st.sampled_from([name_of(s, sample()[2]) for s in sample()[1]]),
    st.builds(SpotName, texts, st.sampled_from(["leap", "stretch", "none"]), hands, anchors),
)
fingers = st.lists(st.integers(1, 5), min_size=1, max_size=3).map(tuple)
others = st.builds(
    OtherEdit, st.just("of-tomorrow"), texts, st.dictionaries(texts, st.integers() | texts)
)
edits: st.SearchStrategy[Edit] = st.one_of(
    st.builds(OwnNote, texts, st.integers(-1, 9), texts, st.none() | anchors),
    st.builds(HiddenSpot, names),
    st.builds(ChangedWords, names, words),
    st.builds(
        AddedSpot,
        texts,
        st.integers(0, 8),
        st.integers(0, 8),
        hands,
        st.lists(anchors, max_size=4).map(tuple),
        words,
    ),
    st.builds(FixedFinger, anchors, fingers),
    st.builds(SkippedExercise, names, texts),
    others,
)


def through_storage(edit: Edit) -> Edit:
    kind, key, payload = to_row(edit)
    return from_row(kind, key, json.loads(json.dumps(payload)))


@given(edits)
def test_an_edit_comes_back_from_storage_as_it_was(edit: Edit) -> None:
    assert through_storage(edit) == edit


@given(st.text(max_size=20), texts, st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(
        st.sampled_from(["spot", "words", "anchor", "bar", "note", "fingers", "onset"]), inner, max_size=5),
    max_leaves=12))  # fmt: skip
def test_what_is_not_understood_is_kept_as_it_came(kind: str, key: str, payload: Any) -> None:
    known = [
        "own-note",
        "hidden-spot",
        "changed-words",
        "added-spot",
        "fixed-finger",
        "skipped-exercise",
    ]
    for name in (kind, *known):
        edit = from_row(name, key, payload)
        assert to_row(edit)[2] == payload


@given(st.lists(edits, max_size=12))
def test_every_edit_takes_effect_or_is_listed(rows: list[Edit]) -> None:
    _, spots, index = sample()
    shown = lay_over(spots, rows, index)
    assert len(shown.spots) + len(shown.hidden) - len(
        [s for s in shown.spots if s.kind == OWN_KIND]
    ) == len(spots)
    placed = [e for e in rows if not any(e is u for u in shown.unplaced)]
    assert len(placed) + len(shown.unplaced) == len(rows)
    for edit in placed:
        match edit:
            case OwnNote():
                assert any(edit is n for n, _ in shown.notes)
            case HiddenSpot():
                assert any(edit == e for _, e in shown.hidden)
            case ChangedWords():
                hidden = {s.id for s, _ in shown.hidden}
                assert any(
                    i in hidden or edit.words.changed <= names for i, names in shown.changed.items()
                )
            case AddedSpot():
                assert f"{OWN_KIND}-{edit.key}" in {s.id for s in shown.spots}
            case FixedFinger():
                assert edit.fingers in shown.fingers.values()
            case SkippedExercise():
                assert edit.technique in {t for _, t in shown.skipped}
            case OtherEdit():
                pytest.fail("what is not understood cannot have been placed")


@given(st.lists(edits, max_size=8))
def test_numbers_stay_and_are_given_once(rows: list[Edit]) -> None:
    _, spots, index = sample()
    shown = lay_over(spots, rows, index)
    before = {s.id: s.rank for s in spots}
    ranks = [s.rank for s in shown.spots if s.rank]
    assert len(ranks) == len(set(ranks))
    assert all(s.rank == before[s.id] for s in shown.spots if s.id in before)


def renamed(score: Piece) -> Piece:
    """The same score, read again by a program that calls every note otherwise."""
    return replace(
        score,
        notes=tuple(
            replace(n, id=f"m{at}", tied_ids=tuple(f"{t}x" for t in n.tied_ids))
            for at, n in enumerate(score.notes)
        ),
    )


@settings(max_examples=40)
@given(st.lists(st.sampled_from(range(len(sample()[2].anchors))), min_size=1, unique=True), fingers)
def test_fingers_and_notes_are_found_again_when_ids_change(
    chosen: list[int], row: tuple[int, ...]
) -> None:
    score, _, index = sample()
    again = renamed(score)
    rows: list[Edit] = [FixedFinger(index.anchors[i], row) for i in chosen]
    rows += [OwnNote(str(i), 0, "here", index.anchors[i]) for i in chosen]
    shown = lay_over((), rows, index_of(again))
    assert shown.unplaced == ()
    assert set(shown.fingers) == {again.notes[i].id for i in chosen}
    assert {head for _, head in shown.notes} == {again.notes[i].id for i in chosen}


def test_a_spot_is_found_again_by_its_kind_and_note() -> None:
    score, spots, index = sample()
    names_ = [name_of(s, index) for s in spots]
    again = renamed(score)
    found = find_spots(Context(again))
    shown = lay_over(found, [HiddenSpot(n) for n in names_], index_of(again))
    assert shown.unplaced == ()
    assert len(shown.hidden) == len(spots) == len(found)
    assert shown.spots == ()


def test_a_corrected_note_keeps_its_finger_and_another_note_does_not_take_it() -> None:
    _, _, index = sample()
    first, later = index.anchors[0], index.anchors[-1]
    corrected = replace(first, pitch=first.pitch + 1)
    assert index.find(corrected) == first.note_id
    # the id now belongs to a note elsewhere, and nothing stands in the old place
    assert index.find(Anchor(first.note_id, later.bar, Fraction(7, 13), 99)) is None


def test_the_last_words_of_a_student_are_put_over_the_programs() -> None:
    _, spots, index = sample()
    spot = spots[0]
    words_ = Words(title="Look here", try_=("one", "two"))
    shown = lay_over(spots, [ChangedWords(name_of(spot, index), words_)], index)
    now = next(s for s in shown.spots if s.id == spot.id)
    assert now.wording.title == "Look here"
    assert now.wording.try_ == ("one", "two")
    assert now.wording.reason == spot.wording.reason
    assert now.wording.evidence == spot.wording.evidence
    assert shown.changed == {spot.id: {"title", "try_"}}


def test_fixed_fingers_become_the_pieces_own_and_are_kept_by_the_fingering() -> None:
    score, _, index = sample()
    rows = [FixedFinger(index.anchors[2], (4,)), FixedFinger(index.anchors[8], (2, 1))]
    fixed = fixed_by_id(rows, index)
    printed = with_fixed_fingers(score, rows)
    for edit in rows:
        assert printed.by_id[edit.anchor.note_id].fingers == edit.fingers
    assert [n.id for n in printed.notes] == [n.id for n in score.notes]
    assert with_fixed_fingers(score, []) is score
    found = finger_piece(printed, fixed=fixed)
    assert all(found.fingers[i] == row for i, row in fixed.items())


def test_an_added_place_without_its_notes_takes_all_of_its_bars() -> None:
    _, _, index = sample()
    gone = Anchor("gone", 99, Fraction(0), 20)
    edit = AddedSpot("k", 1, 2, "left", (gone,), Words(title="Mine"))
    (spot,) = lay_over((), [edit], index).spots
    assert spot.focus.note_ids == index.within(1, 2, "left")
    assert (spot.first_bar, spot.last_bar, spot.rank) == (1, 2, 1)
    assert lay_over((), [replace(edit, first_bar=40, last_bar=50)], index).spots == ()


def test_rows_of_the_studio_are_read_in_their_order() -> None:
    _, _, index = sample()
    rows = [to_row(OwnNote("a", 0, "x")), to_row(FixedFinger(index.anchors[0], (1,)))]
    assert [type(e) for e in from_rows(rows)] == [OwnNote, FixedFinger]
