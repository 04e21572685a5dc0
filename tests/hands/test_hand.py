from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.hands.hand import FINGER_PAIRS, PRESETS, Hand, Hands
from passagework.hands.keyboard import distance_mm
from passagework.hands.spans import reaches, shapes_for

REACHES = st.floats(15.0, 26.0)


def test_largest_and_comfortable_span_of_the_mean_hand() -> None:
    hand = Hand(20.1)
    assert hand.largest_mm == pytest.approx(189.0)  # 201 mm less a fingertip of 12
    assert hand.comfortable_mm == pytest.approx(170.1)
    assert hand.pair_largest_mm(5, 1) == pytest.approx(189.0)
    # 10 of the table's 15 semitones, of 189 mm
    assert hand.pair_largest_mm(1, 2) == pytest.approx(126.0)


def test_a_measured_comfortable_reach_is_taken() -> None:
    assert Hand(20.0, comfortable_cm=17.0).comfortable_mm == pytest.approx(158.0)


def test_a_measured_pair_is_taken_and_never_more_than_the_hand() -> None:
    hand = Hand(18.0, pair_cm=((2, 5, 12.0), (1, 4, 30.0)))
    assert hand.pair_largest_mm(2, 5) == pytest.approx(108.0)
    assert hand.pair_largest_mm(1, 4) == pytest.approx(hand.largest_mm)


@given(REACHES, REACHES)
def test_a_larger_hand_reaches_at_least_as_far_with_every_pair(one: float, other: float) -> None:
    small, large = sorted((one, other))
    for low, high in FINGER_PAIRS:
        assert Hand(small).pair_largest_mm(low, high) <= Hand(large).pair_largest_mm(low, high)
        assert Hand(small).pair_comfortable_mm(low, high) <= Hand(small).pair_largest_mm(low, high)


@pytest.mark.parametrize("reach", [0.0, 9.0, 40.0])
def test_an_unbelievable_reach_is_refused(reach: float) -> None:
    with pytest.raises(ValueError, match="measure from the tip"):
        Hand(reach)


@pytest.mark.parametrize(
    "words",
    [
        {"comfortable_cm": 25.0},
        {"pair_cm": ((5, 2, 10.0),)},
        {"weak": frozenset({6})},
        {"resting": frozenset({1, 2, 3, 4, 5})},
    ],
)
def test_nonsense_is_refused(words: dict[str, object]) -> None:
    with pytest.raises(ValueError):
        Hand(20.0, **words)  # type: ignore[arg-type]


def test_presets_grow_and_only_the_child_misses_the_octave() -> None:
    order = [PRESETS[n] for n in ("child", "small", "medium", "large")]
    assert [h.reach_cm for h in order] == sorted(h.reach_cm for h in order)
    octave = distance_mm(60, 72)
    assert [h.largest_mm >= octave for h in order] == [False, True, True, True]


def test_shapes_of_an_octave_for_the_mean_hand() -> None:
    # 164.5 mm: 1-5 reaches 189, 1-4 reaches 14/15 of it (176), 2-5 only 126
    assert shapes_for((0, 12), Hand(20.1)) == ((1, 4), (1, 5))
    # three white neighbours, C D E: every rising triple of fingers
    assert len(shapes_for((0, 2, 4), Hand(20.1))) == 10


def test_a_resting_finger_is_in_no_shape() -> None:
    hand = Hand(20.1, resting=frozenset({4}))
    assert all(4 not in s for s in shapes_for((0, 2, 4), hand))
    assert not reaches([60, 62, 64, 65, 67], hand)


def test_both_hands_are_told_apart() -> None:
    hands = Hands(left=Hand(18.0), right=Hand(19.0))
    assert (hands.of("left").reach_cm, hands.of("right").reach_cm) == (18.0, 19.0)
    assert Hands.alike(Hand(21.0)).of("left") == Hand(21.0)
