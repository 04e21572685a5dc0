"""What the page is told when it starts."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Final

MEGABYTE: Final = 1_000_000
LARGEST_FORM: Final = MEGABYTE
"""Bytes of a request that brings no file: a form with long notes has a few thousand."""

LARGEST_BODIES: Final[tuple[tuple[str, int], ...]] = (
    ("/library/scores", 400 * MEGABYTE),  # many scores dropped at once; each has its own limit
    ("/library/levels", 10 * MEGABYTE),
    ("/takes", 600 * MEGABYTE),  # an hour of sound, not compressed
    ("/keeping/import", 4000 * MEGABYTE),
    ("/keeping/restore", MEGABYTE),
)
"""Paths (with what lies below them) that take files, and how many bytes a request to them may have."""


@dataclass(frozen=True)
class Settings:
    """How the page is served."""

    port: int
    """Port on 127.0.0.1."""
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32), repr=False)
    """Key that signs the tokens of forms; kept between runs, so that a page left open still works."""
    workers: int = 2
    """Processes for long work."""
    largest_bodies: tuple[tuple[str, int], ...] = LARGEST_BODIES
    largest_form: int = LARGEST_FORM

    @property
    def hosts(self) -> frozenset[str]:
        """What a request may name as its host."""
        names = ("127.0.0.1", "localhost", "[::1]")
        bare = names if self.port == 80 else ()
        return frozenset((*(f"{name}:{self.port}" for name in names), *bare))

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self.port}/"

    def largest_body(self, path: str) -> int:
        """Bytes that a request to `path` may bring."""
        for start, size in self.largest_bodies:
            if path == start or path.startswith(f"{start}/"):
                return size
        return self.largest_form
