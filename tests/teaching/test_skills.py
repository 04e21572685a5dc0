"""Skills are what was played: the hardest, with where it comes from, overruled by the teacher alone."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.hands.hand import Hand, Hands
from passagework.teaching import stored
from passagework.teaching.skills import skill_values, skills_of
from passagework.teaching.student import Overrule, PieceStudied, Shown, Student, TakeHeard
from tests.teaching.make import KINDS, TODAY, demands, pieces_studied, students

FORM = "passagework.student/1"
PRELUDE = PieceStudied("p", "Prelude", demands({"leap": 0.6}), "secure", TODAY)


def test_nothing_known_says_so() -> None:
    skills = skills_of(Student("Ada"), TODAY)
    assert set(skills) == set(KINDS)
    assert all(s.value is None and s.confidence == 0 and not s.evidence for s in skills.values())
    assert skill_values(skills) == {}


def test_a_secure_piece_shows_its_hardest_places_and_a_fair_one_its_ordinary_ones() -> None:
    fair = replace(PRELUDE, result="ok", title="Study", demands=demands({"leap": 0.9}))
    skill = skills_of(Student("Ada", pieces=(PRELUDE, fair)), TODAY)["leap"]
    assert skill.value == 0.6
    assert [(e.title, e.value, e.bars) for e in skill.evidence] == [
        ("Prelude", 0.6, (4, 5)),
        ("Study", 0.45, ()),
    ]
    assert skill.confidence == pytest.approx(0.9)


def test_a_year_halves_how_sure_it_is_and_leaves_the_value() -> None:
    student = Student("Ada", pieces=(PRELUDE,))
    later = skills_of(student, TODAY + timedelta(days=365))["leap"]
    assert later.value == 0.6
    assert later.confidence == pytest.approx(0.45)


def test_two_pieces_are_surer_than_one() -> None:
    twice = Student("Ada", pieces=(PRELUDE, replace(PRELUDE, title="Song")))
    assert skills_of(twice, TODAY)["leap"].confidence == pytest.approx(1 - 0.1 * 0.1)


def test_what_was_as_hard_and_did_not_go_takes_from_the_confidence() -> None:
    failed = replace(PRELUDE, result="shaky", title="Song", when=TODAY)
    skill = skills_of(Student("Ada", pieces=(PRELUDE, failed)), TODAY)["leap"]
    assert skill.value == 0.6
    assert skill.confidence == pytest.approx(0.9 * 0.5)
    assert [e.title for e in skill.against] == ["Song"]
    harder = replace(failed, demands=demands({"leap": 0.7}))
    assert skills_of(Student("Ada", pieces=(PRELUDE, harder)), TODAY)["leap"].against == ()


def test_the_teachers_word_stands_and_what_came_after_is_shown_beside_it() -> None:
    word = Overrule("leap", 0.3, TODAY - timedelta(days=10), "only slowly")
    skill = skills_of(Student("Ada", pieces=(PRELUDE,), overrules=(word,)), TODAY)["leap"]
    assert (skill.value, skill.overruled) == (0.3, True)
    assert [e.title for e in skill.since] == ["Prelude"]
    assert skill.evidence[0].words == "your own word: only slowly"
    newer = Overrule("leap", 0.8, TODAY)
    both = Student("Ada", pieces=(PRELUDE,), overrules=(newer, word))
    assert skills_of(both, TODAY)["leap"].value == 0.8


def test_a_take_is_evidence_for_its_bars() -> None:
    take = TakeHeard("t", "p", "Song", TODAY, (1, 2, 3), (1, 2), (Shown("leap", 0.4, (2,)),))
    skill = skills_of(Student("Ada", takes=(take,)), TODAY)["leap"]
    assert (skill.value, skill.evidence[0].bars) == (0.4, (2,))
    assert skill.confidence == pytest.approx(0.8)


def test_the_future_is_no_evidence() -> None:
    assert (
        skills_of(Student("Ada", pieces=(PRELUDE,)), TODAY - timedelta(days=1))["leap"].value
        is None
    )


@given(students(), pieces_studied(), st.integers(0, 900))
def test_rules_of_skills(student: Student, more: PieceStudied, later: int) -> None:
    """Another piece never takes from a value; time takes only from how sure it is; every value has its evidence."""
    before = skills_of(student, TODAY)
    after = skills_of(replace(student, pieces=(*student.pieces, more)), TODAY)
    aged = skills_of(student, TODAY + timedelta(days=later))
    for kind in KINDS:
        skill = before[kind]
        assert 0.0 <= skill.confidence <= 1.0
        assert aged[kind].value == skill.value
        assert aged[kind].confidence <= skill.confidence + 1e-12
        if skill.value is None:
            assert not skill.evidence
        else:
            assert skill.value == skill.evidence[0].value
            assert after[kind].value is not None
            assert after[kind].value >= skill.value


@given(students())
def test_a_student_is_stored_whole(student: Student) -> None:
    text = json.dumps(stored.write(student, FORM))
    assert stored.read(json.loads(text), Student, FORM) == student


def test_the_weeks_minutes_are_shared_among_the_days() -> None:
    student = Student("Ada", weekly_minutes=100, practice_days=frozenset({0, 2, 5}))
    assert student.day_minutes == (34, 0, 33, 0, 0, 33, 0)
    assert Student("Ada", weekly_minutes=100).day_minutes == (0,) * 7


def test_the_smaller_hand_counts() -> None:
    assert Student("Ada", hands=Hands(Hand(19.0), Hand(18.0))).reach_cm == 18.0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"weekly_minutes": "many"}, "weekly_minutes should be a whole number"),
        ({"weekly_minutes": -5}, "cannot be practised"),
        ({"practice_days": [9]}, "weekdays count"),
        ({"age_band": "baby"}, "none of 'young-child'"),
        ({"name": None}, "name should be text"),
        ({"pieces": {"a": 1}}, "pieces should be a list"),
        ({"overrules": [{"kind": "leap", "value": 2, "when": "2026-01-01"}]}, "between 0 and 1"),
        ({"overrules": [{"kind": "leap", "value": 0.5, "when": "soon"}]}, "Invalid isoformat"),
        ({"overrules": [{"kind": "leap", "value": float("nan"), "when": "2026-01-01"}]}, "a number"),
        ({"format": "passagework.student/9"}, "not a passagework.student/1"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_student_is_refused_in_one_line(
    change: dict[str, object], says: str
) -> None:
    data = stored.write(Student("Ada"), FORM) | change
    with pytest.raises(stored.StoredError, match=says) as caught:
        stored.read(data, Student, FORM)
    assert "\n" not in str(caught.value)


def test_dates_are_compared_as_days() -> None:
    assert skills_of(Student("Ada", pieces=(PRELUDE,)), date(2026, 3, 2))["leap"].known


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(students(), st.sampled_from([f.name for f in fields(Student)]), anything)
def test_whatever_stands_in_a_file_is_read_or_refused(
    student: Student, name: str, value: object
) -> None:
    data = stored.write(student, FORM) | {name: value}
    try:
        read = stored.read(data, Student, FORM)
    except stored.StoredError:  # and nothing else
        return
    assert isinstance(read, Student)
