"""What is known of a simulated take: the alignment as it was played, and the faults as they came out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from passagework.listening.alignment import (
    Alignment,
    Match,
    Missing,
    Pass,
    PassHand,
    Substitution,
)
from passagework.listening.simulate.faults import Fault
from passagework.listening.simulate.strike import Strike


@dataclass(frozen=True, slots=True)
class FaultTruth:
    """A fault as it was carried out."""

    fault: Fault
    kind: str
    """Kind of finding that it should lead to."""
    first_bar: int
    """Bar indices of what was really touched, both included."""
    last_bar: int
    note_ids: tuple[str, ...]
    runs: tuple[int, ...]
    """Indices of the passes in which it happened."""


@dataclass(frozen=True)
class Truth:
    """What really happened."""

    alignment: Alignment
    """Unisons are matched once; the other voice's note is neither matched nor missing. Notes that ornaments add
    are in `ornamental` and not among the extra ones."""
    ornamental: tuple[int, ...]
    """Indices of strokes that an ornament adds."""
    unisons: tuple[tuple[str, int], ...]
    """(note id, index of the stroke) of notes that another voice's stroke plays."""
    faults: tuple[FaultTruth, ...]
    idle: tuple[Fault, ...] = ()
    """Faults that found nothing to bite on: nothing was changed for them."""


@dataclass(frozen=True, slots=True)
class Played:
    """The strokes of one pass: those of the take with their indices, and those left out."""

    sounding: tuple[tuple[int, Strike], ...]
    silent: tuple[Strike, ...]
    hand: PassHand


def aligned(
    passes: Sequence[Played], shared: Mapping[int, Sequence[Strike]]
) -> tuple[Alignment, tuple[int, ...], tuple[tuple[str, int], ...]]:
    """The alignment of what was played, its ornamental strokes, its unisons."""
    matches: list[Match] = []
    missing: list[Missing] = []
    extra: list[int] = []
    swapped: list[Substitution] = []
    ornamental: list[int] = []
    unisons: list[tuple[str, int]] = []
    spans: list[Pass] = []
    for row in passes:
        run = len(spans)
        right = [(k, s) for k, s in row.sounding if _right(s)]
        if not right:
            extra += [k for k, _ in row.sounding]
            continue
        matches += [Match(s.note.id, k, run) for k, s in right]
        for k, strike in row.sounding:
            if not strike.meant:
                extra.append(k)
            elif strike.main and not _right(strike):
                extra.append(k)
                missing.append(Missing(strike.note.id, run))
                swapped.append(Substitution(strike.note.id, k, run))
            elif not strike.main:
                ornamental.append(k)
            for second in shared.get(k, ()):
                if second.meant and second.main and not _right(second):
                    missing.append(Missing(second.note.id, run))
                elif second.main:
                    unisons.append((second.note.id, k))
        missing += [Missing(s.note.id, run) for s in row.silent if s.main and s.meant]
        bars = [s.note.bar for _, s in right]
        end = max(s.end for _, s in right)
        spans.append(Pass(min(bars), max(bars), min(s.onset for _, s in right), end, row.hand))
    matches.sort(key=lambda m: m.played)
    played = sum(len(row.sounding) for row in passes)
    fit = (len(matches) + len(ornamental)) / played if played else 0.0
    alignment = Alignment(
        tuple(matches), tuple(missing), tuple(sorted(extra)), tuple(swapped), tuple(spans), fit
    )
    return alignment, tuple(sorted(ornamental)), tuple(unisons)


def _right(strike: Strike) -> bool:
    return strike.meant and strike.main and strike.pitch == strike.note.midi


def merged(rows: Sequence[FaultTruth]) -> tuple[FaultTruth, ...]:
    """One entry for each fault, its passes gathered."""
    groups: dict[Fault, list[FaultTruth]] = defaultdict(list)
    for row in rows:
        groups[row.fault].append(row)
    return tuple(
        FaultTruth(
            fault,
            fault.kind,
            min(r.first_bar for r in same),
            max(r.last_bar for r in same),
            tuple(dict.fromkeys(i for r in same for i in r.note_ids)),
            tuple(sorted({run for r in same for run in r.runs})),
        )
        for fault, same in groups.items()
    )
