"""Is this piece right for this student now: kind by kind, with the bars that decide.

Rules
-----
* A kind is **secure** where the piece asks nothing harder than what was played securely, **a step up** where it is at most
  `Settings.step` harder, **too far** beyond that. A kind of which nothing is known is a step up where a step from nothing
  is enough, and **not known** else: nothing is made up about it.
* The piece is **too far** where two kinds are, or one by more than two steps; **secure** where every kind is; **not known**
  where more of its kinds are unknown than known; **a step up** else. The skills and demands are on one scale.
* More skill in a kind never makes a verdict worse. (To learn at last what a student can do in a kind is not more skill, and
  may well be news.)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from passagework.demands.profile import Demands, KindDemand
from passagework.exercises.for_kinds import GENERAL, REASONS
from passagework.spots.table import all_kinds
from passagework.spots.words_of import counted, listed
from passagework.teaching.settings import Settings
from passagework.teaching.skills import Skill, SkillEvidence

Verdict = Literal["secure", "step up", "too far", "not known"]

FAR_KINDS = 2
"""Kinds that are too far before the piece is: one can be prepared by itself. A planning value."""

FAR_STEPS = 2.0
"""Steps at which one kind is enough to call a piece too far. A planning value."""

MANY_NEW = 4
"""Kinds that are new at once, from which the words advise to take something simpler between. A planning value."""

ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Cure:
    """A practice technique that serves a kind of difficulty."""

    technique: str
    title: str
    why: str


@dataclass(frozen=True, slots=True)
class KindReadiness:
    """How a student stands to one kind of difficulty of a piece."""

    kind: str
    title: str
    verdict: Verdict
    demand: float
    """The hardest that the piece asks, 0 to 1."""
    secure: float | None
    """The hardest that the student has played securely; None where nothing is known."""
    steps: float | None
    """How many steps the piece asks beyond that; 0 or below for what is secure."""
    confidence: float
    """How sure the skill is, 0 to 1."""
    bars: tuple[int, ...]
    """Indices of the bars that decide, the hardest first."""
    share: float
    """Share of the piece's bars that hold the kind."""
    evidence: tuple[SkillEvidence, ...]
    """What says that it is secure, a few."""
    first: tuple[Cure, ...] = ()
    """What to put in place first; empty for what is secure."""


@dataclass(frozen=True, slots=True)
class Readiness:
    """How a student stands to a piece."""

    verdict: Verdict
    kinds: tuple[KindReadiness, ...]
    """Every kind that the piece has, what decides first."""
    in_place_first: tuple[KindReadiness, ...]
    """What is to be put in place before or while the piece is begun, in order."""
    words: str
    """One or two sentences."""

    def of(self, verdict: Verdict) -> tuple[KindReadiness, ...]:
        """The kinds of one verdict."""
        return tuple(k for k in self.kinds if k.verdict == verdict)


EVIDENCE_SHOWN = 3


def readiness(
    demands: Demands, skills: Mapping[str, Skill], settings: Settings | None = None
) -> Readiness:
    """How a student with these `skills` stands to a piece with these `demands`."""
    step = (settings or Settings()).step
    rows = [
        _kind(demand, skills.get(name), step)
        for name, demand in demands.kinds.items()
        if demand.hardest > 0
    ]
    rows.sort(key=_order)
    verdict = _overall(rows)
    wanting = tuple(k for k in rows if k.verdict != "secure")
    return Readiness(verdict, tuple(rows), wanting, _words(verdict, rows))


def kind_verdict(demand: float, secure: float | None, step: float) -> Verdict:
    """The verdict on one kind, from what is asked, what is secure and the size of a step."""
    if secure is None:
        return "step up" if demand <= step + ROUNDING else "not known"
    if demand <= secure + ROUNDING:
        return "secure"
    return "step up" if demand <= secure + step + ROUNDING else "too far"


def _kind(demand: KindDemand, skill: Skill | None, step: float) -> KindReadiness:
    secure = skill.value if skill else None
    verdict = kind_verdict(demand.hardest, secure, step)
    return KindReadiness(
        kind=demand.kind,
        title=_title(demand.kind),
        verdict=verdict,
        demand=demand.hardest,
        secure=secure,
        steps=None if secure is None else (demand.hardest - secure) / step,
        confidence=skill.confidence if skill else 0.0,
        bars=demand.bars,
        share=demand.share,
        evidence=skill.evidence[:EVIDENCE_SHOWN] if skill else (),
        first=() if verdict == "secure" else cures(demand.kind),
    )


_RANK: Mapping[Verdict, int] = {"too far": 0, "not known": 1, "step up": 2, "secure": 3}


def _order(row: KindReadiness) -> tuple[int, float, float, str]:
    """What is to be put in place first stands first: the farthest, and of equals the one that fills more bars."""
    distance = row.demand if row.steps is None else row.steps
    return (_RANK[row.verdict], -distance, -row.share, row.kind)


def _overall(rows: Sequence[KindReadiness]) -> Verdict:
    far = [r for r in rows if r.verdict == "too far"]
    if len(far) >= FAR_KINDS or any((r.steps or 0.0) > FAR_STEPS + ROUNDING for r in far):
        return "too far"
    unknown = sum(r.secure is None for r in rows)
    if unknown * 2 > len(rows):
        return "not known"
    return "secure" if all(r.verdict == "secure" for r in rows) else "step up"


@cache
def cures(kind: str) -> tuple[Cure, ...]:
    """The practice techniques for `kind`, the first choice first."""
    from passagework.exercises.table import BY_NAME  # builds on the notation, and not always needed

    reasons = REASONS.get(kind) or dict.fromkeys(GENERAL, "it serves any place")
    return tuple(Cure(n, BY_NAME[n].title, why) for n, why in reasons.items() if n in BY_NAME)


@cache
def _titles() -> Mapping[str, str]:
    return {kind.name: kind.title for kind in all_kinds()}


def _title(kind: str) -> str:
    return _titles().get(kind, kind.replace("-", " "))


def _words(verdict: Verdict, rows: Sequence[KindReadiness]) -> str:
    if not rows:
        return "Nothing in this piece stands out as hard, so nothing speaks against it."
    groups = {v: [r for r in rows if r.verdict == v] for v in _RANK}
    far, near, unknown = groups["too far"], groups["step up"], groups["not known"]
    if verdict == "secure":
        return "Everything that this piece asks has been played securely."
    parts = []
    if verdict == "not known":
        parts.append("Too little is known of what the student plays securely to say.")
    if far:
        parts.append(
            f"Too far {'for now' if verdict == 'too far' else 'by itself'}: {_named(far)}."
        )
    if near:
        parts.append(f"A step up: {_named(near)}.")
    if unknown and verdict != "not known":
        parts.append(f"Not met yet in anything that was heard: {_named(unknown)}.")
    if verdict == "step up" and len(far) + len(near) + len(unknown) >= MANY_NEW:
        parts.append("That is much at once; a simpler piece between would share it out.")
    return " ".join(parts)


NAMED = 4


def _named(rows: Sequence[KindReadiness]) -> str:
    titles = [r.title for r in rows[:NAMED]]
    rest = len(rows) - len(titles)
    return listed([*titles, counted(rest, "more kind")] if rest else titles)
