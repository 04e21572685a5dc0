"""Spelling, scales and distances of keys, and the keys of real movements."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.harmony import compare, labels_of, local_key
from passagework.analysis.harmony import analyse_harmony
from passagework.analysis.harmony.qualities import fifths_of, spelled
from passagework.analysis.harmony.scales import Key, distance, key_of_signature
from passagework.analysis.harmony.vocabulary import GROUPS, functions, progressions
from passagework.score import read_score
from tests.conftest import data_folder
from tests.spots.build import piece


@given(st.integers(-22, 22))
def test_a_name_is_one_place_on_the_line_of_fifths(place: int) -> None:
    assert fifths_of(spelled(place)) == place


@pytest.mark.parametrize(
    ("fifths", "minor", "tonic"),
    [(0, False, "C"), (0, True, "A"), (-3, False, "Eb"), (-3, True, "C"), (6, True, "D#")],
)
def test_key_of_a_signature(fifths: int, minor: bool, tonic: str) -> None:
    key = key_of_signature(fifths, minor)
    assert spelled(key.tonic) == tonic
    assert key.signature == fifths


@pytest.mark.parametrize("minor", [False, True])
def test_a_scale_holds_its_notes(minor: bool) -> None:
    names = {spelled(p) for p in range(-12, 13) if Key(fifths_of("A"), minor).has(p)}
    expected = (
        {"A", "B", "C", "D", "E", "F", "F#", "G", "G#"}
        if minor
        else {"A", "B", "C#", "D", "E", "F#", "G#"}
    )
    assert names == expected


def test_distances() -> None:
    c_major = Key(0, False)
    assert distance(c_major, Key(3, True)) == 0  # A minor, the relative
    assert distance(c_major, Key(1, False)) == 0  # G major, one step
    assert distance(c_major, Key(2, False)) == 1  # D major
    assert distance(Key(-6, False), Key(5, True)) < 8  # G flat major and B minor: near neighbours


def test_likelihoods_are_a_distribution_or_less() -> None:
    """What is foreign to a key shares what the table leaves; the whole must stay near one."""
    from math import exp

    for mode in (0, 1):
        total = sum(exp(f.prior[mode] / 1000) for f in functions())
        assert 0.7 < total < 1.1
    assert all(len(row) == len(GROUPS) for row in progressions())


def test_minor_key_is_told_from_its_relative_by_its_leading_note() -> None:
    chords = "A2:E4+A4+C5 D3:F4+A4+D5 E3:E4+G#4+B4 A2:E4+A4+C5"
    relative = "C3:E4+G4+C5 F3:F4+A4+C5 G3:D4+G4+B4 C3:E4+G4+C5"
    for text, expected in ((chords, ("A", "minor")), (relative, ("C", "major"))):
        bars = [b.split(":") for b in text.split()]
        right = " | ".join(f"{r}/4" for _, r in bars)
        left = " | ".join(f"{b}/4" for b, _ in bars)
        found = analyse_harmony(piece(f"R: {right}; L: {left}"))
        assert [(k.tonic, k.mode) for k in found.keys] == [expected]
        assert found.keys[0].name == f"{expected[0]} {expected[1]}"


def test_how_labels_name_a_local_key() -> None:
    assert local_key("bVI", fifths_of("Ab"), minor=False) == (fifths_of("Fb"), False)
    assert local_key("vi", fifths_of("Ab"), minor=False) == (fifths_of("F"), True)
    assert local_key("III", fifths_of("C"), minor=True) == (fifths_of("Eb"), False)
    assert local_key("#vi", fifths_of("C"), minor=True) == (fifths_of("A"), True)


FLOOR = {"key": 0.82, "root": 0.82, "root and quality": 0.70, "bass": 0.80}
"""Shares of duration that the analysis must reach on annotated movements."""


@pytest.mark.parametrize("name", ["beethoven-sonata-8-2", "mozart-sonata-12-2"])
def test_annotated_movements(name: str) -> None:
    from collections import Counter

    folder = data_folder()
    labels = folder / "harmony" / f"{name}.tsv" if folder else None
    if folder is None or labels is None or not labels.exists():
        pytest.skip("the annotated movements are not at hand (PASSAGEWORK_DATA)")
    score = read_score((folder / "scores" / f"{name}.musicxml").read_bytes(), name).piece
    shares = compare(labels_of(labels, score), analyse_harmony(score), Counter())
    for what, least in FLOOR.items():
        assert shares[what] >= least, (what, shares)
