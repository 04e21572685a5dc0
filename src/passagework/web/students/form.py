"""The form in which a student is written down."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from passagework.hands.hand import LARGEST_REACH_CM, PRESETS, SMALLEST_REACH_CM, Hand, Hands
from passagework.studio.records import StudentDetails, StudentRecord
from passagework.teaching.student import AGES, MOST_WEEKLY_MINUTES
from passagework.web.forms import (
    LONGEST_LINE,
    LONGEST_TEXT,
    WEEKDAYS,
    Filled,
    FormError,
    clock,
    number,
    shown,
    weekday,
    whole,
)

FINGERS = ((1, "thumb"), (2, "2"), (3, "3"), (4, "4"), (5, "5"))
SIDES = ("left", "right")
LONGEST_LESSON = 600
AGE_CHOICES = (("", "not said"), *((name, age.words) for name, age in AGES.items()))
DAY_CHOICES = tuple(enumerate(WEEKDAYS))
GUESSES = (
    ("", "measured, or to be measured"),
    *((n, f"a {n} hand" if n != "child" else "a child’s hand") for n in PRESETS),
)
"""First guesses before a ruler is at hand."""

Short = Annotated[str, Field(max_length=LONGEST_LINE)]
Ticks = Annotated[tuple[Annotated[int, Field(ge=0, le=6)], ...], Field(max_length=20)]


class StudentForm(Filled):
    """What the fields hold."""

    name: Short = ""
    age_band: Short = ""
    guess: Short = ""
    reach_left: Short = ""
    reach_right: Short = ""
    weak_left: Ticks = ()
    weak_right: Ticks = ()
    weekly_minutes: Short = ""
    practice_days: Ticks = ()
    lesson_weekday: Short = ""
    lesson_time: Short = ""
    lesson_minutes: Short = ""
    notes: Annotated[str, Field(max_length=LONGEST_TEXT)] = ""

    def details(self, before: StudentDetails | None = None) -> StudentDetails:
        """The student meant; what the form does not ask stays as `before`. Raises `FormError`."""
        if not self.name.strip():
            raise FormError("A name is needed; a first name or initials do.")
        if self.age_band not in dict(AGE_CHOICES):
            raise FormError("Choose one of the ages.")
        return StudentDetails(
            name=self.name,
            age_band=self.age_band,
            hands=self._hands(before.hands if before else None),
            weekly_minutes=whole(self.weekly_minutes, "The week’s minutes", 0, MOST_WEEKLY_MINUTES),
            practice_days=tuple(sorted(set(self.practice_days))),
            lesson_weekday=weekday(self.lesson_weekday),
            lesson_time=clock(self.lesson_time, "The lesson’s time"),
            lesson_minutes=whole(self.lesson_minutes, "The lesson’s length", 1, LONGEST_LESSON),
            notes=self.notes,
        )

    def _hands(self, before: Hands | None) -> Hands | None:
        limits = (SMALLEST_REACH_CM, LARGEST_REACH_CM)
        left = number(self.reach_left, "The left hand’s reach", *limits)
        right = number(self.reach_right, "The right hand’s reach", *limits)
        if left is None and right is None:
            preset = PRESETS.get(self.guess)
            left = right = preset.reach_cm if preset else None
        if left is None and right is None:
            return None
        known = before or Hands()
        return Hands(
            _hand(left or right, self.weak_left, known.left),
            _hand(right or left, self.weak_right, known.right),
        )


def _hand(reach: float | None, weak: tuple[int, ...], before: Hand) -> Hand:
    """The hand as measured; spans of single pairs, and fingers that rest, stay as they were."""
    assert reach is not None
    comfortable = before.comfortable_cm if before.reach_cm == reach else None
    return Hand(reach, comfortable, before.pair_cm, frozenset(weak) - {0, 6}, before.resting)


def filled(student: StudentRecord) -> StudentForm:
    """The form as it stands for a student."""
    hands = student.hands
    return StudentForm(
        name=student.name,
        age_band=student.age_band,
        reach_left=shown(hands.left.reach_cm) if hands else "",
        reach_right=shown(hands.right.reach_cm) if hands else "",
        weak_left=tuple(sorted(hands.left.weak)) if hands else (),
        weak_right=tuple(sorted(hands.right.weak)) if hands else (),
        weekly_minutes=shown(student.weekly_minutes),
        practice_days=student.practice_days,
        lesson_weekday=shown(student.lesson_weekday),
        lesson_time=shown(student.lesson_time),
        lesson_minutes=shown(student.lesson_minutes),
        notes=student.notes,
    )
