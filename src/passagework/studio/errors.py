"""The one error of this room: something that the studio cannot do."""

from __future__ import annotations


class StudioError(Exception):
    """What cannot be done, in one line that says why and what to do instead."""

    def __init__(self, what: str, *, do: str = "") -> None:
        self.what = what
        self.do = do
        super().__init__(" ".join((what + (f"; {do}" if do else "")).split())[:500])


class NotFoundError(StudioError):
    """There is no such student, piece, lesson or take (any longer)."""


class ConflictError(StudioError):
    """Something else was changed meanwhile, or is there already."""
