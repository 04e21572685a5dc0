"""What holds for the tune of every piece."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.analysis.melody import Tune, find_tune
from passagework.score import Piece
from tests.analysis.altered import augmented, demo, real, revoiced, transposed

PIECES = (
    "bach-prelude-846",
    "mozart-sonata-12-2",
    "schubert-moment-3",
    "rachmaninoff-prelude-32-5",
)
DEMOS = ("paper-boat", "lamplighter", "evening-ferry")


def plain(tune: Tune) -> tuple[object, ...]:
    """All of a tune that is not a position."""
    return (
        tune.melody, tune.bass, tune.doublings, tune.sequence,
        tuple((h.before, h.after, h.interval, h.confidence) for h in tune.handovers),
        tuple((s.hand, s.tune, s.accompaniment) for s in tune.split_hands),
        tune.confidence,
    )  # fmt: skip


def check_all(piece: Piece) -> None:
    tune = find_tune(piece)
    expected = plain(tune)
    assert plain(find_tune(transposed(piece, 2, 4))) == expected
    assert plain(find_tune(transposed(piece, -1, -1))) == expected
    assert plain(find_tune(augmented(piece))) == expected
    assert find_tune(revoiced(piece, 7)) == tune


@pytest.mark.parametrize("name", DEMOS)
def test_other_writings_of_a_demo_piece(name: str) -> None:
    check_all(demo(name))


@pytest.mark.parametrize("name", PIECES)
def test_other_writings_of_a_real_piece(name: str) -> None:
    check_all(real(name))


@pytest.mark.parametrize("name", [*PIECES, "beethoven-sonata-8-2", "bach-fugue-848"])
def test_a_tune_is_one_line_of_notes_of_the_piece(name: str) -> None:
    piece = real(name)
    tune = find_tune(piece)
    notes = [piece.by_id[i] for i in tune.sequence]
    onsets = [n.onset for n in notes]
    assert onsets == sorted(onsets)
    assert len(set(onsets)) == len(onsets), "one note of the tune begins at a time"
    assert set(tune.sequence) <= tune.melody
    assert all(piece.by_id[i].grace for i in tune.melody - set(tune.sequence))
    assert not tune.melody & tune.bass
    for span in tune.line:
        assert {piece.by_id[i].hand for i in span.note_ids} == {span.hand}
        assert 0.0 <= span.confidence <= 1.0
    for handover in tune.handovers:
        assert piece.by_id[handover.before].hand == handover.from_hand != handover.to_hand
        assert piece.by_id[handover.after].hand == handover.to_hand


NAMES = st.sampled_from([f"{s}{o}" for o in (3, 4, 5) for s in "CDEFGAB"])
LENGTHS = st.sampled_from(["1", "1/2", "2", "1/4"])


@st.composite
def texts(draw: st.DrawFn) -> str:
    """Two voices of four quarters a bar, at random."""
    voices = []
    for hand in range(2):
        bars = []
        if hand and draw(st.booleans()):
            break
        for _ in range(draw(st.integers(1, 4))):
            left, bar = 16, []
            while left:
                length = draw(LENGTHS)
                sixteenths = {"1": 4, "1/2": 2, "2": 8, "1/4": 1}[length]
                if sixteenths > left:
                    length, sixteenths = "1/4", 1
                name = "r" if draw(st.integers(0, 6)) == 0 else draw(NAMES)
                bar.append(f"{name}/{length}")
                left -= sixteenths
            bars.append(" ".join(bar))
        voices.append(" | ".join(bars))
    return f"R: {voices[0]}; L: {voices[1] if len(voices) > 1 else 'r/4'}"


@settings(max_examples=25, deadline=None)
@given(texts())
def test_other_writings_of_any_piece(text: str) -> None:
    from hypothesis import assume

    from tests.spots.build import piece

    assume(any(letter in text for letter in "ABCDEFG"))  # a score without notes is refused
    check_all(piece(text))
