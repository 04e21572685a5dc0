"""What a kind of difficulty is: one row of the table in `passagework.spots.table`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from passagework.spots.context import Context
from passagework.spots.spot import Candidate, Wording


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of difficulty: how it is found, and how it is spoken of."""

    name: str
    """Its name in JSON and on the command line: lower case, hyphens."""
    title: str
    """Its name in words, for a row of the strip: ``"hands in different numbers"``."""
    find: Callable[[Context], Iterable[Candidate]]
    """Yields every occurrence; linear in the notes of the piece."""
    describe: Callable[[Sequence[Candidate], Context], Wording]
    """Words for a group of occurrences that became one spot (worst first)."""
    most: int = 3
    """At most so many spots of this kind in the short list."""
    by_family: bool = False
    """Whether all candidates of a family are one spot wherever they stand (two passages that belong
    together, or one lesson wherever it comes, and not one passage that comes back)."""
    moves: bool = True
    """Whether the difficulty is the same where its material stands on other notes: a rhythm or a figure is, a
    note altered against the signature is not."""
