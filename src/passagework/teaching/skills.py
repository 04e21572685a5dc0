"""Skills as evidence: for each kind of difficulty the hardest that a student has played securely, and what says so.

The value of a skill lies on the scale of `KindDemand.hardest`, 0 to 1, the same for all pieces. It is the hardest thing
for which there is evidence; the teacher's own word replaces it. Age takes nothing from the value but makes it less
sure (`Skill.confidence`). A kind of which nothing is known has no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from passagework.spots.table import all_kinds
from passagework.teaching.settings import HALF_LIFE_DAYS
from passagework.teaching.student import Overrule, PieceStudied, Student, TakeHeard

Source = Literal["piece", "take", "teacher"]

SURE = {"teacher": 1.0, "piece": 0.9, "ok": 0.6, "take": 0.8}
"""How sure fresh evidence is: the teacher's word; a piece that was judged secure; one that went well enough (which speaks
for its ordinary places, not for its hardest); a take that was measured. Planning values."""

DOUBT = 0.5
"""What a fresh sign that something as hard did not go takes from the confidence. A planning value."""


@dataclass(frozen=True, slots=True)
class SkillEvidence:
    """One thing that says what a student can play, or could not."""

    value: float
    source: Source
    title: str
    """The piece; empty for the teacher's word."""
    piece_id: str
    bars: tuple[int, ...]
    """Bar indices that show it, the hardest first."""
    when: date
    sure: float
    """How sure it is today, 0 to 1."""
    words: str


@dataclass(frozen=True, slots=True)
class Skill:
    """What is known of one kind of difficulty."""

    kind: str
    value: float | None
    """The hardest that was played securely; None where nothing is known."""
    confidence: float
    """How sure that is today, 0 to 1; 0 where nothing is known."""
    evidence: tuple[SkillEvidence, ...] = ()
    """What speaks for it, the hardest first; the teacher's word before all."""
    against: tuple[SkillEvidence, ...] = ()
    """What was as hard, or easier, and did not go."""
    overruled: bool = False
    """Whether the value is the teacher's own."""
    since: tuple[SkillEvidence, ...] = ()
    """What was played securely after the teacher's word and is harder than it says: a reason to look again."""

    @property
    def known(self) -> bool:
        """Whether anything is known."""
        return self.value is not None


def skills_of(
    student: Student, today: date, half_life_days: int = HALF_LIFE_DAYS
) -> Mapping[str, Skill]:
    """The skills of `student`, a row for every kind of difficulty, as they stand `today`."""
    return {kind.name: _skill(kind.name, student, today, half_life_days) for kind in all_kinds()}


def skill_values(skills: Mapping[str, Skill]) -> dict[str, float]:
    """The values of the kinds of which something is known, by kind."""
    return {name: skill.value for name, skill in skills.items() if skill.value is not None}


def _skill(kind: str, student: Student, today: date, half_life: int) -> Skill:
    pieces = [
        row
        for piece in student.pieces
        if piece.when <= today
        for row in _of_piece(kind, piece, _age(piece.when, today, half_life))
    ]
    takes = [
        row
        for take in student.takes
        if take.when <= today
        for row in _of_take(kind, take, _age(take.when, today, half_life))
    ]
    played = sorted((*pieces, *takes), key=lambda e: (-e.value, -e.when.toordinal(), e.title))
    word = _last_word(kind, student.overrules, today)
    failed = tuple(
        row
        for piece in student.pieces
        if piece.when <= today and piece.result in ("shaky", "dropped")
        for row in _failed(kind, piece, _age(piece.when, today, half_life))
    )
    if word is not None:
        said = SkillEvidence(
            word.value, "teacher", "", "", (), word.when,
            SURE["teacher"] * _age(word.when, today, half_life),
            f"your own word{': ' + word.why if word.why else ''}",
        )  # fmt: skip
        since = tuple(e for e in played if e.value > word.value and e.when >= word.when)
        sure = _together((said, *(e for e in played if e.value >= word.value)))
        return Skill(kind, word.value, sure, (said, *played), failed, True, since)
    if not played:
        return Skill(kind, None, 0.0, (), failed)
    value = played[0].value
    against = tuple(e for e in failed if e.value <= value)
    best = [e for e in played if e.value >= value]
    doubt = 1.0
    for row in against:
        # Only what came after the last good evidence speaks against it.
        if row.when >= max(e.when for e in best):
            doubt *= 1.0 - DOUBT * row.sure
    return Skill(kind, value, _together(best) * doubt, tuple(played), against)


def _of_piece(kind: str, piece: PieceStudied, age: float) -> Iterable[SkillEvidence]:
    demand = piece.demands.kinds.get(kind)
    if demand is None or demand.hardest <= 0 or piece.result not in ("secure", "ok"):
        return
    if piece.result == "secure":
        yield SkillEvidence(
            demand.hardest, "piece", piece.title, piece.piece_id, demand.bars, piece.when,
            SURE["piece"] * age, f"{piece.title} is secure",
        )  # fmt: skip
    elif demand.typical > 0:
        yield SkillEvidence(
            min(demand.typical, demand.hardest), "piece", piece.title, piece.piece_id, (), piece.when,
            SURE["ok"] * age, f"{piece.title} went well enough: its ordinary places count",
        )  # fmt: skip


def _of_take(kind: str, take: TakeHeard, age: float) -> Iterable[SkillEvidence]:
    for shown in take.shown:
        if shown.kind == kind and shown.value > 0:
            yield SkillEvidence(
                shown.value, "take", take.title, take.piece_id, shown.bars, take.when,
                SURE["take"] * age, f"heard in a take of {take.title}",
            )  # fmt: skip


def _failed(kind: str, piece: PieceStudied, age: float) -> Iterable[SkillEvidence]:
    demand = piece.demands.kinds.get(kind)
    if demand is not None and demand.hardest > 0:
        what = "is shaky" if piece.result == "shaky" else "was given up"
        yield SkillEvidence(
            demand.hardest, "piece", piece.title, piece.piece_id, demand.bars, piece.when,
            age, f"{piece.title} {what}",
        )  # fmt: skip


def _last_word(kind: str, overrules: Iterable[Overrule], today: date) -> Overrule | None:
    rows = [o for o in overrules if o.kind == kind and o.when <= today]
    return max(rows, key=lambda o: o.when, default=None)


def _age(when: date, today: date, half_life: int) -> float:
    """What age leaves of evidence: a half after each half-life."""
    return float(0.5 ** ((today - when).days / half_life))


def _together(rows: Iterable[SkillEvidence]) -> float:
    """How sure several independent pieces of evidence are together."""
    doubt = 1.0
    for row in rows:
        doubt *= 1.0 - row.sure
    return 1.0 - doubt
