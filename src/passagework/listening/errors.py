"""The one error of this room: a take that cannot be used."""

from __future__ import annotations


class TakeError(Exception):
    """A take that cannot be read: one line that says what, where in the file, what to do.

    `where` is a place in the file ("minute 3", "track 2") or empty.
    """

    def __init__(self, what: str, *, where: str = "", do: str = "") -> None:
        self.what = what
        self.where = where
        self.do = do
        super().__init__(str(self))

    def __str__(self) -> str:
        text = (
            self.what
            + (f" ({self.where})" if self.where else "")
            + (f"; {self.do}" if self.do else "")
        )
        return " ".join(text.split())[:500]


class TakeStopped(Exception):  # noqa: N818 - nothing has gone wrong
    """The person asked to stop; nothing has been kept."""
