"""Assignments by chance, from an empty week to one that no page could hold."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from passagework.engraving.draw import System
from passagework.teaching.assignment import Assignment, DayBox
from passagework.teaching.assignment_lines import Line
from passagework.teaching.layer_words import CAUTION
from passagework.teaching.work import PlanStep

WORDS = ["bars", "hands", "slowly", "the", "left", "right", "together", "three", "times", "in", "a", "row", "without", "stopping", "crotchet", "Wednesday", "Größe", "naïve", "Ľuboš", "指法練習", "Übermäßig", "o", "MMMMMMM", "WWW", "Donaudampfschifffahrtsgesellschaft"]  # fmt: skip


def text(chance: Random, most: int) -> str:
    return " ".join(chance.choice(WORDS) for _ in range(chance.randrange(1, most + 1)))


def any_line(chance: Random, number: int, words: int) -> Line:
    steps = tuple(
        PlanStep(text(chance, words // 2 + 1), text(chance, words), "done", "crotchet = 60")
        for _ in range(chance.randrange(7))
    )
    return Line(
        number, f"p/spot/{number}", "p", text(chance, 4) if chance.random() < 0.3 else "",
        chance.choice(["learn", "learn", "review", "keep"]), "leap", "", text(chance, words),
        "5 minutes, on Fri and Mon", text(chance, words), steps, text(chance, words),
        chance.randrange(1, 8), 10, 0, 3,
    )  # fmt: skip


def any_assignment(seed: int) -> Assignment:
    chance = Random(seed)
    words = chance.choice([3, 8, 15, 60])
    first = date(2026, 3, 6)
    days = tuple(
        DayBox(first + timedelta(days=n), "Fri", chance.choice([0, 25, 120]), n == 6)
        for n in range(chance.randrange(1, 8))
    )
    note = chance.choice(["", text(chance, 12), text(chance, 400)])
    return Assignment(
        text(chance, 3), "teenager", f"This week: {text(chance, words)}",
        "until the lesson on Thursday · 25 minutes a day · six weeks to the performance",
        first, first + timedelta(days=6), days,
        tuple(any_line(chance, n, words) for n in range(1, chance.choice([1, 4, 9, 25]) + 1)),
        "Then play something that you can, for pleasure.", note,
        tuple(text(chance, words) for _ in range(chance.randrange(3))), CAUTION["child"],
    )  # fmt: skip


def any_pictures(seed: int) -> dict[int, System]:
    chance = Random(seed)
    return {n: picture(chance.uniform(40, 150), chance.uniform(10, 45)) for n in range(1, 5)}


def picture(width: float, height: float) -> System:
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}"><rect width="{width}" height="{height}" fill="#ddd"/></svg>'
    )
    return System(svg, width, height, (), frozenset())
