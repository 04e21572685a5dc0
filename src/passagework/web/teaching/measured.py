"""What pieces demand of a hand: measured by workers, kept in the studio's cache, asked for by the pages."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from passagework.demands.profile import PROFILE_VERSION, Demands
from passagework.hands.hand import DEFAULT_REACH_CM
from passagework.studio.computed import ComputedKey
from passagework.teaching import stored
from passagework.web.jobs import Job, Jobs, Report
from passagework.web.remember import Remembered

if TYPE_CHECKING:
    from passagework.score.piece import Piece
    from passagework.studio.records import StudentRecord
    from passagework.studio.studio import Studio

FORMAT: Final = "passagework.measured/1"
REACH_STEP_CM: Final = 0.5
"""Reaches are taken to the half centimetre, about what a ruler on a table edge gives; so hands share what is measured."""

READ: Final[Remembered[Measured | None]] = Remembered(500)
"""What was read of the cache lately."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A piece that is to be measured for a reach."""

    piece: int
    hash: str
    reach_cm: float

    @property
    def key(self) -> ComputedKey:
        """Where the result is kept."""
        return ComputedKey(self.hash, f"demands/{PROFILE_VERSION}", f"{self.reach_cm:g}")


@dataclass(frozen=True)
class Measured:
    """What a piece demands of a hand, with the deciding bars in words."""

    demands: Demands
    where: Mapping[str, str]
    """``"bars 5 and 6"`` by kind, for the bars of `KindDemand.bars`."""


def reach_of(student: StudentRecord | None) -> float:
    """The reach for which a student's pieces are measured: the smaller of both hands', to the half centimetre below."""
    if student is None or student.hands is None:
        return DEFAULT_REACH_CM
    smaller = min(student.hands.left.reach_cm, student.hands.right.reach_cm)
    return int(smaller / REACH_STEP_CM) * REACH_STEP_CM


def demands_job(report: Report, data: bytes, name: str, reach_cm: float) -> bytes:
    """A worker measures a score. Raises `ScoreError`."""
    from passagework.score.read import read_score

    report(None, "Reading")
    piece = read_score(data, name).piece
    report(None, "Measuring what it asks of the hand")
    return json.dumps(to_json(measured(piece, reach_cm)), separators=(",", ":")).encode()


def measured(piece: Piece, reach_cm: float) -> Measured:
    """Measure `piece` for a hand of this reach."""
    from passagework.demands.measure import measure_demands
    from passagework.hands.hand import Hand
    from passagework.score.bar_names import bar_names
    from passagework.spots.context import Context

    demands = measure_demands(Context(piece, Hand(reach_cm)))
    where = {n: bar_names(piece, row.bars) for n, row in demands.kinds.items() if row.bars}
    return Measured(demands, where)


def to_json(value: Measured) -> dict[str, Any]:
    """What was measured, as the cache and the library keep it."""
    return stored.write(value, FORMAT)


def from_json(value: Any) -> Measured | None:
    """What was kept; None for what is of another version, or is none."""
    try:
        found = stored.read(value, Measured, FORMAT)
    except stored.StoredError:
        return None
    return found if found.demands.version == PROFILE_VERSION else None


def known(studio: Studio, wanted: Iterable[Wanted]) -> tuple[dict[int, Measured], list[Wanted]]:
    """What has been measured, by piece, and what has not."""
    found: dict[int, Measured] = {}
    missing: list[Wanted] = []
    for row in wanted:
        value = _kept(studio, row)
        if value is None:
            missing.append(row)
        else:
            found[row.piece] = value
    return found, missing


def _kept(studio: Studio, row: Wanted) -> Measured | None:
    data = studio.computed.get(row.key)
    if data is None:
        return None
    return READ.get((row.key, len(data)), lambda: from_json(json.loads(data)))


def measure(studio: Studio, jobs: Jobs, missing: Iterable[Wanted]) -> list[Job]:
    """Let the workers measure what is missing."""
    return [_submit(studio, jobs, row) for row in missing]


def _submit(studio: Studio, jobs: Jobs, row: Wanted) -> Job:
    piece = studio.pieces.get(row.piece)
    data = studio.pieces.score(row.piece)
    return jobs.submit(
        "demands", demands_job, (data, piece.file_name, row.reach_cm), f"demands:{row.key.name}",
        title=f"Measuring {piece.title}", near=row.hash, keep=lambda result: studio.computed.put(row.key, result),
    )  # fmt: skip
