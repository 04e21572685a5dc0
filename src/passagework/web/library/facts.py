"""What a worker finds out about a score that is brought in."""

from __future__ import annotations

from passagework.studio.piece_records import PieceFacts
from passagework.web.jobs import Report


def facts_job(report: Report, data: bytes, name: str) -> PieceFacts:
    """The facts of a score. Raises `ScoreError` for what cannot be read."""
    from passagework.studio.facts import piece_facts

    report(None, "Reading")
    return piece_facts(data, name)
