"""The one error of this room: a survey that cannot be made."""

from __future__ import annotations


class SurveyError(Exception):
    """A survey that cannot be made: one line that says what, and what to do. A score that cannot be read is no such error."""
