"""Takes as a student at work would play them: what goes wrong goes wrong at the piece's own hard places, and then less and less."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from passagework.listening.simulate.faults import (
    Fault,
    Hesitation,
    MissingNote,
    Rushing,
    WrongNote,
)
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.listening.simulate.play import play

if TYPE_CHECKING:
    from passagework.guide.preparation import Preparation
    from passagework.spots.spot import Spot
    from passagework.web.demo_studio.people import Played

LONGEST_WAIT: Final = 2.4
"""Seconds that a student waits before a place that is quite new. A value of the demo."""
RUSHED: Final = 1.3
"""How much faster a stretch is run through by somebody in a hurry. A value of the demo."""
IN_A_HURRY: Final = 1.05
"""Share of the tempo from which a take is in a hurry."""


def played(preparation: Preparation, how: Played, seed: int) -> bytes:
    """A take as the bytes of a MIDI file; the same seed gives the same take."""
    first, last = how.bars or (0, len(preparation.piece.bars) - 1)
    spots = [
        s for s in preparation.spots if s.note_ids and first <= s.first_bar and s.last_bar <= last
    ]
    faults = troubles(spots, how)
    done = play(preparation.context, seed=seed, tempo_scale=how.tempo, faults=faults, bars=how.bars)
    return to_midi_bytes(done.take)


def troubles(spots: Sequence[Spot], how: Played) -> list[Fault]:
    """What goes wrong: at the hardest share of the places a wait or a slip, each kind in its turn, milder where less does."""
    hardest = sorted(spots, key=lambda s: -s.severity)
    count = round(how.trouble * len(hardest))
    rows: list[Fault] = []
    for at, spot in enumerate(hardest[:count]):
        note = spot.note_ids[0]
        if at % 3 == 0:
            rows.append(Hesitation(note, 0.8 + (LONGEST_WAIT - 0.8) * how.trouble))
        elif at % 3 == 1:
            rows.append(WrongNote(note))
        else:
            rows.append(MissingNote(spot.note_ids[-1]))
    if how.tempo > IN_A_HURRY and hardest:
        rows.append(Rushing(hardest[-1].first_bar, hardest[-1].last_bar, RUSHED))
    return rows
