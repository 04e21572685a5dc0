"""Students, studies, lessons, takes, plans, edits: what is written is read, what cannot be is refused in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from passagework.hands.hand import Hand, Hands
from passagework.score import Reading
from passagework.studio.errors import NotFoundError, StudioError
from passagework.studio.facts import facts_of, piece_facts
from passagework.studio.records import (
    LessonDetails,
    StudentDetails,
    StudyDetails,
    TakeDetails,
)
from passagework.studio.studio import Studio
from tests.conftest import DEMO
from tests.studio.conftest import Clock
from tests.studio.filling import HANDS, add_piece, add_student, fill

texts = st.text(max_size=40)
spans = st.floats(10.0, 32.0)
hand = st.builds(
    Hand,
    spans,
    st.none(),
    st.lists(st.tuples(st.just(2), st.just(5), st.floats(1, 20)), max_size=1).map(tuple),
    st.frozensets(st.integers(1, 5)),
    st.frozensets(st.integers(1, 5), max_size=4),
)
details = st.builds(
    StudentDetails,
    name=st.text("abc é漢", min_size=1, max_size=30).filter(str.strip),
    age_band=st.sampled_from(["", "child", "adult"]),
    hands=st.none() | st.builds(Hands, hand, hand),
    weekly_minutes=st.none() | st.integers(0, 4200),
    practice_days=st.frozensets(st.integers(0, 6)).map(lambda d: tuple(sorted(d))),
    lesson_weekday=st.none() | st.integers(0, 6),
    lesson_time=st.none() | st.times().map(lambda t: time(t.hour, t.minute)),
    lesson_minutes=st.none() | st.integers(1, 600),
    notes=texts,
)


@given(details, details)
@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_a_student_is_read_as_written(
    studio: Studio, first: StudentDetails, second: StudentDetails
) -> None:
    added = studio.students.add(first)
    done = studio.students.change(added.id, second)
    changed = done.value
    if done.undo:  # empty where nothing was changed
        studio.undo.undo(done.undo)
    for record, wanted in (
        (added, first),
        (changed, second),
        (studio.students.get(added.id), first),
    ):
        assert record.hands == wanted.hands
        assert record.name == " ".join(wanted.name.split())
        for name in (
            "weekly_minutes",
            "practice_days",
            "lesson_weekday",
            "lesson_time",
            "age_band",
        ):
            assert getattr(record, name) == getattr(wanted, name)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": "  "}, "name is missing"),
        ({"name": "x" * 121}, "longer than 120"),
        ({"weekly_minutes": -1}, "between 0 and 4200 minutes"),
        ({"weekly_minutes": 10**9}, "between 0 and 4200 minutes"),
        ({"practice_days": (7,)}, "weekday is 7"),
        ({"lesson_weekday": -1}, "weekday is -1"),
        ({"lesson_minutes": 0}, "between 1 and 600"),
        ({"age_band": "ancient"}, "age band is 'ancient'.*can be.*teenager"),
        ({"notes": "x" * 20_001}, "longer than 20000"),
    ],
)
def test_students_that_cannot_be(studio: Studio, wrong: dict[str, object], says: str) -> None:
    with pytest.raises(StudioError, match=says):
        add_student(studio, **{"name": "Ida", **wrong})  # type: ignore[arg-type]
    assert studio.students.all() == ()


def test_students_are_listed_by_name_and_put_away(studio: Studio) -> None:
    for name in ("Zoe", "anna", "Ben"):
        add_student(studio, name)
    assert [s.name for s in studio.students.all()] == ["anna", "Ben", "Zoe"]
    anna = studio.students.all()[0]
    done = studio.students.archive(anna.id)
    assert [s.name for s in studio.students.all()] == ["Ben", "Zoe"]
    assert [s.name for s in studio.students.all(archived=True)] == ["anna"]
    studio.undo.undo(done.undo)
    assert len(studio.students.all()) == 3


@pytest.mark.parametrize("number", [0, -1, 10**6, 2**31, 2**63, 2**200])
def test_numbers_of_nobody(studio: Studio, number: int) -> None:
    asked = (
        studio.students.get, studio.pieces.get, studio.pieces.score, studio.pieces.delete, studio.pieces.restore,
        studio.studies.get, studio.lessons.get, studio.takes.get, studio.takes.file, studio.plans.get,
        studio.edits.get, studio.edits.delete,
    )  # fmt: skip
    for ask in asked:
        with pytest.raises(NotFoundError):
            ask(number)
    with pytest.raises(NotFoundError):
        studio.edits.put(number, "own-note", "a", {})


def test_one_measured_hand_stands_for_both(studio: Studio) -> None:
    from passagework.studio.rows import hands_of

    assert hands_of(None, 17.0, None) == Hands.alike(Hand(17.0))
    assert hands_of(None, None, None) is None
    assert add_student(studio).hands == HANDS


def test_studies(studio: Studio) -> None:
    student, piece = add_student(studio), add_piece(studio)
    done = studio.studies.add(
        StudyDetails(student_id=student.id, piece_id=piece.id, since=date(2026, 1, 5))
    )
    later = studio.studies.add(
        StudyDetails(student_id=student.id, piece_id=piece.id, since=date(2026, 2, 5))
    )
    assert [s.id for s in studio.studies.of_student(student.id)] == [later.value.id, done.value.id]
    assert studio.studies.of_piece(piece.id) == studio.studies.all()
    finished = replace(done.value, status="finished", result="secure", result_on=date(2026, 3, 1))
    changed = studio.studies.change(done.value.id, finished).value
    assert (changed.status, changed.result, changed.piece_title) == (
        "finished",
        "secure",
        "Paper Boat",
    )
    for wrong in ({"status": "done"}, {"result": "great"}):
        with pytest.raises(StudioError, match="can be"):
            studio.studies.change(done.value.id, replace(finished, **wrong))  # type: ignore[arg-type]
    studio.studies.delete(later.value.id)
    assert len(studio.studies.all()) == 1


def test_plans_keep_every_version(studio: Studio, clock: Clock) -> None:
    student, piece = add_student(studio), add_piece(studio)
    for number in range(3):
        clock.move(days=1)
        done = studio.plans.add(student.id, piece.id, {"n": number}, f"reason {number}")
    studio.plans.add(student.id, None, {"n": "all"})
    latest = studio.plans.latest(student.id, piece.id)
    assert latest is not None
    assert (latest.version, latest.body, latest.reason) == (3, {"n": 2}, "reason 2")
    assert [p.version for p in studio.plans.versions(student.id, piece.id)] == [3, 2, 1]
    assert {p.piece_id for p in studio.plans.all_latest(student.id)} == {piece.id, None}
    studio.undo.undo(done.undo)
    latest = studio.plans.latest(student.id, piece.id)
    assert latest is not None
    assert latest.version == 2


def test_payloads_that_cannot_be_stored(studio: Studio) -> None:
    student, piece = add_student(studio), add_piece(studio)
    deep: list[object] = []
    for _ in range(100):
        deep = [deep]
    for body in ({"x": float("nan")}, {"x": {1, 2}}, {"x": deep}, {"x": "y" * 5_000_000}):
        with pytest.raises(StudioError):
            studio.plans.add(student.id, piece.id, body)
        with pytest.raises(StudioError):
            studio.edits.put(piece.id, "own-note", "a", body)
    assert studio.plans.versions(student.id, piece.id) == ()


def test_edits_for_all_and_for_one(studio: Studio) -> None:
    ida, jonas, piece = add_student(studio, "Ida"), add_student(studio, "Jonas"), add_piece(studio)
    studio.edits.put(piece.id, "fixed-finger", "n1", {"finger": 2}, student_id=ida.id)
    studio.edits.put(piece.id, "fixed-finger", "n1", {"finger": 1})
    studio.edits.put(piece.id, "fixed-finger", "n1", {"finger": 3}, student_id=jonas.id)

    def fingers(student_id: int | None) -> list[int]:
        return [e.payload["finger"] for e in studio.edits.of_piece(piece.id, student_id)]

    assert fingers(None) == [1]
    assert fingers(ida.id) == [1, 2]  # the student's own comes last, and so has the last word
    assert fingers(jonas.id) == [1, 3]
    studio.edits.put(piece.id, "fixed-finger", "n1", {"finger": 5}, student_id=ida.id, bar=7)
    assert fingers(ida.id) == [1, 5]
    everything = tuple(e.id for e in studio.edits.of_piece(piece.id, ida.id))
    gone = studio.edits.delete_many(everything)
    assert fingers(ida.id) == []
    studio.undo.undo(gone.undo)
    assert fingers(ida.id) == [1, 5]


def test_takes(studio: Studio) -> None:
    student, piece, other = add_student(studio), add_piece(studio), add_piece(studio, "Rain")
    when = datetime(2026, 2, 1, 12, tzinfo=UTC)
    take = studio.takes.add(
        b"sound",
        TakeDetails(
            student_id=student.id,
            piece_id=piece.id,
            kind="recording",
            recorded_at=when,
            file_name="C:\\home\\my take.wav",
            media_type="audio/wav",
        ),
    ).value
    assert (take.file_name, take.recorded_at, take.size) == ("my take.wav", when, 5)
    assert [t.id for t in studio.takes.waiting()] == [take.id]
    studio.takes.set_result(take.id, "measured", {"n": 3}, {"alignment": []}, 2)
    assert studio.takes.waiting() == ()
    assert studio.takes.result(take.id) == studio.takes.result(take.id, 2) == {"alignment": []}
    assert studio.takes.result(take.id, 1) is None
    assert [t.id for t in studio.takes.to_hear()] == [take.id]
    studio.takes.heard(take.id)
    assert studio.takes.to_hear() == ()
    # Said to be another piece: it has to be listened to again.
    moved = studio.takes.change(take.id, replace(take, piece_id=other.id)).value
    assert (moved.status, moved.summary, moved.piece_title) == ("waiting", {}, "Rain")
    assert studio.takes.result(take.id) is None
    for data, wrong in (
        (b"", {}),
        (b"x", {"kind": "film"}),
        (b"x", {"recorded_at": datetime(2026, 1, 1)}),
    ):
        with pytest.raises(StudioError):
            studio.takes.add(
                data, replace(TakeDetails(student_id=student.id, kind="midi"), **wrong)
            )  # type: ignore[arg-type]
    earlier = studio.takes.add(
        b"z", TakeDetails(student_id=student.id, kind="midi", recorded_at=when - timedelta(days=1))
    ).value
    assert [t.id for t in studio.takes.of_student(student.id)] == [take.id, earlier.id]
    assert [t.id for t in studio.takes.of_student(student.id, other.id)] == [take.id]
    assert len(studio.takes.of_student(student.id, limit=1)) == 1


def test_a_day(studio: Studio) -> None:
    """Monday 2 March 2026: two come by their weekday, one by a lesson that was moved to it."""
    ida, jonas = fill(studio)[0], studio.students.all()[1]
    late = add_student(studio, "Late", lesson_time=time(18, 0))
    moved = add_student(studio, "Moved", lesson_weekday=3)
    away = add_student(studio, "Away")
    studio.students.archive(away.id)
    studio.lessons.add(LessonDetails(student_id=moved.id, on=date(2026, 3, 2), at=time(9, 0)))
    never = add_student(studio, "Other day", lesson_weekday=4)
    studio.takes.add(b"x", TakeDetails(student_id=never.id, kind="midi"))
    day = studio.day(date(2026, 3, 2))
    assert [(e.student.name, e.at) for e in day.entries] == [
        ("Moved", time(9, 0)),
        ("Ida", time(15, 30)),
        ("Jonas", time(15, 30)),
        ("Late", time(18, 0)),
    ]
    entry = day.entries[1]
    assert entry.lesson is None
    assert entry.last_lesson is not None
    assert entry.last_lesson.promised == "Ida brings the pedal"
    assert [t.student_id for t in entry.to_hear] == [ida.id]
    assert [s.piece_title for s in entry.studies] == ["The Boat"]
    assert day.entries[0].lesson is not None
    assert [t.student_name for t in day.others_to_hear] == ["Other day"]
    assert {p.student_id for p in day.performances} == {ida.id, jonas.id}
    assert studio.day(date(2026, 3, 21)).performances == ()
    assert studio.day(date.max).entries is not None
    assert late.id


def test_facts_are_computed_from_the_score() -> None:
    facts = piece_facts((DEMO / "evening-ferry.musicxml").read_bytes(), "evening-ferry.musicxml")
    assert (facts.title, facts.metre, facts.bars) == ("Evening Ferry", "3/4", 62)
    assert facts.lowest is not None
    assert facts.highest is not None
    assert 21 <= facts.lowest < facts.highest <= 108
    assert facts.minutes is not None
    assert 1 < facts.minutes < 5


def test_real_scores_have_facts(real: object, data: object) -> None:
    from passagework.score.piece import Piece
    from tests.conftest import real_scores

    assert callable(real)
    assert data
    for path in real_scores()[::7]:
        piece = real(path.stem)
        assert isinstance(piece, Piece)
        facts = facts_of(Reading(None, piece))  # type: ignore[arg-type]  # the notation is not looked at
        assert facts.bars > 0
        assert facts.notes == len(piece.notes)
        assert facts.key.split()[-1] in ("major", "minor")


def test_a_file_that_is_no_score_is_refused_in_its_own_words(studio: Studio) -> None:
    with pytest.raises(StudioError, match=r"letter\.xml: "):
        studio.pieces.add(b"<letter>Dear Sir</letter>", "letter.xml")
    assert studio.pieces.all() == ()
    assert studio.summary().score_bytes == 0


def test_a_score_is_kept_as_it_was_brought(studio: Studio) -> None:
    data = (DEMO / "paper-boat.musicxml").read_bytes()
    added = studio.pieces.add(data, "../../paper-boat.musicxml")
    assert (added.piece.file_name, added.known) == ("paper-boat.musicxml", False)
    assert studio.pieces.score(added.piece.id) == data
    again = studio.pieces.add(data, "copy.musicxml")
    assert (again.known, again.undo, again.piece.id) == (True, "", added.piece.id)
    studio.undo.undo(added.undo)
    assert studio.pieces.all() == ()
    back = studio.pieces.add(data, "copy.musicxml")
    assert (back.known, back.piece.id) == (False, added.piece.id)
