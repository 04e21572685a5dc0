"""What is known of a job, as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Protocol

State = Literal["waiting", "running", "done", "failed", "cancelled"]


class Report(Protocol):
    """Says how far a job is: a share from 0 to 1 (None where it cannot be told) and a few words."""

    def __call__(self, share: float | None, words: str = "") -> None:
        """Say it."""


@dataclass(frozen=True, slots=True)
class Job:
    """A job at one moment."""

    id: str
    kind: str
    """What sort of work it is: ``"piece"``, ``"take"`` ..."""
    key: str
    title: str
    """What the page calls it."""
    state: State = "waiting"
    progress: float | None = None
    """Share that is done, 0 to 1; None where it cannot be told."""
    words: str = ""
    """What is being done."""
    error: str = ""
    """Why it failed, a sentence for the teacher."""

    @property
    def over(self) -> bool:
        """Whether nothing more will happen to it."""
        return self.state in {"done", "failed", "cancelled"}

    def to_json(self) -> dict[str, Any]:
        """What the browser is told."""
        return {
            "id": self.id,
            "kind": self.kind,
            "title": self.title,
            "state": self.state,
            "progress": self.progress,
            "words": self.words,
            "error": self.error,
        }
