"""What is said about time: on takes made by hand with numbers worked out, on simulated ones, and on concert performances."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.listening.finding import Finding
from passagework.listening.findings import (
    evenness,
    hands_together,
    hesitation,
    polyrhythm,
    proportions,
    rushing,
    stops,
    tempo,
)
from passagework.listening.heard import Heard
from passagework.listening.simulate import faults as f
from passagework.listening.simulate import play
from passagework.score import Piece, Reading
from passagework.score.piece import Note
from passagework.spots.context import Context
from tests.listening.hand_made import heard, steady
from tests.listening.truth import concert, concert_takes
from tests.spots.build import context

KINDS = [
    k.KIND
    for k in (hesitation, stops, tempo, rushing, proportions, polyrhythm, hands_together, evenness)
]
BARS = 12
WALK = ["C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/2 F5/1/2 E5/1/2 D5/1/2"]
EVEN = "R: " + " | ".join(WALK * BARS) + "; L: " + " | ".join(["C3/1 G3/1 E3/1 G3/1"] * BARS)
TRIPLETS = (
    "R: "
    + " | ".join(["C5/1/3 D5/1/3 E5/1/3 F5/1/3 E5/1/3 D5/1/3"] * BARS)
    + "; L: "
    + " | ".join(["C3/1 G3/1"] * BARS)
)
CROSS = (
    "R: "
    + " | ".join(["C5/1/3 D5/1/3 E5/1/3 F5/1/3 E5/1/3 D5/1/3"] * BARS)
    + "; L: "
    + " | ".join(["C3/1/2 G3/1/2 E3/1/2 G3/1/2"] * BARS)
)
RUNS = "R: " + " | ".join(
    ["C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/1/4 A5/1/4 G5/1/4 F5/1/4"] * BARS
) + "; L: " + " | ".join(["C3/2"] * BARS)  # fmt: skip


def _all(listened: Heard) -> list[Finding]:
    return [found for kind in KINDS for found in kind.find(listened)]


def _measured(finding: Finding, name: str) -> float:
    return float(next(e.value for e in finding.measure if e.name == name))


def _human(seed: int, sd: float = 0.008) -> Callable[[Note], float]:
    """The jitter of a good pianist, the same for the same note."""
    rng = np.random.default_rng(seed)
    known: dict[str, float] = {}
    return lambda note: known.setdefault(note.id, float(rng.normal(0.0, sd)))


@pytest.mark.parametrize("text", [EVEN, TRIPLETS, CROSS, RUNS])
def test_nothing_is_said_about_good_playing(text: str) -> None:
    time = "4/4" if text == EVEN else "2/4"
    music, jitter = context(text, time=time), _human(1)
    listened = heard(music, lambda n: steady(84)(n) + jitter(n))
    assert _all(listened) == []


def test_rubato_with_both_hands_is_no_fault() -> None:
    jitter = _human(2)

    def when(note: Note) -> float:  # tempo swings by 12 per cent over every four bars
        x = float(note.onset)
        return 1.0 + 0.7 * (x + 0.12 * 16 / (2 * np.pi) * np.sin(2 * np.pi * x / 16)) + jitter(note)

    assert _all(heard(context(EVEN), when)) == []


def test_a_pause_is_told_with_its_length_and_its_place() -> None:
    listened = heard(context(EVEN), lambda n: steady(80)(n) + (0.9 if n.onset >= 22 else 0.0))
    (found,) = _all(listened)
    assert (found.kind, found.first_bar, found.last_bar) == ("hesitation", 5, 5)
    assert _measured(found, "pause") == pytest.approx(0.9, abs=0.02)
    assert _measured(found, "pause in beats") == pytest.approx(0.9 / 0.75, abs=0.03)
    assert "beat 3 of bar 6" in found.reason


def test_a_pause_in_both_passes_is_one_finding_that_weighs_more() -> None:
    def pausing(start: float) -> Callable[[Note], float]:
        return lambda n: start + steady(80)(n) + (0.9 if n.onset >= 22 else 0.0)

    once = next(iter(hesitation.find(heard(context(EVEN), pausing(0)))))
    (twice,) = hesitation.find(heard(context(EVEN), [pausing(0), pausing(60)]))
    assert twice.runs == (0, 1)
    assert twice.weight > once.weight
    assert "twice" in twice.reason


def test_the_pause_names_what_stands_there() -> None:
    leap = EVEN.replace("C3/1 G3/1 E3/1 G3/1", "C3/1 G3/1 C1/1 G3/1")
    listened = heard(context(leap), lambda n: steady(120)(n) + (0.9 if n.onset >= 22 else 0.0))
    (found,) = hesitation.find(listened)
    assert found.spot_kinds[0] == "leap"
    assert "leap" in found.reason


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 2), st.sampled_from([-0.1, 0.1, 0.13]), st.integers(0, 1000))
def test_triplet_shares_are_told_within_three_points(member: int, off: float, seed: int) -> None:
    shares = [1 / 3 - off / 2] * 3
    shares[member] = 1 / 3 + off
    places = [0.0, shares[0], shares[0] + shares[1]]
    jitter = _human(seed)

    def when(note: Note) -> float:
        beat, part = divmod(note.onset, 1)
        place = places[int(part * 3)] if 4 <= note.bar <= 8 else float(part)
        return 1.0 + 0.7 * (int(beat) + place) + jitter(note)

    found = list(proportions.find(heard(context(TRIPLETS, time="2/4"), when)))
    assert len(found) == 1
    assert found[0].hand == "right"
    assert abs(found[0].first_bar - 4) <= 1
    assert abs(found[0].last_bar - 8) <= 1
    names = ("share of the first note", "share of the second note", "share of the last note")
    for name, share in zip(names, shares, strict=True):
        assert _measured(found[0], name) == pytest.approx(100 * share, abs=3.0)


def test_three_against_two_is_its_own_kind() -> None:
    jitter = _human(3)

    def when(note: Note) -> float:  # the second of the two comes at 62 per cent of the beat
        late = 0.12 if note.hand == "left" and note.onset % 1 == 0.5 else 0.0
        return 1.0 + 0.8 * (float(note.onset) + late) + jitter(note)

    found = [x for x in _all(heard(context(CROSS, time="2/4"), when)) if x.kind != "evenness"]
    assert [x.kind for x in found] == ["polyrhythm"]
    assert found[0].hand == "left"
    assert _measured(found[0], "place of the second of two") == pytest.approx(62, abs=2)


@pytest.mark.parametrize(("ms", "leader"), [(80.0, "right"), (-80.0, "left")])
def test_hands_apart(ms: float, leader: str) -> None:
    jitter = _human(4)

    def when(note: Note) -> float:
        late = ms / 1000 if note.hand == "left" and 3 <= note.bar <= 7 else 0.0
        return steady(84)(note) + late + jitter(note)

    (found,) = hands_together.find(heard(context(EVEN), when))
    assert (found.first_bar, found.last_bar) == (3, 7)
    assert _measured(found, "asynchrony, left less right") == pytest.approx(ms, abs=8)
    assert f"the {leader} hand comes first" in found.reason


def test_a_melody_that_leads_a_little_is_no_fault() -> None:
    jitter = _human(5)
    music = context(EVEN)
    when = lambda n: steady(84)(n) + (0.03 if n.hand == "left" else 0.0) + jitter(n)  # noqa: E731
    assert list(hands_together.find(heard(music, when))) == []


def test_uneven_runs_and_their_numbers() -> None:
    steadily, wild = _human(6, 0.008), _human(7, 0.035)

    def when(note: Note) -> float:
        own = wild if note.hand == "right" and 4 <= note.bar <= 8 else steadily
        return steady(84)(note) + own(note)

    (found,) = evenness.find(heard(context(RUNS, time="2/4"), when))
    assert found.hand == "right"
    assert abs(found.first_bar - 4) <= 1
    assert abs(found.last_bar - 8) <= 1
    assert _measured(found, "lag of a stroke, standard deviation") == pytest.approx(35, abs=9)


def test_a_stretch_that_rushes_and_one_that_drags() -> None:
    def bent(factor: float) -> Callable[[Note], float]:
        def when(note: Note) -> float:
            x = float(note.onset)
            inside = min(max(x - 16.0, 0.0), 16.0)
            return 1.0 + 0.7 * (x - inside + inside / factor)

        return when

    (fast,) = rushing.find(heard(context(EVEN), bent(1.25)))
    assert (fast.first_bar, fast.last_bar) == (4, 7)
    assert _measured(fast, "tempo above the bars around") == pytest.approx(25, abs=3)
    (slow,) = (x for x in tempo.find(heard(context(EVEN), bent(0.75))) if x.last_bar < BARS - 1)
    assert abs(slow.first_bar - 4) <= 1
    assert abs(slow.last_bar - 7) <= 1


def test_drift_over_the_whole_piece() -> None:
    long = "R: " + " | ".join(WALK * 40)

    def when(note: Note) -> float:  # 20 per cent faster at the end, little by little
        x = float(note.onset)
        return 1.0 + 0.7 * (x - 0.167 * x * x / (2 * 160))

    found = [x for x in tempo.find(heard(context(long), when)) if "all the way" in x.reason]
    assert len(found) == 1
    assert _measured(found[0], "change of tempo from beginning to end") == pytest.approx(18, abs=4)


def test_a_repeat_is_no_stop_and_a_restart_is_one(demo: Callable[[str], Reading]) -> None:
    music = Context(demo("lamplighter").piece)
    whole = play(music, seed=3)
    assert list(stops.find(Heard(music, whole.take, whole.truth.alignment))) == []
    torn = play(music, seed=3, faults=[f.Restart(9, back=2, times=2)])
    (found,) = stops.find(Heard(music, torn.take, torn.truth.alignment))
    assert found.first_bar in (8, 9)
    assert _measured(found, "times") == 2


def test_every_finding_keeps_its_promises(demo: Callable[[str], Reading]) -> None:
    music = Context(demo("evening-ferry").piece)
    asked = [f.Hesitation(music.piece.notes_of_bar[22][0].id, 1.2), f.HandsApart(45, 52, 80.0),
             f.Proportion(4, 11, "left", "pair", 0, 12.0), f.Restart(30)]  # fmt: skip
    made = play(music, seed=4, faults=asked)
    found = _all(Heard(music, made.take, made.truth.alignment))
    assert {"hesitation", "hands-together", "proportions", "stops"} <= {x.kind for x in found}
    last = len(music.piece.bars) - 1
    for finding in found:
        assert finding.measure
        assert 0 <= finding.first_bar <= finding.last_bar <= last
        assert 0.0 <= finding.weight <= 1.0
        assert 0.0 <= finding.confidence <= 1.0
        assert set(finding.note_ids) <= set(music.piece.by_id)
        assert finding.reason.endswith(".")
        assert "!" not in finding.reason + finding.advice


def test_a_take_of_three_notes_says_nothing() -> None:
    assert _all(heard(context("R: C5/1 D5/1 E5/1 r/1"), steady(60))) == []


def test_concert_performances_count_as_clean(data: Path, real: Callable[[str], Piece]) -> None:
    bars = false = 0
    for name in ("bach-fugue-848", "mozart-sonata-12-2"):
        music = Context(real(name))
        for path in concert_takes(data, name):
            known = concert(path, music.piece)
            bars += sum(p.last_bar - p.first_bar + 1 for p in known.alignment.passes)
            false += len(_all(Heard(music, known.take, known.alignment)))
    assert 50 * false / bars < 1.0
