"""What a worker finds out about a score that is brought in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from passagework.web.jobs import Report

if TYPE_CHECKING:
    from passagework.studio.piece_records import PieceFacts


def facts_job(report: Report, data: bytes, name: str) -> PieceFacts:
    """The facts of a score, with what it demands of a hand of mean size. Raises `ScoreError` for what cannot be read."""
    from passagework.hands.hand import DEFAULT_REACH_CM
    from passagework.score.read import read_score
    from passagework.studio.facts import facts_of
    from passagework.web.teaching.measured import measured, to_json

    report(None, "Reading")
    reading = read_score(data, name)
    facts = facts_of(reading)
    if not facts.notes:
        return facts
    report(None, "Measuring what it asks of the hand")
    value = measured(reading.piece, DEFAULT_REACH_CM)
    kinds = {f"kind:{n}": row.hardest for n, row in value.demands.kinds.items() if row.hardest > 0}
    numbers = {f"descriptor:{n}": number for n, number in value.demands.descriptors.items()}
    return replace(
        facts,
        profile=to_json(value),
        profile_version=value.demands.version,
        numbers={**kinds, **numbers},
    )
