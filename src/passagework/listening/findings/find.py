"""From the kinds of finding to what a teacher would say, the weightiest first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from passagework.listening.finding import Finding
from passagework.listening.findings.table import all_finding_kinds
from passagework.listening.heard import Heard
from passagework.spots.words_of import times

HABIT_WEIGHT = 0.1
"""Added to the weight for every further pass in which the same thing was heard."""


def find_findings(heard: Heard) -> tuple[Finding, ...]:
    """Everything that the take shows, ranked by weight; the same thing in several passes is one finding."""
    found = [f for kind in all_finding_kinds() for f in joined(kind.find(heard))]
    return tuple(sorted(found, key=lambda f: (-f.weight, f.first_bar, f.last_bar, f.kind)))


def joined(findings: Iterable[Finding]) -> list[Finding]:
    """`findings` of one kind, those of several passes made one where they say the same of the same notes."""
    rows: list[Finding] = []
    places: dict[object, set[int]] = defaultdict(set)
    for finding in findings:
        keys = finding.note_ids or ((finding.first_bar, finding.last_bar),)
        near = sorted(set().union(*(places[key] for key in keys)))
        at = next((k for k in near if _same(rows[k], finding)), len(rows))
        if at == len(rows):
            rows.append(finding)
        else:
            rows[at] = _both(rows[at], finding)
        for key in keys:
            places[key].add(at)
    return rows


def _same(a: Finding, b: Finding) -> bool:
    """Whether two findings of a kind are one heard again: the same notes (or bars, where neither names notes), other passes."""
    if a.hand != b.hand or not a.runs or not b.runs or set(a.runs) & set(b.runs):
        return False
    if a.note_ids and b.note_ids:
        shared = len(set(a.note_ids) & set(b.note_ids))
        return 2 * shared > max(len(set(a.note_ids)), len(set(b.note_ids)))
    return (a.first_bar, a.last_bar) == (b.first_bar, b.last_bar)


def _both(a: Finding, b: Finding) -> Finding:
    """One finding for what was heard in the passes of both, in the words of the weightier."""
    first, second = (a, b) if a.weight >= b.weight else (b, a)
    runs = tuple(sorted({*a.runs, *b.runs}))
    plain = first.reason.split(AGAIN)[0].rstrip()
    return replace(
        first,
        first_bar=min(a.first_bar, b.first_bar),
        last_bar=max(a.last_bar, b.last_bar),
        note_ids=tuple(dict.fromkeys((*first.note_ids, *second.note_ids))),
        reason=f"{plain} {AGAIN} {times(len(runs))}.",
        confidence=1.0 - (1.0 - a.confidence) * (1.0 - b.confidence),
        weight=min(first.weight + HABIT_WEIGHT, 1.0),
        runs=runs,
        played=tuple(sorted({*a.played, *b.played})),
    )


AGAIN = "It was heard"
