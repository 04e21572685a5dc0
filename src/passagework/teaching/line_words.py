"""When and until when: minutes, days and tests in the words of a line of the assignment."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from passagework.spots.words_of import counted, listed
from passagework.teaching.progress import Session

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

BARS = "bars "

MOST_NAMED_DAYS = 4
"""Days that are named; more are counted."""


def tidy(done: str) -> str:
    """A test to follow "done when": without its full stop, and small at the start where that is a common word."""
    words = done.strip().rstrip(".")
    return words[:1].lower() + words[1:] if words[1:2].islower() else words


def when(row: Sequence[Session]) -> str:
    return f"{time(row)}, {days(row)}"


def time(row: Sequence[Session]) -> str:
    minutes = sorted({s.minutes for s in row})
    spread = f"{minutes[0]} to {minutes[-1]}" if len(minutes) > 1 else str(minutes[0])
    return f"{spread} minute{'' if spread == '1' else 's'}"


def days(row: Sequence[Session]) -> str:
    if len(row) == 1:
        return f"on {WEEKDAYS[row[0].day.weekday()]}"
    if len(row) > MOST_NAMED_DAYS:
        return f"on {counted(len(row), 'day')}"
    return f"on {listed([WEEKDAYS[s.day.weekday()][:3] for s in row])}"


def together(places: Sequence[str]) -> str:
    """Places in words, each once and the word "bars" no oftener than it must be: ``"bars 1 to 8, 9 to 16 and 20 to 27"``."""
    once = list(dict.fromkeys(places))
    rest = [
        p.removeprefix(BARS) if before.startswith(BARS) and " and " not in p else p
        for before, p in pairwise(once)
    ]
    return listed([*once[:1], *rest])
