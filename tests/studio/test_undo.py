"""Every change can be taken back, the taking back too; nothing else is touched by it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import count
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule
from hypothesis.stateful import run_state_machine_as_test as run_machine

from passagework.studio.errors import ConflictError, NotFoundError
from passagework.studio.piece_records import (
    Background,
    Edition,
    PieceDetails,
    PieceFacts,
    PieceLevel,
    PieceQuery,
)
from passagework.studio.records import LessonDetails, StudentDetails, StudyDetails, TakeDetails
from passagework.studio.studio import Studio
from tests.studio.filling import DETAILS, add_piece, add_student, fill

NUMBERS = count()

short = st.text(st.characters(codec="utf-8", exclude_categories=("Cc",)), max_size=8)
words = st.sampled_from(["a", "b", "c", "d"])
payloads = st.dictionaries(words, st.integers() | short | st.none(), max_size=3)


def bare(record: Any) -> Any:
    """A record without the moment of its last change, which taking back moves on."""
    return replace(record, changed_at=None)


class Changes(RuleBasedStateMachine):
    """Changes of all kinds to a piece and a student; after each, the step before is known."""

    studio: Studio

    @initialize()
    def begin(self) -> None:
        self.mark = next(NUMBERS)
        self.student = add_student(self.studio, f"Student {self.mark}")
        self.piece = add_piece(self.studio, f"Piece {self.mark}")
        self.history: list[tuple[Any, str]] = []
        """(what was seen before, token) of every change."""

    def seen(self) -> Any:
        """Everything that a page could show of the two."""
        studio, piece, student = self.studio, self.piece.id, self.student.id
        found = [p for p in studio.pieces.all() if p.id == piece]
        words = f"piece {self.mark}"
        return (
            [bare(p) for p in found],
            [p.id for p in studio.library.search(PieceQuery(text=words)).pieces if p.id == piece],
            [
                replace(level, id=0)
                for level in studio.levels.lists()
                if level.name.startswith(f"{self.mark}:")
            ],
            bare(studio.students.get(student)),
            [bare(s) for s in studio.studies.of_student(student)],
            [bare(lesson) for lesson in studio.lessons.of_student(student)],
            [bare(t) for t in studio.takes.of_student(student)],
            studio.plans.versions(student, piece),
            [bare(e) for e in studio.edits.of_piece(piece, student)],
            [bare(s) for s in studio.skills.of_student(student)],
            studio.settings.get(f"{self.mark}"),
        )

    def did(self, before: Any, token: str) -> None:
        if token:
            self.history.append((before, token))
        else:
            assert self.seen() == before

    def in_library(self) -> bool:
        return self.studio.pieces.by_hash(self.piece.hash) is not None

    @rule(
        kind=words,
        key=words,
        payload=payloads,
        bar=st.none() | st.integers(0, 9),
        own=st.booleans(),
    )
    def put_edit(self, kind: str, key: str, payload: Any, bar: int | None, own: bool) -> None:
        if self.in_library():
            before = self.seen()
            student = self.student.id if own else None
            done = self.studio.edits.put(
                self.piece.id, kind, key, payload, student_id=student, bar=bar
            )
            assert done.value.payload == payload
            self.did(before, done.undo)

    @rule(which=st.integers(0, 20))
    def delete_edit(self, which: int) -> None:
        edits = self.studio.edits.of_piece(self.piece.id, self.student.id)
        if edits:
            before = self.seen()
            self.did(before, self.studio.edits.delete(edits[which % len(edits)].id).undo)

    @rule(
        title=short,
        tags=st.lists(words, max_size=3, unique=True),
        books=st.lists(words, max_size=2),
        levels=st.dictionaries(words, words, max_size=2),
        texts=st.lists(words, max_size=2),
    )
    def change_piece(
        self,
        title: str,
        tags: list[str],
        books: list[str],
        levels: dict[str, str],
        texts: list[str],
    ) -> None:
        if self.in_library():
            before = self.seen()
            details = PieceDetails(
                own_title=title,
                tags=tuple(tags),
                editions=tuple(Edition(title=book) for book in books),
                levels=tuple(
                    PieceLevel(list_name=f"{self.mark}:{name}", label=label)
                    for name, label in levels.items()
                ),
                backgrounds=tuple(Background(text=text, source="") for text in texts),
            )
            done = self.studio.pieces.change(self.piece.id, details)
            assert done.value.tags == tuple(tags)
            assert {level.label for level in done.value.levels} == set(levels.values())
            self.did(before, done.undo)

    @rule(title=short)
    def replace_score(self, title: str) -> None:
        if self.in_library():
            before = self.seen()
            data = f"better score {next(NUMBERS)}".encode()
            done = self.studio.pieces.replace_score(
                self.piece.id, data, "better.musicxml", PieceFacts(title=title, bars=3)
            )
            self.piece = done.value
            self.did(before, done.undo)

    @rule()
    def delete_or_restore(self) -> None:
        before = self.seen()
        pieces = self.studio.pieces
        act = pieces.delete if self.in_library() else pieces.restore
        self.did(before, act(self.piece.id).undo)

    @rule(minutes=st.none() | st.integers(0, 300), notes=short, archived=st.booleans())
    def change_student(self, minutes: int | None, notes: str, archived: bool) -> None:
        before = self.seen()
        details = StudentDetails(name=self.student.name, weekly_minutes=minutes, notes=notes)
        self.did(before, self.studio.students.change(self.student.id, details).undo)
        before = self.seen()
        self.did(before, self.studio.students.archive(self.student.id, archived).undo)

    @rule(day=st.dates(date(2026, 1, 1), date(2026, 2, 1)), promised=short)
    def add_lesson(self, day: date, promised: str) -> None:
        before = self.seen()
        details = LessonDetails(student_id=self.student.id, on=day, promised=promised)
        self.did(before, self.studio.lessons.add(details).undo)

    @rule(which=st.integers(0, 20), promised=short, away=st.booleans())
    def change_lesson(self, which: int, promised: str, away: bool) -> None:
        lessons = self.studio.lessons.of_student(self.student.id)
        if lessons:
            before = self.seen()
            lesson = lessons[which % len(lessons)]
            if away:
                self.did(before, self.studio.lessons.delete(lesson.id).undo)
            else:
                changed = replace(lesson, promised=promised)
                self.did(before, self.studio.lessons.change(lesson.id, changed).undo)

    @rule(data=st.binary(min_size=1, max_size=5), heard=st.booleans(), away=st.booleans())
    def takes(self, data: bytes, heard: bool, away: bool) -> None:
        before = self.seen()
        details = TakeDetails(student_id=self.student.id, kind="midi")
        done = self.studio.takes.add(data, details)
        self.did(before, done.undo)
        before = self.seen()
        act = self.studio.takes
        take = done.value.id
        self.did(before, (act.delete(take) if away else act.heard(take, heard)).undo)

    @rule(value=st.floats(0, 1), away=st.booleans())
    def overrule(self, value: float, away: bool) -> None:
        before = self.seen()
        skills = self.studio.skills
        if away and skills.of_student(self.student.id):
            self.did(before, skills.delete(self.student.id, "leap").undo)
        else:
            self.did(before, skills.put(self.student.id, "leap", value).undo)

    @rule(status=st.sampled_from(["learning", "finished"]), body=payloads)
    def study_and_plan(self, status: str, body: Any) -> None:
        if self.in_library():
            before = self.seen()
            details = StudyDetails(
                student_id=self.student.id, piece_id=self.piece.id, status=status
            )
            self.did(before, self.studio.studies.add(details).undo)
            before = self.seen()
            self.did(before, self.studio.plans.add(self.student.id, self.piece.id, body).undo)

    @rule(value=payloads)
    def set_something(self, value: Any) -> None:
        before = self.seen()
        self.did(before, self.studio.settings.put(f"{self.mark}", value).undo)

    @precondition(lambda self: self.history)
    @rule(steps=st.integers(1, 4))
    def take_back_the_latest(self, steps: int) -> None:
        """Taking back step by step shows what was there before each."""
        for _ in range(min(steps, len(self.history))):
            before, token = self.history.pop()
            now = self.seen()
            done = self.studio.undo.undo(token)
            assert self.seen() == before
            again = self.studio.undo.undo(done.undo)
            assert self.seen() == now
            self.studio.undo.undo(again.undo)
            assert self.seen() == before

    @precondition(lambda self: len(self.history) > 1)
    @rule(which=st.integers(0, 1000))
    def take_back_an_earlier_one(self, which: int) -> None:
        """It works, and can itself be taken back; or it is refused, and nothing has changed."""
        now = self.seen()
        _, token = self.history[which % len(self.history)]
        try:
            done = self.studio.undo.undo(token)
        except (ConflictError, NotFoundError):
            assert self.seen() == now
        else:
            self.studio.undo.undo(done.undo)
            assert self.seen() == now
            self.history.clear()  # those tokens are used up, and others may stand on them

    def teardown(self) -> None:
        if hasattr(self, "student"):
            self.studio.students.remove_for_good(self.student.id, self.student.name)


def test_any_changes_are_taken_back(studio: Studio) -> None:
    machine = type("Machine", (Changes,), {"studio": studio})
    run_machine(
        machine,
        settings=settings(
            max_examples=8,
            stateful_step_count=12,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_a_change_on_top_is_not_lost(studio: Studio) -> None:
    piece = add_piece(studio)
    first = studio.edits.put(piece.id, "own-note", "a", {"text": "one"})
    second = studio.edits.put(piece.id, "own-note", "a", {"text": "two"})
    with pytest.raises(ConflictError, match="later change back first"):
        studio.undo.undo(first.undo)
    studio.undo.undo(second.undo)
    studio.undo.undo(first.undo)
    assert studio.edits.of_piece(piece.id) == ()
    with pytest.raises(ConflictError, match="already"):
        studio.undo.undo(first.undo)


def test_several_edits_are_taken_back_together(studio: Studio) -> None:
    piece = add_piece(studio)
    rows = tuple(("fixed-finger", f"n{i}", {"finger": i}, i, (f"n{i}",)) for i in range(5))
    done = studio.edits.put_many(piece.id, rows, label="Fixed five fingers")
    assert len({d.undo for d in done}) == 1
    assert studio.undo.recent()[0].label == "Fixed five fingers"
    studio.undo.undo(done[0].undo)
    assert studio.edits.of_piece(piece.id) == ()


def test_what_the_program_writes_is_no_step(studio: Studio) -> None:
    fill(studio)
    steps = len(studio.undo.recent(1000))
    piece = studio.pieces.all()[0]
    take = studio.takes.of_piece(piece.id)[0]
    studio.pieces.set_facts(piece.id, PieceFacts(title="Read anew", bars=4))
    studio.takes.set_result(take.id, "failed", {"why": "silence"}, None)
    assert len(studio.undo.recent(1000)) == steps


def test_a_result_does_not_stand_in_the_way_of_taking_back(studio: Studio) -> None:
    student, piece = add_student(studio), add_piece(studio)
    added = studio.takes.add(
        b"x", TakeDetails(student_id=student.id, kind="midi", piece_id=piece.id)
    )
    studio.takes.set_result(added.value.id, "measured", {"n": 1}, {"all": 1})
    back = studio.undo.undo(added.undo)
    assert studio.takes.of_student(student.id) == ()
    studio.undo.undo(back.undo)
    (take,) = studio.takes.of_student(student.id)
    assert (take.status, studio.takes.result(take.id)) == ("measured", {"all": 1})


def test_edits_survive_a_better_score_and_a_new_reading(studio: Studio) -> None:
    piece = add_piece(studio)
    studio.pieces.change(piece.id, DETAILS)
    studio.edits.put(piece.id, "fixed-finger", "n7", {"finger": 3}, note_ids=("n7",))
    edits = studio.edits.of_piece(piece.id)
    studio.pieces.set_facts(piece.id, PieceFacts(title="Read anew"))
    replaced = studio.pieces.replace_score(piece.id, b"better", "b.xml", PieceFacts(title="Better"))
    assert studio.edits.of_piece(piece.id) == edits
    now = studio.pieces.get(piece.id)
    assert (now.title, now.facts.title, now.tags) == ("The Boat", "Better", DETAILS.tags)
    studio.undo.undo(replaced.undo)
    assert studio.pieces.score(piece.id) == b"score of Paper Boat"
    assert studio.pieces.not_measured(1) == (piece.id,)  # the profile was the better score's


def test_a_token_of_nobody(studio: Studio) -> None:
    for token in ("", "x", "0" * 32, "' OR 1=1 --"):
        with pytest.raises(NotFoundError):
            studio.undo.undo(token)
