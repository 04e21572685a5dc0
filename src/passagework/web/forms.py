"""What people type into fields, as values; what cannot be meant is one sentence."""

from __future__ import annotations

import math
from datetime import date, time
from typing import Annotated, Final

from fastapi import Form
from pydantic import BaseModel, ConfigDict

LONGEST_LINE: Final = 500
LONGEST_TEXT: Final = 20_000
MOST_TICKS: Final = 400

WEEKDAYS: Final = (
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
)

Line = Annotated[str, Form(max_length=LONGEST_LINE)]
"""One line of a form."""
Text = Annotated[str, Form(max_length=LONGEST_TEXT)]
"""Several lines of a form."""


class FormError(ValueError):
    """What was typed cannot be meant: one sentence that says why."""


class Filled(BaseModel):
    """A form as it came in: texts only, so that it can be shown again as it was typed."""

    model_config = ConfigDict(extra="ignore", frozen=True)


def number(text: str, what: str, low: float, high: float) -> float | None:
    """A number between `low` and `high`, with a point or a comma; None where the field is empty."""
    text = text.strip()
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise FormError(f"{what} should be a number from {low:g} to {high:g}, not “{text[:20]}”.")
    return value


def whole(text: str, what: str, low: int, high: int) -> int | None:
    """A whole number between `low` and `high`; None where the field is empty."""
    value = number(text, what, low, high)
    if value is not None and value != int(value):
        raise FormError(f"{what} should be a whole number, not {value:g}.")
    return None if value is None else int(value)


def day(text: str, what: str) -> date | None:
    """A day as date fields send it; None where the field is empty."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise FormError(f"{what} should be a day such as 2026-03-01, not “{text[:20]}”.") from None


def clock(text: str, what: str) -> time | None:
    """A time as time fields send it; None where the field is empty."""
    if not text.strip():
        return None
    try:
        return time.fromisoformat(text.strip()).replace(tzinfo=None, second=0, microsecond=0)
    except ValueError:
        raise FormError(f"{what} should be a time such as 16:30, not “{text[:20]}”.") from None


def weekday(text: str) -> int | None:
    """A weekday, 0 for Monday; None where the field is empty."""
    return whole(text, "The weekday", 0, 6)


def shown(value: object) -> str:
    """A value as a field shows it."""
    if value is None:
        return ""
    if isinstance(value, time):
        return value.strftime("%H:%M")
    return f"{value:g}" if isinstance(value, float) else str(value)
