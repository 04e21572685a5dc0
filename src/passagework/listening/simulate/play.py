"""The door of the room: a piece as one would hear it played, with the faults that are asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from passagework.listening.adornment import written_out
from passagework.listening.alignment import PassHand
from passagework.listening.simulate.clock import Clock, Pace, Places
from passagework.listening.simulate.faults import (
    DroppedNote,
    Dynamics,
    ExtraNote,
    Fault,
    FlatBalance,
    HandsApart,
    Hesitation,
    LapsedAccidental,
    LegatoCut,
    Misreading,
    MissingNote,
    OldKey,
    PedalHeld,
    PedalLate,
    Polyrhythm,
    Proportion,
    Rushing,
    Slowing,
    StaccatoHeld,
    Uneven,
    UnsignedNotes,
    WrongNote,
)
from passagework.listening.simulate.graces import groups_of, waits
from passagework.listening.simulate.hands import humanise
from passagework.listening.simulate.keys import one_key_once
from passagework.listening.simulate.loudness import Force
from passagework.listening.simulate.note_faults import spoil_notes
from passagework.listening.simulate.pedal import pedal_spans, play_pedal
from passagework.listening.simulate.plan import Stretch, plan
from passagework.listening.simulate.sound_faults import hold, spoil_sound
from passagework.listening.simulate.strike import Strike
from passagework.listening.simulate.strokes import notes_of, ornamented, plain_strokes
from passagework.listening.simulate.time_faults import spoil_time
from passagework.listening.simulate.touch import Touches
from passagework.listening.simulate.truth import FaultTruth, Played, Truth, aligned, merged
from passagework.listening.simulate.where import Bitten
from passagework.listening.take import PedalHold, PlayedNote, Take
from passagework.score.piece import Piece, Position
from passagework.spots.context import Context

START_S = 1.0
"""Seconds of silence before the first note."""
SLOWEST, FASTEST = 0.1, 4.0
"""Bounds of `tempo_scale`."""


@dataclass(frozen=True)
class Simulated:
    """A take, and the truth about it."""

    take: Take
    truth: Truth


@dataclass(frozen=True)
class _Manner:
    tempo_scale: float
    rubato: float
    expression: float
    hand: PassHand
    faults: tuple[Fault, ...]
    touches: Touches
    hidden: dict[str, Position]


def play(
    source: Piece | Context,
    *,
    seed: int,
    tempo_scale: float = 1.0,
    rubato: float = 1.0,
    expression: float = 1.0,
    faults: Sequence[Fault] = (),
    bars: tuple[int, int] | None = None,
    passes: Sequence[tuple[int, int]] | None = None,
    hands: PassHand = "both",
) -> Simulated:
    """Play a piece; the same seed gives the same take.

    `tempo_scale` times the piece's own tempo; `rubato` and `expression` scale how far tempo, and loudness with the voicing of the
    tune, move (1 as a musical player's, 0 not at all). `bars` (first and last index) are played once; `passes` are several
    such spans, one after the other with a breath between; with neither, the page's order with its repeats. A `Context` in
    place of the piece spares analysing it again.

    Raises ValueError for bars that the piece does not have and for a tempo outside `SLOWEST` to `FASTEST`.
    """
    if not SLOWEST <= tempo_scale <= FASTEST:
        raise ValueError(f"tempo_scale must lie between {SLOWEST} and {FASTEST}, not {tempo_scale}")
    context = source if isinstance(source, Context) else Context(source)
    rows, planned = plan(context.piece, bars, passes, faults)
    manner = _Manner(
        tempo_scale, rubato, expression, hands, tuple(faults), Touches(context), written_out(context.piece)
    )  # fmt: skip
    rng = np.random.default_rng(seed)
    strikes: list[list[Strike]] = []
    pedals: list[PedalHold] = []
    spoiled: list[Bitten] = []
    now = START_S
    for run, row in enumerate(rows):
        played = _pass(context, row, run, now + row.pause, manner, rng)
        strikes.append(played.strikes)
        pedals += played.pedals
        spoiled += played.spoiled
        now = max(played.end, now + row.pause)
    take, truth = _gather(strikes, pedals, hands)
    told = [FaultTruth(p.fault, p.fault.kind, p.first_bar, p.last_bar, (), p.runs) for p in planned]
    told += [
        FaultTruth(b.fault, b.fault.kind, b.first_bar, b.last_bar, b.notes, (b.run,))
        for b in spoiled
    ]
    done = merged(told)
    known = {row.fault for row in done}
    idle = tuple(f for f in dict.fromkeys(faults) if f not in known)
    return Simulated(take, replace(truth, faults=done, idle=idle))


@dataclass(frozen=True)
class _PassPlayed:
    strikes: list[Strike]
    pedals: list[PedalHold]
    spoiled: list[Bitten]
    end: float


def _pass(
    context: Context,
    row: Stretch,
    run: int,
    start: float,
    manner: _Manner,
    rng: np.random.Generator,
) -> _PassPlayed:
    """One pass, from `start` seconds on."""
    faults = [f for f in manner.faults if getattr(f, "run", None) in (None, run)]
    notes = notes_of(context.piece, row.bars, row.stop, manner.hand)
    places = Places(context, row)
    groups = groups_of(notes, places)
    spoiled: list[Bitten] = []
    pauses, bends = waits(groups, places), []
    present = {n.id for n in notes}
    for fault in faults:
        if isinstance(fault, Hesitation) and fault.note in present:
            note = context.piece.by_id[fault.note]
            place = places.at(note)
            if place > 0:
                pauses[place] = pauses.get(place, 0.0) + fault.seconds
                ids = tuple(
                    n.id
                    for n in notes
                    if not n.grace and n.onset == note.onset and n.bar == note.bar
                )
                spoiled.append(Bitten(fault, note.bar, note.bar, ids, run))
        elif isinstance(fault, Rushing | Slowing):
            span = _span(context, row, places, fault.first_bar, fault.last_bar)
            if span:
                bends.append((span[0], span[1], fault.factor))
                spoiled.append(Bitten(fault, fault.first_bar, fault.last_bar, (), run))
    clock = Clock(
        context, row, places, Pace(pauses, bends), start=start, scale=manner.tempo_scale, rubato=manner.rubato, rng=rng
    )  # fmt: skip
    strikes = plain_strokes(notes, groups, manner.hidden, places, clock)
    touching = [f for f in faults if isinstance(f, LegatoCut | StaccatoHeld)]
    spoiled += hold(strikes, touching, run, manner.touches, rng)
    Force(context, manner.expression, rng).give(strikes)
    strikes = ornamented(context, strikes, manner.hidden, rng)
    for fault in faults:
        if isinstance(fault, FlatBalance | Dynamics):
            spoiled += spoil_sound(context, strikes, fault, run)
    humanise(strikes, rng)
    for fault in faults:
        if isinstance(fault, Proportion | Polyrhythm | HandsApart | Uneven):
            spoiled += spoil_time(context, strikes, fault, run, places, clock, rng)
        elif isinstance(
            fault,
            WrongNote
            | MissingNote
            | ExtraNote
            | OldKey
            | LapsedAccidental
            | UnsignedNotes
            | Misreading
            | DroppedNote,
        ):
            spoiled += spoil_notes(context, strikes, fault, run, rng)
    held: list[tuple[float, float, PedalHeld | PedalLate]] = []
    downs = pedal_spans(context, places)
    for fault in faults:
        if isinstance(fault, PedalHeld | PedalLate):
            span = _span(context, row, places, fault.first_bar, fault.last_bar)
            lifts = [stop for _, stop, _ in downs if span and span[0] <= stop < span[1]]
            if span and (lifts or isinstance(fault, PedalHeld)):
                held.append((span[0], span[1], fault))
                spoiled.append(Bitten(fault, fault.first_bar, fault.last_bar, (), run))
    pedals = play_pedal(downs, clock, held, rng)
    return _PassPlayed(strikes, pedals, spoiled, clock.end)


def _span(
    context: Context, row: Stretch, places: Places, first_bar: int, last_bar: int
) -> tuple[float, float] | None:
    """Bars as quarters of a pass; None where it does not play them all."""
    if first_bar not in places.of_bar or last_bar not in places.of_bar:
        return None
    end = places.of_bar[last_bar] + float(context.bar(last_bar).length)
    return (places.of_bar[first_bar], end) if end <= places.end + 1e-6 or row.stop is None else None


def _gather(
    strikes: Sequence[Sequence[Strike]], pedals: Sequence[PedalHold], hand: PassHand
) -> tuple[Take, Truth]:
    """The take of all passes, and its alignment."""
    run_of = {id(s): run for run, row in enumerate(strikes) for s in row}
    found, shared = one_key_once(s for row in strikes for s in row if s.sounds)
    notes = [
        PlayedNote(max(s.onset, 0.0), max(s.end - s.onset, 1e-3), s.pitch, s.velocity)
        for s in found
    ]
    order = sorted(range(len(notes)), key=lambda k: (notes[k].onset, notes[k].pitch))
    place = {old: new for new, old in enumerate(order)}
    sounding: list[list[tuple[int, Strike]]] = [[] for _ in strikes]
    for k, strike in enumerate(found):
        sounding[run_of[id(strike)]].append((place[k], strike))
    passes = [
        Played(tuple(heard), tuple(s for s in row if not s.sounds), hand)
        for heard, row in zip(sounding, strikes, strict=True)
    ]
    alignment, ornamental, unisons = aligned(passes, {place[k]: row for k, row in shared.items()})
    take = Take(tuple(notes[k] for k in order), _apart(pedals))
    return take, Truth(alignment, ornamental, unisons, ())


def _apart(pedals: Sequence[PedalHold]) -> tuple[PedalHold, ...]:
    """Pedals in order, none reaching into the next."""
    found: list[PedalHold] = []
    for hold_ in sorted(pedals, key=lambda p: p.start):
        if found and hold_.start < found[-1].end:
            found[-1] = replace(found[-1], end=max(found[-1].end, hold_.end))
        else:
            found.append(hold_)
    return tuple(found)
