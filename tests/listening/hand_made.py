"""Takes made by hand: every note of a small score struck exactly where a function says."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from passagework.listening.alignment import Alignment, Match, Pass
from passagework.listening.heard import Heard
from passagework.listening.take import PlayedNote, Take
from passagework.score.piece import Note
from passagework.spots.context import Context

When = Callable[[Note], float]


def steady(per_minute: float) -> When:
    """Every note exactly in time, so many crotchets a minute, from second 1 on."""
    return lambda note: 1.0 + float(note.onset) * 60.0 / per_minute


def heard(
    context: Context, when: When | Sequence[When], loud: Callable[[Note], int] = lambda _: 64
) -> Heard:
    """The whole piece, once for each of `when`, every note at the second that it says."""
    passes = [when] if callable(when) else list(when)
    rows: list[tuple[float, int, Note, int]] = []
    for run, at in enumerate(passes):
        rows += [(at(n), n.midi, n, run) for n in context.piece.notes]
    rows.sort(key=lambda row: row[:2])
    notes = tuple(PlayedNote(s, 0.2, midi, loud(note)) for s, midi, note, _ in rows)
    matches = tuple(Match(note.id, k, run) for k, (_, _, note, run) in enumerate(rows))
    spans = []
    for run in range(len(passes)):
        own = [(s, n.bar) for s, _, n, r in rows if r == run]
        bars = [b for _, b in own]
        spans.append(Pass(min(bars), max(bars), own[0][0], own[-1][0] + 0.2))
    return Heard(context, Take(notes), Alignment(matches, (), (), (), tuple(spans), 1.0))
