"""What a take changes: secure bars, skills shown, and what comes back sooner."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.demands.measure import measure_demands
from passagework.listening.alignment import Alignment, Match, Pass
from passagework.listening.finding import Finding
from passagework.listening.heard import Heard
from passagework.listening.take import PlayedNote, Take
from passagework.score import Reading
from passagework.spots.context import Context
from passagework.spots.spot import Candidate, Evidence
from passagework.teaching.heard import PlayedBar, hear, results_of, shown
from passagework.teaching.plan import plan_all, replan
from passagework.teaching.progress import ItemState, advance
from passagework.teaching.student import FindingHeard, Student, TakeHeard
from tests.teaching.make import TODAY, demands
from tests.teaching.make_work import piece, spot

ADA = Student("Ada", "teenager", weekly_minutes=200, practice_days=frozenset(range(5)))


@pytest.mark.parametrize(
    ("row", "secure"),
    [
        (PlayedBar(1, True, 0.95, True, True), True),
        (PlayedBar(1, True, 0.85, True, True), False),
        (PlayedBar(1, True, 0.85, False, True), True),
        (PlayedBar(1, False, 1.0, True, True), False),
        (PlayedBar(1, True, 1.0, True, False), False),
        (PlayedBar(1, True, None, True, True), False),
    ],
)
def test_a_secure_bar(row: PlayedBar, secure: bool) -> None:
    assert row.secure is secure


def played(reading: Reading, speed: float = 1.0) -> Heard:
    """The piece played as written at a share of its tempo, aligned as it is known to be."""
    context = Context(reading.piece)
    notes = [n for n in reading.piece.notes if n.duration and n.printed]
    strokes = [
        PlayedNote(
            context.seconds(n.onset) / speed,
            (context.seconds(n.end) - context.seconds(n.onset)) / speed,
            n.midi,
            64,
        )
        for n in notes
    ]
    order = sorted(range(len(notes)), key=lambda i: (strokes[i].onset, strokes[i].pitch))
    take = Take(tuple(strokes[i] for i in order))
    matches = tuple(Match(notes[i].id, at, 0) for at, i in enumerate(order))
    way = Pass(notes[0].bar, notes[-1].bar, 0.0, take.length)
    return Heard(context, take, Alignment(matches, (), (), (), (way,), 1.0))


def finding(first: int, last: int, weight: float, **more: object) -> Finding:
    values: dict[str, object] = {
        "kind": "hesitation", "first_bar": first, "last_bar": last, "hand": "both", "note_ids": (),
        "measure": (Evidence("wait", 1.0, "s"),), "reason": "", "advice": "", "confidence": 0.9,
        "weight": weight, "runs": (0,),
    }  # fmt: skip
    return Finding(**(values | more))  # type: ignore[arg-type]


def test_a_clean_take_at_tempo_is_secure_but_for_the_bar_with_the_finding(
    demo: Callable[[str], Reading],
) -> None:
    reading = demo("paper-boat")
    heard = played(reading)
    asked = measure_demands(heard.context)
    rows = (finding(3, 4, 0.5), finding(7, 7, 0.05), finding(8, 8, 0.5, confidence=0.2))
    take = hear("t", "p", "Paper Boat", TODAY, heard, rows, asked)
    bars = set(range(len(reading.piece.bars)))
    assert set(take.played) == bars
    assert {3, 4} & set(take.secure) == set()
    assert {7, 8} <= set(take.secure)
    assert len(take.secure) >= len(bars) - 4  # the last bars may be too short to tell their tempo
    assert take.tempo_share == pytest.approx(1.0, abs=0.02)
    assert [f.first_bar for f in take.findings] == [3]
    for row in take.shown:
        assert 0 < row.value <= asked.kinds[row.kind].hardest
        assert set(row.bars) <= set(take.secure)


def test_a_slow_take_is_not_secure(demo: Callable[[str], Reading]) -> None:
    heard = played(demo("paper-boat"), speed=0.5)
    take = hear("t", "p", "Paper Boat", TODAY, heard, (), measure_demands(heard.context))
    assert (take.secure, take.shown) == ((), ())
    assert take.tempo_share == pytest.approx(0.5, abs=0.02)


def test_a_take_of_another_piece_says_nothing(demo: Callable[[str], Reading]) -> None:
    heard = played(demo("paper-boat"))
    other = Heard(heard.context, heard.take, replace(heard.alignment, fit=0.2))
    take = hear("t", "p", "Paper Boat", TODAY, other, (), demands({"leap": 0.5}))
    assert (take.played, take.secure, take.shown) == ((), (), ())


def test_what_secure_bars_show() -> None:
    asked = demands({"leap": 0.6}, (4, 7))
    assert [(s.value, s.bars) for s in shown(frozenset({4}), asked)] == [(0.6, (4,))]
    assert [(s.value, s.bars) for s in shown(frozenset({7}), asked)] == [(0.3, (7,))]
    assert shown(frozenset({1, 2}), asked) == ()
    hard = Candidate(4, 5, "left", ("n1",), 0.5)
    easy = Candidate(7, 7, "left", ("n2",), 0.5)
    both = {"leap": (hard, easy)}
    assert [(s.value, s.bars) for s in shown(frozenset({4, 7}), asked, both)] == [(0.5, (7,))]
    assert shown(frozenset({4}), asked, both) == ()


@given(st.frozensets(st.integers(0, 20)), st.frozensets(st.integers(0, 20)))
def test_more_secure_bars_never_show_less(some: frozenset[int], more: frozenset[int]) -> None:
    asked = demands({"leap": 0.6, "stretch": 0.4}, (4, 7, 9))
    before = {s.kind: s.value for s in shown(some, asked)}
    after = {s.kind: s.value for s in shown(some | more, asked)}
    assert all(after[kind] >= value for kind, value in before.items())


def take(findings: tuple[FindingHeard, ...], secure: range | tuple[int, ...]) -> TakeHeard:
    return TakeHeard("t", "p1", "Piece", TODAY, tuple(range(24)), tuple(secure), (), findings)


def test_what_the_plan_is_told() -> None:
    work = piece(spots=(spot("s1", (9, 10), 0.8), spot("s2", (2,), 0.5, "stretch")))
    plan = plan_all([work], ADA, {}, TODAY)
    slip = FindingHeard("wrong-notes", 9, 9, 0.2, ("leap",))
    secure = tuple(b for b in range(24) if b != 9)
    went = {r.item: r.well for r in results_of(take((slip,), secure), plan.items, {})}
    assert went["p1/spot/s1"] is False
    assert went["p1/spot/s2"] is True
    assert went["p1/section/0/tempo"] is True
    assert "p1/section/0/memory" not in went
    assert not [name for name in went if name.startswith("p1/section/1")]  # one slip in eight bars
    stop = FindingHeard("stops", 9, 9, 0.6)
    begun = {"p1/section/1/hands": ItemState("p1/section/1/hands", begun=TODAY, last=TODAY)}
    went = {r.item: r.well for r in results_of(take((stop,), secure), plan.items, begun)}
    assert {n: w for n, w in went.items() if "/section/1/" in n} == {"p1/section/1/hands": False}
    other = FindingHeard("pedal", 2, 2, 0.5, ("harmony",))
    went = {r.item: r.well for r in results_of(take((other,), range(24)), plan.items, {})}
    assert "p1/spot/s2" in went  # the finding is not of its kind
    assert results_of(replace(take((), range(24)), piece_id="p9"), plan.items, {}) == ()


@pytest.mark.parametrize("after", range(8, 36, 3))
def test_what_went_wrong_comes_back_before_what_went_right(after: int) -> None:
    work = piece(weeks=12, spots=(spot("s1", (9, 10), 0.8),))
    plan = plan_all([work], ADA, {}, TODAY)
    today = TODAY + timedelta(days=after)
    states = advance(plan.states, plan.sessions, today)
    bad = replace(take((FindingHeard("stops", 9, 9, 0.6),), ()), when=today)
    good = replace(take((), range(24)), when=today)

    def next_day(heard: TakeHeard) -> int:
        again = replan(plan, ADA, {}, today, results=results_of(heard, plan.items, states))
        days = [s.day for s in again.sessions if s.item == "p1/spot/s1"]
        return (days[0] - today).days

    assert next_day(bad) <= 2  # the next practice day at the latest: Monday after a Saturday
    assert next_day(bad) <= next_day(good)
    assert states["p1/spot/s1"].begun is not None
