"""Grace notes and rolled chords in time.

A single plain grace note (an appoggiatura) is played on the beat and takes up to half of its note (C. P. E. Bach, 1753); a
slashed one, and every group, is played quickly before the beat. A long group is a little cadenza: the music waits for
it. Rolled chords open from the beat on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from passagework.listening.simulate.clock import Clock, Places
from passagework.listening.simulate.ornaments import QUICK_S
from passagework.listening.simulate.strike import Strike
from passagework.score.piece import Note, Position

LONG = 6
"""Grace notes in a row from which on the music waits for them."""
BEFORE_SHARE = 0.5
"""Share of the time since the last attack that a short group takes at most."""
LEANING_SHARE, DOTTED_SHARE = Fraction(1, 2), Fraction(2, 3)
ROLL_STEP_S = 0.05
"""Seconds from note to note of a rolled chord: heard as one chord, and as rolled. An assumption."""
ROLL_SHARE = 0.4
"""Largest share of the chord that the roll takes."""


@dataclass(frozen=True)
class Group:
    """Grace notes of one voice that stand at one place, chord by chord."""

    chords: tuple[tuple[Note, ...], ...]
    principal: Note | None
    since: float
    """Quarters since the last attack of the voice; 0 for none."""

    @property
    def leaning(self) -> bool:
        """Whether it is an appoggiatura, played on the beat."""
        first = self.chords[0][0]
        return (
            len(self.chords) == 1
            and first.grace == "plain"
            and first.value > 0
            and self.principal is not None
        )


def groups_of(notes: Iterable[Note], places: Places) -> list[Group]:
    """The groups among `notes`, which are those of one pass in order."""
    rows: dict[tuple[int, str, int, Position], dict[int, list[Note]]] = defaultdict(dict)
    last: dict[tuple[int, str], float] = {}
    since: dict[tuple[int, str, int, Position], float] = {}
    heads: dict[tuple[int, str, int, Position], list[Note]] = defaultdict(list)
    for note in notes:
        key = (note.staff, note.voice, note.bar, note.onset)
        line = (note.staff, note.voice)
        if note.grace:
            rows[key].setdefault(note.chord, []).append(note)
            since.setdefault(key, places.at(note) - last.get(line, places.at(note)))
        else:
            last[line] = places.at(note)
            heads[key].append(note)
    return [
        Group(
            tuple(tuple(chord) for chord in chords.values()),
            max(heads[key], key=lambda n: n.midi) if key in heads else None,
            since[key],
        )
        for key, chords in rows.items()
    ]


def waits(groups: Sequence[Group], places: Places) -> dict[float, float]:
    """Seconds that the music waits before a place for long groups."""
    found: dict[float, float] = {}
    for group in groups:
        if len(group.chords) >= LONG:
            place = places.at(group.chords[0][0])
            found[place] = max(found.get(place, 0.0), len(group.chords) * QUICK_S)
    return found


def play_group(group: Group, places: Places, clock: Clock) -> tuple[list[Strike], float]:
    """The strokes of a group, and the seconds by which its principal note comes later than written."""
    place = places.at(group.chords[0][0])
    beat = clock.seconds(place)
    if group.leaning and group.principal is not None:
        main, head = group.principal, group.chords[0][0]
        dotted = main.value.numerator == 3
        taken = min(head.value, (DOTTED_SHARE if dotted else LEANING_SHARE) * main.duration)
        end = clock.seconds(place + float(taken))
        return [Strike(n, place, beat, end, n.midi) for n in group.chords[0]], end - beat
    count = len(group.chords)
    time = count * QUICK_S
    if group.since > 0:
        since = beat - clock.seconds(place - group.since)
        time = min(time, (0.85 if count >= LONG else BEFORE_SHARE) * since)
    each = time / count
    strikes = [
        Strike(n, place, beat - time + k * each, beat - time + (k + 1) * each, n.midi)
        for k, chord in enumerate(group.chords)
        for n in chord
    ]
    return strikes, 0.0


def roll_chords(strikes: Sequence[Strike], rng: np.random.Generator) -> None:
    """Open the chords that carry an arpeggio sign; signs at both staves are rolled hand by hand together."""
    rows: dict[tuple[float, int], list[Strike]] = defaultdict(list)
    signs: dict[int, str] = {}
    for strike in strikes:
        if strike.note.arpeggio in {"up", "down"} and not strike.note.grace:
            signs[strike.note.chord] = strike.note.arpeggio
    for strike in strikes:
        if strike.note.chord in signs and not strike.note.grace:
            rows[strike.at, strike.note.chord].append(strike)
    for (_, chord), row in rows.items():
        row.sort(key=lambda s: s.pitch, reverse=signs[chord] == "down")
        lasting = min(s.end - s.onset for s in row)
        step = min(ROLL_STEP_S, ROLL_SHARE * lasting / max(len(row) - 1, 1))
        step *= 1.0 + 0.15 * float(rng.normal())
        for k, strike in enumerate(row):
            strike.onset += k * max(step, 0.0)
