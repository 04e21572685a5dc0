"""What needs no labels: harder is never easier. For any music, and for real pieces."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.demands.descriptors import RISING
from passagework.demands.measure import measure_demands, measure_for_level
from passagework.demands.profile import Demands
from passagework.demands.scale import ungraded_score
from passagework.hands.hand import Hand
from passagework.score import Piece, Reading
from passagework.spots.context import Context
from tests.demands import changed
from tests.spots.build import piece as build

NOTES = ["C4", "E4", "F#4", "Bb3", "C5", "E6", "G3", "r", "C4+E4", "G3+B4", "C4+C5"]
REAL = ("bach-prelude-846", "bach-fugue-848", "schubert-moment-3", "mozart-sonata-12-2")
FREE = {"reading", "compass"}
"""What an octave may change."""


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    """Up to six bars for two hands, in values from a minim to a semiquaver."""
    lines = []
    bars = draw(st.integers(2, 6))
    for line in ("R", "L", *draw(st.sampled_from([(), ("R2",), ("L2",)]))):
        rows = []
        for _ in range(bars):
            value = draw(st.sampled_from(["2", "1", "1/2", "1/3", "1/4"]))
            amount = {"2": 2, "1": 4, "1/2": 8, "1/3": 12, "1/4": 16}[value]
            cells = draw(st.lists(st.sampled_from(NOTES), min_size=amount, max_size=amount))
            rows.append(" ".join(f"{c}/{value}" for c in cells))
        lines.append(f"{line}: {' | '.join(rows)}")
    word = draw(st.sampled_from(["", '@"Adagio" ', '@"Allegro" ', '@"Presto" ']))
    lines[0] = lines[0].replace("R: ", f"R: {word}")
    return build("; ".join(lines), tempo=draw(st.sampled_from([None, None, 50, 100])))


def profile(piece: Piece, reach: float = 20.1) -> Demands:
    return measure_for_level(Context(piece, Hand(reach)))


def not_easier(harder: Demands, easier: Demands) -> None:
    """No rising descriptor, and so no score whatever the weights, is lower."""
    lower = [n for n in RISING if harder.descriptors[n] < easier.descriptors[n] - 1e-9]
    assert not lower, [(n, easier.descriptors[n], harder.descriptors[n]) for n in lower]
    assert ungraded_score(harder.descriptors) >= ungraded_score(easier.descriptors) - 1e-9


def check_all(piece: Piece, chosen: Callable[[int], bool]) -> None:
    marked, plain = changed.with_tempo(piece), profile(piece)
    at_speed = profile(marked)
    for factor in (1.05, 2.0):
        not_easier(profile(changed.with_tempo(marked, factor)), at_speed)
        not_easier(at_speed, profile(changed.with_tempo(marked, 1 / factor)))
    for reach in (19.9, 16.0):
        not_easier(profile(piece, reach), plain)
    not_easier(profile(changed.with_voice(piece, chosen)), plain)
    not_easier(plain, profile(changed.thinned(piece, chosen)))
    last = len(piece.bars) - 1
    for end in (last // 2, max(last - 1, 0)):
        not_easier(plain, profile(changed.excerpt(piece, 0, end)))
    # from the middle on: words before it would not be known to an excerpt, so the tempo is a number
    wordless = replace(marked, words=())
    not_easier(profile(wordless), profile(changed.excerpt(wordless, last // 2, last)))


@settings(max_examples=25, deadline=None)
@given(pieces(), st.integers(0, 2**16))
def test_any_music(piece: Piece, seed: int) -> None:
    chances = random.Random(seed)
    chosen = [chances.random() < 0.5 for _ in piece.notes]
    check_all(piece, chosen.__getitem__)


@settings(max_examples=20, deadline=None)
@given(pieces(), st.integers(0, 2**16))
def test_notes_altered_are_never_easier(piece: Piece, seed: int) -> None:
    chances = random.Random(seed)
    marks = [chances.random() < 0.4 for _ in piece.notes]
    before, after = profile(piece), profile(changed.altered(piece, marks.__getitem__))
    not_easier(after, before)
    changed_ones = {n for n in RISING if after.descriptors[n] != before.descriptors[n]}
    assert changed_ones <= {"altered"}


@settings(max_examples=15, deadline=None)
@given(pieces(), st.sampled_from([-1, 1]))
def test_an_octave_changes_reading_and_nothing_else(piece: Piece, octaves: int) -> None:
    before, after = profile(piece), profile(changed.octave(piece, octaves))
    differ = {n for n in RISING if after.descriptors[n] != before.descriptors[n]}
    assert differ <= FREE


def test_a_larger_signature_is_never_easier() -> None:
    plain = build("R: C4/1 D4/1 E4/1 G4/1; L: C3/4")
    for fifths in (1, 3, 6):
        bars = tuple(replace(b, fifths=fifths) for b in plain.bars)
        keys = tuple(replace(k, fifths=fifths) for k in plain.key_signatures)
        notes = tuple(
            replace(n, pitch=replace(n.pitch, alter=int("FCGDAEB".index(n.pitch.step) < fifths)))
            for n in plain.notes
        )
        moved = replace(plain, bars=bars, key_signatures=keys, notes=notes)
        not_easier(profile(moved), profile(plain))


@pytest.mark.parametrize("name", REAL)
def test_real_pieces(name: str, real: Callable[[str], Piece]) -> None:
    piece = real(name)
    piece = changed.excerpt(piece, 0, min(len(piece.bars), 48) - 1)
    chances = random.Random(7)
    chosen = [chances.random() < 0.6 for _ in piece.notes]
    check_all(piece, chosen.__getitem__)


def hardest(piece: Piece, reach: float = 20.1) -> dict[str, float]:
    found = measure_demands(Context(piece, Hand(reach)), dear=False)
    return {k.kind: k.hardest for k in found.kinds.values()}


SPEED = ("passagework", "leap", "octaves", "double-notes", "repeated-notes", "polyrhythm", "dotted-rhythm",
         "hands-together", "two-voices", "ornaments", "tremolo", "same-keys", "soft-playing", "reading", "accidentals",
         "stretch", "words", "key-signature", "changing-divisions", "sudden-dynamics", "hands-crossing", "syncopation")  # fmt: skip
REACH = (
    "stretch",
    "octaves",
    "leap",
    "two-voices",
    "double-notes",
    "hands-crossing",
    "same-keys",
    "tremolo",
)


def check_kinds(piece: Piece) -> None:
    """The hardest of each kind, faster and for a smaller hand."""
    piece = changed.with_tempo(piece)
    plain = hardest(piece)
    faster, smaller = hardest(changed.with_tempo(piece, 1.3)), hardest(piece, 17.0)
    assert [k for k in SPEED if faster[k] < plain[k] - 1e-6] == []
    assert [k for k in REACH if smaller[k] < plain[k] - 1e-6] == []
    moved = hardest(changed.octave(piece, 1))
    assert {k for k in plain if abs(moved[k] - plain[k]) > 1e-6} <= {"reading"}


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_the_hardest_of_each_kind(name: str, demo: Callable[[str], Reading]) -> None:
    check_kinds(demo(name).piece)


@pytest.mark.parametrize("name", REAL[:3])
def test_the_hardest_of_each_kind_in_real_pieces(name: str, real: Callable[[str], Piece]) -> None:
    check_kinds(real(name))


@settings(max_examples=15, deadline=None)
@given(pieces(), st.integers(0, 2**16))
def test_more_altered_notes_make_the_kind_no_easier(piece: Piece, seed: int) -> None:
    chances = random.Random(seed)
    marks = [chances.random() < 0.4 for _ in piece.notes]
    after = hardest(changed.altered(piece, marks.__getitem__))
    assert after["accidentals"] >= hardest(piece)["accidentals"] - 1e-9


@settings(max_examples=15, deadline=None)
@given(pieces(), st.floats(11.0, 22.0), st.floats(0.1, 8.0))
def test_a_smaller_hand_stretches_no_less(piece: Piece, reach: float, more: float) -> None:
    assert hardest(piece, reach)["stretch"] >= hardest(piece, reach + more)["stretch"] - 1e-9
