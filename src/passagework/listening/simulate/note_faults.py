"""Faults in the notes: other keys, left out, added, old signs, another line of the staff."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from passagework.listening.misreadings import lapsed, moved, unsigned
from passagework.listening.simulate.faults import (
    DroppedNote,
    ExtraNote,
    LapsedAccidental,
    Misreading,
    MissingNote,
    NoteFault,
    OldKey,
    UnsignedNotes,
    WrongNote,
)
from passagework.listening.simulate.strike import Strike
from passagework.listening.simulate.where import Bitten, bitten, inside
from passagework.spots.context import Context
from passagework.spots.signature import Signatures, signature_alter

NEIGHBOURS = (1, -1, 2, -2, 3, -3)
"""Semitones from the right key to the keys beside it, where a finger slips to, the nearest first."""
LOWEST, HIGHEST = 21, 108
"""Keys of a piano."""
SLIP_SOFTER = 12.0
"""Velocity steps by which a key touched by mistake is softer: most slips of pianists are (Repp, 1996)."""


def spoil_notes(
    context: Context, strikes: list[Strike], fault: NoteFault, run: int, rng: np.random.Generator
) -> list[Bitten]:
    """Carry `fault` out on the strokes of pass `run`; extra strokes are added to the list."""
    if isinstance(fault, WrongNote | MissingNote | ExtraNote):
        return _single(strikes, fault, run, rng)
    if isinstance(fault, OldKey):
        return bitten(fault, _old_key(context, strikes, fault), run)
    if isinstance(fault, LapsedAccidental | UnsignedNotes):
        return bitten(fault, _unaltered(context, strikes, fault), run)
    if isinstance(fault, Misreading):
        return bitten(fault, _misread(context, strikes, fault), run)
    return bitten(fault, _dropped(strikes, fault), run)


def _single(
    strikes: list[Strike],
    fault: WrongNote | MissingNote | ExtraNote,
    run: int,
    rng: np.random.Generator,
) -> list[Bitten]:
    mine = [s for s in strikes if s.note.id == fault.note and s.meant and s.sounds]
    if not mine:
        return []
    if isinstance(fault, MissingNote):
        for strike in mine:
            strike.sounds = False
        return bitten(fault, mine, run)
    main = next((s for s in mine if s.main), mine[0])
    pitch = fault.pitch if fault.pitch is not None else _free_key(main, strikes, rng)
    if pitch is None:
        return []
    if isinstance(fault, WrongNote):
        for strike in mine:
            strike.pitch += pitch - main.pitch
        return bitten(fault, mine, run)
    slip = replace(main, pitch=pitch, main=False, meant=False, shape=main.shape - SLIP_SOFTER)
    slip.move(float(rng.normal(0.01, 0.008)))
    strikes.append(slip)
    return bitten(fault, [main], run)


def _free_key(main: Strike, strikes: Sequence[Strike], rng: np.random.Generator) -> int | None:
    """A key beside the right one that nothing else sounds on; one of the two nearest such keys."""
    busy = {
        s.pitch
        for s in strikes
        if s.sounds and s.end > main.onset - 0.15 and s.onset < main.end + 0.15
    }
    free = [
        main.pitch + step
        for step in NEIGHBOURS
        if LOWEST <= main.pitch + step <= HIGHEST and main.pitch + step not in busy
    ]
    return free[int(rng.integers(min(len(free), 2)))] if free else None


def _change(strike: Strike, pitch: int) -> None:
    strike.pitch += pitch - strike.note.midi


def _old_key(context: Context, strikes: Sequence[Strike], fault: OldKey) -> list[Strike]:
    change = next((c for c in Signatures(context.piece).changes if c[1].bar == fault.bar), None)
    if change is None:
        return []
    old, new = change
    found: list[Strike] = []
    for strike in inside(strikes, fault.bar, fault.bar + fault.bars - 1):
        pitch = strike.note.pitch
        was, now = signature_alter(pitch.step, old.fifths), signature_alter(pitch.step, new.fifths)
        if (
            strike.note.onset >= new.onset
            and was != now == pitch.alter
            and not strike.note.accidental
        ):
            _change(strike, replace(pitch, alter=was).midi)
            found.append(strike)
    return found


def _unaltered(
    context: Context, strikes: Sequence[Strike], fault: LapsedAccidental | UnsignedNotes
) -> list[Strike]:
    found: list[Strike] = []
    for strike in inside(strikes, fault.first_bar, fault.last_bar):
        if isinstance(fault, LapsedAccidental):
            plain = lapsed(context.piece, strike.note)
        elif fault.letter in ("", strike.note.pitch.step):
            plain = unsigned(context.piece, strike.note)
        else:
            plain = None
        if plain is not None:
            _change(strike, plain.midi)
            found.append(strike)
    return found


def _misread(context: Context, strikes: Sequence[Strike], fault: Misreading) -> list[Strike]:
    wanted = frozenset(fault.notes)
    found = [s for s in strikes if s.note.id in wanted and s.meant and s.sounds]
    for strike in found:
        _change(strike, moved(context.piece, strike.note, fault.steps).midi)
    return found


def _dropped(strikes: Sequence[Strike], fault: DroppedNote) -> list[Strike]:
    chords: dict[tuple[int, float], list[Strike]] = defaultdict(list)
    for strike in inside(strikes, fault.first_bar, fault.last_bar, fault.hand):
        if strike.main and not strike.note.grace:
            chords[strike.note.bar, strike.at].append(strike)
    fewest = 3 if fault.place == "inner" else 2
    found: list[Strike] = []
    for row in chords.values():
        if len({s.pitch for s in row}) < fewest:
            continue
        row.sort(key=lambda s: s.pitch)
        gone = {"top": row[-1], "bottom": row[0], "inner": row[1]}[fault.place]
        for strike in strikes:
            if strike.note.id == gone.note.id:
                strike.sounds = False
        found.append(gone)
    return found
