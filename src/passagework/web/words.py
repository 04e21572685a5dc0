"""Days, times and sizes in words, for the templates."""

from __future__ import annotations

from datetime import date, datetime, time

from passagework.web.forms import WEEKDAYS

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def today() -> date:
    """The day on this machine's calendar."""
    return date.today()


def long_day(day: date) -> str:
    """``Thursday, 5 March 2026``."""
    return f"{WEEKDAYS[day.weekday()]}, {short_day(day)}"


def short_day(day: date | datetime) -> str:
    """``5 March 2026``; of a moment, the day on this machine's calendar."""
    day = _local(day)
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def near_day(day: date | datetime, now: date | None = None) -> str:
    """``today``, ``yesterday``, ``last Thursday``, ``on Thursday``, or the day."""
    day, now = _local(day), now or today()
    away = (day - now).days
    if away in (-1, 0, 1):
        return ("yesterday", "today", "tomorrow")[away + 1]
    name = WEEKDAYS[day.weekday()]
    if -7 <= away < 0:
        return f"last {name}"
    if 0 < away < 7:
        return f"on {name}"
    return (
        f"on {short_day(day)}" if day.year != now.year else f"on {day.day} {MONTHS[day.month - 1]}"
    )


def at_time(moment: time | None) -> str:
    """``16:30``; empty for none."""
    return moment.strftime("%H:%M") if moment else ""


def size(count: int) -> str:
    """Bytes in the unit that fits: ``340 kB``."""
    if count < 1000:
        return f"{count} bytes"
    power = 1
    while power < 3 and count / 1000**power >= 999.5:
        power += 1
    value = count / 1000**power
    return f"{value:.{0 if value >= 9.95 else 1}f} {('kB', 'MB', 'GB')[power - 1]}"


def many(count: int, one: str, more: str = "") -> str:
    """``1 piece``, ``12 pieces``, ``no pieces``."""
    if count == 1:
        return f"1 {one}"
    return f"{count or 'no'} {more or one + 's'}"


def weekdays(days: tuple[int, ...] | frozenset[int]) -> str:
    """``Monday, Tuesday and Friday``; ``every day``; empty for none."""
    names = [WEEKDAYS[d] for d in sorted(days)]
    if len(names) == 7:
        return "every day"
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) if names else ""


def _local(day: date | datetime) -> date:
    return day.astimezone().date() if isinstance(day, datetime) else day
