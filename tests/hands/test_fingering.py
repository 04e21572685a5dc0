"""What a teacher asks of a fingering, on music small enough to judge by hand."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from passagework.analysis.tempo import tempo_map
from passagework.hands.alternatives import alternatives
from passagework.hands.fingering import Fingering, finger_piece
from passagework.hands.hand import LARGE, SMALL, Hand, Hands
from passagework.hands.layers import Costs
from passagework.hands.search import path_terms
from passagework.hands.solve import Demand, solve_side
from passagework.hands.terms import STRETCHES
from passagework.hands.weights import weight_vector
from passagework.score import Piece
from tests.conftest import real_scores
from tests.hands.make import line, piece_of
from tests.spots.build import piece as written

C_MAJOR = [60, 62, 64, 65, 67, 69, 71, 72]


def firsts(piece: Piece, found: Fingering) -> list[int]:
    return [found.fingers[n.id][0] for n in piece.notes]


def test_a_five_finger_tune_stays_in_its_position() -> None:
    piece = line([60, 62, 64, 65, 67, 65, 64, 62, 60])
    found = finger_piece(piece)
    assert firsts(piece, found) == [1, 2, 3, 4, 5, 4, 3, 2, 1]
    assert not found.passings
    assert len(found.positions) == 1


def test_a_passing_is_named() -> None:
    piece = line(C_MAJOR)
    found = finger_piece(piece)
    [passing] = found.passings
    assert (passing.way, passing.finger, passing.note_id) == ("thumb under", 3, piece.notes[3].id)
    assert found.why[passing.note_id] == "The thumb passes under the third finger."


def test_a_quick_repeated_note_changes_fingers_and_a_slow_one_need_not() -> None:
    quick = line([67] * 8, value=Fraction(1, 8), tempo=100)
    fast = firsts(quick, finger_piece(quick))
    assert all(a != b for a, b in itertools.pairwise(fast))
    slow = line([67] * 6, value=Fraction(1), tempo=60)
    assert len(set(firsts(slow, finger_piece(slow)))) == 1


def test_held_notes_keep_their_finger_or_say_what_takes_over() -> None:
    piece = written("R: G4/4; R2: C4/1 D4/1 E4/1 D4/1")
    found = finger_piece(piece)
    held = next(n for n in piece.notes if n.midi == 67)
    others = [found.fingers[n.id][0] for n in piece.notes if n.midi < 67]
    assert len(found.fingers[held.id]) == 1
    assert all(f < found.fingers[held.id][0] for f in others)


def test_a_trill_gets_good_fingers() -> None:
    piece = written("R: B4/4!trill-mark")
    finger = finger_piece(piece).fingers[piece.notes[0].id][0]
    assert finger in (1, 2, 3)


def test_a_trill_above_held_notes_leaves_a_finger_for_its_other_note() -> None:
    piece = written("R: C5/4!trill-mark; R2: E4/4")
    found = finger_piece(piece)
    trill = next(n for n in piece.notes if n.ornaments)
    assert found.fingers[trill.id][0] <= 4


def test_printed_fingers_are_kept_and_can_be_left_aside() -> None:
    piece = line(C_MAJOR)
    notes = list(piece.notes)
    notes[0] = replace(notes[0], fingers=(2,))
    printed = replace(piece, notes=tuple(notes))
    assert finger_piece(printed).fingers[notes[0].id] == (2,)
    assert finger_piece(printed, respect_printed=False).fingers[notes[0].id] == (1,)


def test_a_printed_substitution_is_kept() -> None:
    piece = line([67, 72], value=Fraction(1, 2))
    notes = (replace(piece.notes[0], fingers=(3, 1)), piece.notes[1])
    assert finger_piece(replace(piece, notes=notes)).fingers[notes[0].id] == (3, 1)


def test_printed_fingers_that_do_not_reach_are_warned_of() -> None:
    piece = piece_of({"right": [(Fraction(0), Fraction(1), (60, 72))]})
    notes = (replace(piece.notes[0], fingers=(2,)), replace(piece.notes[1], fingers=(5,)))
    found = finger_piece(replace(piece, notes=notes), Hands.alike(SMALL))
    assert [found.fingers[n.id] for n in notes] == [(1,), (5,)]
    assert found.overruled == {n.id for n in notes}
    assert found.warnings == (
        "Bar 1, right hand: the printed fingers 2 5 do not reach; 1 5 instead.",
    )


def test_the_teachers_finger_stands_against_the_printed_one() -> None:
    piece = line(C_MAJOR)
    notes = (replace(piece.notes[0], fingers=(2,)), *piece.notes[1:])
    found = finger_piece(replace(piece, notes=notes), fixed={notes[0].id: 3})
    assert found.fingers[notes[0].id] == (3,)
    assert found.why[notes[0].id] == "The teacher's finger."
    assert notes[0].id in found.overruled


@pytest.mark.parametrize("fixed", [{"nothing": 1}, {"n1": 6}, {"n1": ()}])
def test_fixed_nonsense_is_refused(fixed: dict[str, int]) -> None:
    with pytest.raises(ValueError):
        finger_piece(line(C_MAJOR), fixed=fixed)


def test_a_resting_finger_does_not_play() -> None:
    piece = line(C_MAJOR)
    hands = Hands.alike(Hand(20.1, resting=frozenset({3})))
    assert 3 not in firsts(piece, finger_piece(piece, hands))


def test_a_spared_finger_plays_less() -> None:
    piece = line([60, 62, 64, 62, 65, 64, 62, 64, 65, 67, 65, 64, 62, 60])
    usual = firsts(piece, finger_piece(piece))
    spared = firsts(piece, finger_piece(piece, Hands.alike(Hand(weak=frozenset({4})))))
    assert spared.count(4) < usual.count(4)


def test_only_the_hands_asked_for_are_fingered() -> None:
    piece = written("R: C4/4; L: C3/4")
    found = finger_piece(piece, sides=("left",))
    assert [piece.by_id[i].hand for i in found.fingers] == ["left"]


def test_the_same_figure_takes_the_same_fingers_when_it_comes_back() -> None:
    figure = [64, 67, 72, 71, 67, 69, 65, 62]
    gap = [(Fraction(i, 4), Fraction(1, 4), (k,)) for i, k in enumerate(figure)]
    later = [(Fraction(16) + o, d, tuple(k + 12 for k in keys)) for o, d, keys in gap]
    piece = piece_of({"right": [*gap, *later]})
    fingers = firsts(piece, finger_piece(piece))
    assert fingers[:8] == fingers[8:]


def test_soft_and_fast_music_passes_the_thumb_less(real: Callable[[str], Piece]) -> None:
    """At pp and speed a fingering without passings is worth a less natural one."""
    piece = real("beethoven-sonata-14-3")
    part = replace(piece, notes=tuple(n for n in piece.notes if n.bar < 40))
    soft = finger_piece(part, loudness=lambda _: 0.05, respect_printed=False)
    loud = finger_piece(part, loudness=lambda _: 0.7, respect_printed=False)
    assert len(soft.passings) < len(loud.passings)


def test_a_grace_note_is_fingered_before_the_note_it_leans_on() -> None:
    piece = written("R: g:B4 C5/1 C5/1 C5/2")
    found = finger_piece(piece)
    grace = next(n for n in piece.notes if n.grace)
    main = next(n for n in piece.notes if not n.grace)
    assert found.fingers[grace.id][0] != found.fingers[main.id][0]


def test_two_voices_on_one_key_share_its_finger() -> None:
    piece = written("R: G4/2 A4/2; R2: G4/2 E4/2")
    found = finger_piece(piece)
    first, second = [n for n in piece.notes if n.midi == 67]
    assert found.fingers[first.id] == found.fingers[second.id]


def test_alternatives_differ_and_begin_with_the_fingering_itself() -> None:
    piece = line([60, 64, 67, 72, 76, 72, 67, 64, 65, 69, 72, 77])
    ids = [n.id for n in piece.notes]
    found = alternatives(piece, Hands(), "right", ids[0], ids[-1], 3)
    assert len(found) == 3
    assert dict(found[0].fingers) == dict(finger_piece(piece).fingers)
    assert [a.cost for a in found] == sorted(a.cost for a in found)
    for i, one in enumerate(found):
        for other in found[:i]:
            assert sum(one.fingers[n] != other.fingers[n] for n in ids) >= 0.2 * len(ids)
    assert all(costs for costs in (a.costs for a in found))


def test_alternatives_of_a_note_that_is_not_there() -> None:
    with pytest.raises(ValueError, match="does not strike"):
        alternatives(line(C_MAJOR), Hands(), "left", "n1", "n2")


def stretch(piece: Piece, hand: Hand) -> tuple[float, bool]:
    """Stretch in the units of the costs, and whether anything was out of reach."""
    total, beyond = 0.0, False
    for side in ("left", "right"):
        solved = solve_side(
            piece, side, hand, Demand({}, False), tempo_map(piece), lambda _: 0.5, Costs(hand)
        )
        if solved.slices:
            terms = path_terms(solved.lattice, solved.slices, solved.costs, solved.path)
            total += sum(float(weight_vector()[t] * terms[t]) for t in STRETCHES)
        beyond |= any(layer.flags & 1 for layer in solved.lattice.layers)
        beyond |= any(s.let_go for s in solved.slices)
    return total, beyond


@pytest.mark.parametrize("name", [p.stem for p in real_scores()][::3] or [""])
def test_a_smaller_hand_never_stretches_more(real: Callable[[str], Piece], name: str) -> None:
    piece = real(name)
    for first in (0, len(piece.bars) // 2):
        part = replace(piece, notes=tuple(n for n in piece.notes if first <= n.bar < first + 4))
        small, short = stretch(part, SMALL)
        large, _ = stretch(part, LARGE)
        if not short:
            assert small <= large + 1e-6


@pytest.mark.parametrize("name", ["chopin-scherzo-39-fingered"])
def test_agreement_with_an_edition(real: Callable[[str], Piece], name: str) -> None:
    piece = real(name)
    part = replace(piece, notes=tuple(n for n in piece.notes if n.bar < 300))
    found = finger_piece(part, respect_printed=False)
    printed = [n for n in part.notes if n.fingers]
    agreed = sum(found.fingers[n.id][0] == n.fingers[0] for n in printed)
    assert agreed / len(printed) >= 0.7
