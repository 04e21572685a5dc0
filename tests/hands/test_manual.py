"""Standard fingerings, measured against the table of `manual.py`."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from passagework.hands.fingering import finger_piece
from passagework.score.piece import Side
from tests.hands.make import line
from tests.hands.manual import Entry, agreement, broken_chords, others, scales

SCALES, OTHERS = scales(), others()


def fingers_of(
    keys: Sequence[int], side: Side, *, value: Fraction = Fraction(1, 4), flat: bool = False
) -> list[int]:
    piece = line(keys, side, value=value, flat=flat)
    found = finger_piece(piece, sides=(side,)).fingers
    return [found[n.id][0] for n in piece.notes]


def share(entries: Sequence[Entry], octaves: int = 2, value: Fraction = Fraction(1, 4)) -> float:
    agreed = notes = 0
    for entry in entries:
        keys = entry.keys(octaves)
        agreed += agreement(entry, fingers_of(keys, entry.side, value=value), octaves)
        notes += len(keys)
    return agreed / notes


def test_scales_come_out_as_manuals_print_them() -> None:
    assert share(SCALES[::2]) >= 0.95


def test_the_whole_manual_comes_out() -> None:
    agreed = notes = 0
    for entry in (*SCALES[1::2], *OTHERS[::2]):
        keys = entry.keys()
        agreed += agreement(entry, fingers_of(keys, entry.side))
        notes += len(keys)
    for broken in broken_chords():
        found = fingers_of(broken.keys, broken.side)
        agreed += sum(a == b for a, b in zip(found, broken.printed, strict=True))
        notes += len(found)
    assert agreed / notes >= 0.9


@pytest.mark.parametrize("octaves", [1, 3, 4])
@pytest.mark.parametrize("value", [Fraction(1, 6), Fraction(1, 2)], ids=["triplets", "eighths"])
def test_scales_of_other_lengths_and_values(octaves: int, value: Fraction) -> None:
    assert share(SCALES[::4], octaves, value) >= 0.85


@pytest.mark.parametrize("entry", SCALES[::7], ids=lambda e: f"{e.name}-{e.side}")
def test_spelling_and_octave_do_not_matter(entry: Entry) -> None:
    keys = entry.keys()
    found = fingers_of(keys, entry.side)
    assert fingers_of(keys, entry.side, flat=True) == found
    assert fingers_of([k + 12 for k in keys], entry.side) == found


def test_a_scale_that_falls_first_takes_the_same_fingers() -> None:
    c_major = next(e for e in SCALES if e.name == "C major" and e.side == "right")
    up_and_down = c_major.keys()
    top = len(up_and_down) // 2
    falling = fingers_of(up_and_down[top:], "right")
    assert falling == [5, 4, 3, 2, 1, 3, 2, 1, 4, 3, 2, 1, 3, 2, 1]


def test_the_pattern_row_is_read_as_written() -> None:
    """The table itself, worked out by hand: F major in the right hand, one octave up."""
    f_major = next(e for e in SCALES if e.name == "F major" and e.side == "right")
    assert f_major.keys(1)[:8] == [53, 55, 57, 58, 60, 62, 64, 65]
    assert f_major.printed(1)[0][:8] == [1, 2, 3, 4, 1, 2, 3, 4]
