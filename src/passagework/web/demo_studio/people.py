"""Who is in the demo studio, and what they have done; days are counted back from today. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time
from typing import Final

from passagework.hands.hand import Hand, Hands
from passagework.studio.records import StudentDetails


@dataclass(frozen=True)
class Played:
    """A take: how many days ago, at which share of the piece's tempo, with which share of its hard places going wrong."""

    days_ago: int
    tempo: float
    trouble: float
    bars: tuple[int, int] | None = None
    """Indices of the first and last bar; None for the whole piece."""
    heard: bool = True
    """Whether the teacher has heard it."""
    notes: str = ""


@dataclass(frozen=True)
class Studied:
    """A piece with a student."""

    piece: str
    """Name of its file."""
    since: int
    """Days ago."""
    perform_in: int | None = None
    """Days from today."""
    result: str = ""
    notes: str = ""
    takes: tuple[Played, ...] = ()


@dataclass(frozen=True)
class Met:
    """A lesson."""

    days_ago: int
    notes: str
    promised: str = ""


@dataclass(frozen=True)
class Person:
    """A student with everything that is kept."""

    details: StudentDetails
    lesson_in: int
    """Days from today to the next lesson, 0 to 6; the lessons before lie whole weeks earlier."""
    studies: tuple[Studied, ...]
    lessons: tuple[Met, ...]


PIECES: Final = ("paper-boat", "lamplighter", "evening-ferry")

TAGS: Final = {
    "paper-boat": ("water", "for the first year"),
    "lamplighter": ("evening", "dance"),
    "evening-ferry": ("water", "evening"),
}

NINA: Final = Person(
    StudentDetails(
        name="Nina",
        age_band="child",
        hands=Hands(Hand(15.0), Hand(15.5)),
        weekly_minutes=100,
        practice_days=(0, 1, 3, 4, 5),
        lesson_time=time(15, 30),
        lesson_minutes=30,
        notes="Sings before she plays. Tired after school: begin with something she can do.",
    ),
    lesson_in=0,
    studies=(
        Studied(
            "paper-boat",
            since=30,
            perform_in=38,
            notes="For the summer afternoon.",
            takes=(
                Played(23, 0.62, 0.9, notes="Sight-read the end."),
                Played(16, 0.72, 0.6),
                Played(9, 0.85, 0.35),
                Played(1, 0.96, 0.12, heard=False),
            ),
        ),
    ),
    lessons=(
        Met(28, "Began the boat. Reads the left hand slowly.", "Left hand alone, all of it."),
        Met(21, "Left hand is there. Together up to the double bar.", "Together, slowly."),
        Met(14, "Stops before each change of position.", "The changes without stops, ten times."),
        Met(7, "Nearly flowing.", "To play it to her grandmother."),
    ),
)

JASPER: Final = Person(
    StudentDetails(
        name="Jasper",
        age_band="teenager",
        hands=Hands(Hand(19.5), Hand(19.5)),
        weekly_minutes=180,
        practice_days=(0, 1, 2, 3, 5, 6),
        lesson_time=time(17, 0),
        lesson_minutes=45,
        notes="Plays the trumpet too. Wants everything fast at once.",
    ),
    lesson_in=0,
    studies=(
        Studied(
            "lamplighter",
            since=26,
            perform_in=52,
            takes=(
                Played(20, 1.12, 0.8, notes="Much too fast."),
                Played(12, 0.8, 0.45),
                Played(5, 0.95, 0.25, heard=False),
            ),
        ),
        Studied("paper-boat", since=160, result="secure", takes=(Played(100, 1.0, 0.0),)),
    ),
    lessons=(
        Met(21, "The lamplighter, hands separately.", "Not faster than the metronome."),
        Met(14, "Steadier. The accents are there.", "The middle part by heart."),
        Met(7, "Lost his place once, and found it again.", "Slow practice, three times a week."),
    ),
)

MARGIT: Final = Person(
    StudentDetails(
        name="Margit",
        age_band="adult",
        hands=Hands(Hand(20.5), Hand(21.0)),
        weekly_minutes=240,
        practice_days=(0, 2, 3, 5, 6),
        lesson_time=time(18, 15),
        lesson_minutes=60,
        notes="Came back to the piano after thirty years. Right wrist: no long octaves.",
    ),
    lesson_in=2,
    studies=(
        Studied(
            "evening-ferry",
            since=40,
            perform_in=80,
            notes="For her sister’s birthday.",
            takes=(
                Played(33, 0.6, 0.8, bars=(0, 30)),
                Played(19, 0.7, 0.55),
                Played(4, 0.82, 0.3, heard=False),
            ),
        ),
        Studied("lamplighter", since=200, result="ok", takes=(Played(150, 0.9, 0.2),)),
    ),
    lessons=(
        Met(26, "First page of the ferry. Good sound.", "Fingering of the second page written in."),
        Met(19, "Recorded it for the first time.", "The five against three, tapped."),
        Met(12, "Tapping goes. On the keys not yet.", "Bars with the quintuplet in rhythms."),
        Met(5, "The water moves now.", "A take of all of it, whatever happens."),
    ),
)

PEOPLE: Final = (NINA, JASPER, MARGIT)
