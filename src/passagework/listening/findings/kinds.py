"""What a kind of finding is: one row of the table in `passagework.listening.findings.table`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from passagework.listening.finding import Finding
from passagework.listening.heard import Heard


@dataclass(frozen=True, slots=True)
class FindingKind:
    """A kind of finding: its name, its words, and how it is found."""

    name: str
    """Its name in JSON: lower case, hyphens."""
    title: str
    """Its name in words, for a row of the strip: ``"wrong notes"``."""
    find: Callable[[Heard], Iterable[Finding]]
    """Yields every finding of the kind; linear in the notes of take and piece."""
    needs_sound: bool = False
    """Whether it rests on loudness, which a recording tells less exactly than MIDI."""
