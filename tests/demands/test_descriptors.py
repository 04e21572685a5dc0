"""Descriptors against numbers worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import log2

import pytest

from passagework.demands.descriptors import DESCRIPTORS, RISING, descriptor, measure_descriptors
from passagework.demands.grid import lay_out
from passagework.demands.measure import hardness, measure_demands
from passagework.demands.profile import PROFILE_VERSION
from passagework.demands.published import entropy, lempel_ziv
from passagework.demands.reference import DEAR
from passagework.demands.scale import PARTS, ungraded_score
from passagework.demands.sustained import hardest_bars, sustained
from passagework.score import Reading
from passagework.spots.context import Context
from passagework.spots.table import all_kinds
from tests.spots.build import context


def values(text: str, **options: object) -> dict[str, float]:
    measured = measure_descriptors(lay_out(context(text, **options)))  # type: ignore[arg-type]
    return {name: m.value for name, m in measured.items()}


def test_what_the_hardest_bars_ask() -> None:
    # one bar of 6: (6 / 2 + 6 / 8 + 6 / 24) / 3
    assert sustained([0.0, 6.0, 0.0]) == pytest.approx(4 / 3)
    assert sustained([2.0] * 24) == pytest.approx(2.0)
    assert sustained([2.0] * 100) == pytest.approx(2.0)
    assert sustained([]) == 0.0
    assert hardest_bars([1.0, 3.0, 0.0, 3.0]) == (1, 3, 0)


def test_a_bar_of_quavers_over_a_held_chord() -> None:
    # 84 beats a minute is what a piece without a tempo is read at: a bar of four beats lasts 20/7 seconds.
    found = values(
        "R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/2 F5/1/2 E5/1/2 D5/1/2; L: C3+G3/4", tempo=None
    )
    one_bar = (1 / 2 + 1 / 8 + 1 / 24) / 3
    assert found["speed_busier"] == pytest.approx(8 * 7 / 20 * one_bar)
    assert found["speed_other"] == pytest.approx(7 / 20 * one_bar)
    assert found["added_notes"] == pytest.approx(7 / 20 * one_bar)
    assert found["together"] == pytest.approx(2 * 7 / 20 * one_bar)  # in the first beat only
    assert found["divisions"] == pytest.approx(one_bar)
    assert found["places_busier"] == 5
    assert found["places_other"] == 2
    assert found["compass"] == 18  # C3 to G5
    assert found["notes"] == 10
    assert found["held_notes"] == 0
    assert found["octaves"] == 0
    assert found["polyphony"] == pytest.approx(10 / 9)
    # C D, C E, D E, D F ... upwards to G F and back: two ahead within a beat of two quavers
    assert found["successions_busier"] == len(
        {(0, 1), (0, 2), (1, 2), (1, 3), (2, 3), (2, 4), (3, 4), (3, 3), (4, 3), (4, 2), (3, 2), (3, 1), (2, 1)}
    )  # fmt: skip


def test_a_metronome_mark_is_believed_in_part() -> None:
    text = "R: C5/1 D5/1 E5/1 F5/1; L: C3/4"
    slow, quick = values(text, tempo=42)["speed_busier"], values(text, tempo=168)["speed_busier"]
    assert quick / slow == pytest.approx(4**0.7)


def test_three_against_two_and_syncopation() -> None:
    found = values("R: C5/1/3 D5/1/3 E5/1/3 F5/1 r/2; L: C3/1/2 D3/1/2 E3/3", tempo=None)
    assert found["divisions"] == pytest.approx(log2(6) * (1 / 2 + 1 / 8 + 1 / 24) / 3)
    assert values("R: r/1/2 C5/1 D5/1 E5/1 F5/1/2; L: C3/4")["off_beat"] > 0
    assert values("R: C5/1 D5/1 E5/1 F5/1; L: C3/4")["off_beat"] == 0


def test_two_voices_span_and_travel() -> None:
    found = values("R: C4/4; R2: E4/1 F4/1 G4/1 F4/1; L: C3/4", tempo=None)
    assert found["held_notes"] == pytest.approx(3 * 7 / 20 * (1 / 2 + 1 / 8 + 1 / 24) / 3)
    jumping = values("R: C4/1 C6/1 C4/1 C6/1; L: C3/4")
    still = values("R: C4/1 D4/1 C4/1 D4/1; L: C3/4")
    assert jumping["travel_busier"] > still["travel_busier"] == 0
    assert values("R: C4+C5/4; L: C3/4", reach=16.0)["span"] > values("R: C4+C5/4; L: C3/4")["span"]


def test_notes_against_the_signature() -> None:
    # F sharp belongs to one sharp; B flat twice on one place counts once
    found = values("R: F#4/1 Bb4/1 Bb4/1 C5/1; L: C3/4", fifths=1)
    assert found["altered"] == pytest.approx((1 / 2 + 1 / 8 + 1 / 24) / 3)
    assert found["altered_share"] == pytest.approx(2 / 5)
    assert found["signature"] == 1


def test_entropy_and_complexity() -> None:
    assert entropy("aabb") == pytest.approx(1.0)
    assert entropy("") == 0.0
    assert lempel_ziv("aaaaaa") == 3  # a, aa, aaa
    assert lempel_ziv("abcdef") == 6


def test_the_table_is_whole() -> None:
    names = [d.name for d in DESCRIPTORS]
    assert len(set(names)) == len(names)
    assert {p.name for p in PARTS} == set(RISING)
    assert sum(p.weight for p in PARTS) == pytest.approx(1.0)
    assert all(d.title and d.source for d in DESCRIPTORS)
    assert descriptor("span").unit == "share of the reach"
    with pytest.raises(KeyError):
        descriptor("beauty")


def test_standings_run_from_first_year_to_concert() -> None:
    for part in PARTS:
        assert part.standing(part.first_year) == pytest.approx(0.0)
        assert part.standing(part.concert) == pytest.approx(1.0)
        assert part.value_at(part.standing(3.0)) == pytest.approx(3.0)


def test_hardness_keeps_order_and_middle() -> None:
    assert hardness(0.0) == 0.0
    assert hardness(0.5) == pytest.approx(0.5)
    assert hardness(1.0) == 1.0
    assert 0.1 < hardness(0.1) < hardness(0.2) < 0.5 < hardness(0.9) < 0.9


def test_a_profile_has_every_kind(demo: Callable[[str], Reading]) -> None:
    piece = demo("evening-ferry").piece
    whole, quick = measure_demands(Context(piece)), measure_demands(Context(piece), dear=False)
    names = {k.name for k in all_kinds()}
    assert whole.version == PROFILE_VERSION
    assert set(whole.kinds) == names
    assert set(quick.kinds) == names - DEAR
    assert all(whole.kinds[k] == quick.kinds[k] for k in quick.kinds)
    assert whole.descriptors == quick.descriptors
    for kind in whole.kinds.values():
        assert 0 <= kind.typical <= kind.hardest <= 1
        assert 0 <= kind.share <= 1
        assert all(0 <= b < len(piece.bars) for b in kind.bars)
        assert bool(kind.bars) == (kind.hardest > 0)


def test_the_demo_pieces_stand_in_their_order(demo: Callable[[str], Reading]) -> None:
    scores = [
        ungraded_score(measure_demands(Context(demo(name).piece), dear=False).descriptors)
        for name in ("paper-boat", "lamplighter", "evening-ferry")
    ]
    assert scores == sorted(scores)
    assert scores[0] < 15
    assert scores[-1] > 50


def test_silence_has_a_profile() -> None:
    silent = Context(replace(context("R: C4/4; L: r/4").piece, notes=()))
    found = measure_demands(silent)
    assert all(k.hardest == 0 and k.per_minute == 0 for k in found.kinds.values())
    assert found.descriptors["notes"] == 0
    assert ungraded_score(found.descriptors) < 0
