"""What can be asked to go wrong, each a value that says where and how much.

Bars are indices, both included. `run` is the index of the pass in which it happens; None for every pass. `kind` is the
kind of finding (`passagework.listening.findings.table`) that a listener should arrive at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from passagework.score.piece import Side

HandChoice = Literal["left", "right", "both"]
Place = Literal["top", "inner", "bottom"]
Shape = Literal["pair", "triplet", "four", "dotted"]


@dataclass(frozen=True, slots=True)
class WrongNote:
    """Another key is struck: `pitch` (MIDI), or where it is None a neighbouring one."""

    note: str
    pitch: int | None = None
    run: int | None = None
    kind: ClassVar[str] = "wrong-notes"


@dataclass(frozen=True, slots=True)
class MissingNote:
    """A note is left out."""

    note: str
    run: int | None = None
    kind: ClassVar[str] = "missing-notes"


@dataclass(frozen=True, slots=True)
class ExtraNote:
    """A key beside `note` is struck with it: `pitch` (MIDI), or where it is None a neighbouring one."""

    note: str
    pitch: int | None = None
    run: int | None = None
    kind: ClassVar[str] = "extra-notes"


@dataclass(frozen=True, slots=True)
class OldKey:
    """After the change of signature at `bar` its old signs are played for `bars` bars."""

    bar: int
    bars: int = 4
    run: int | None = None
    kind: ClassVar[str] = "old-key"


@dataclass(frozen=True, slots=True)
class LapsedAccidental:
    """An accidental is forgotten where it holds for the rest of its bar and is not printed again."""

    first_bar: int
    last_bar: int
    run: int | None = None
    kind: ClassVar[str] = "lapsed-accidental"


@dataclass(frozen=True, slots=True)
class UnsignedNotes:
    """Notes are played natural that the signature alters; only those of `letter` where one is given."""

    first_bar: int
    last_bar: int
    letter: str = ""
    run: int | None = None
    kind: ClassVar[str] = "forgotten-signature"


@dataclass(frozen=True, slots=True)
class Misreading:
    """A row of notes is read `steps` staff steps too high (too low: negative), under the signature."""

    notes: tuple[str, ...]
    steps: int
    run: int | None = None
    kind: ClassVar[str] = "misreading"


@dataclass(frozen=True, slots=True)
class DroppedNote:
    """The same member of every chord of one hand does not sound."""

    first_bar: int
    last_bar: int
    hand: Side
    place: Place = "inner"
    run: int | None = None
    kind: ClassVar[str] = "dropped-note"


@dataclass(frozen=True, slots=True)
class Hesitation:
    """A pause of `seconds` before `note` and all that is struck with it."""

    note: str
    seconds: float
    run: int | None = None
    kind: ClassVar[str] = "hesitation"


@dataclass(frozen=True, slots=True)
class Restart:
    """The player stops in `bar`, after `beats` of it, and takes it up again `back` bars earlier, `times` times over."""

    bar: int
    beats: int = 1
    back: int = 1
    times: int = 1
    pause: float = 1.2
    kind: ClassVar[str] = "stops"


@dataclass(frozen=True, slots=True)
class Skip:
    """After `bar` the player goes on from `to_bar`, further ahead."""

    bar: int
    to_bar: int
    pause: float = 0.6
    kind: ClassVar[str] = "stops"


@dataclass(frozen=True, slots=True)
class Rushing:
    """A stretch is `factor` times as fast (above 1)."""

    first_bar: int
    last_bar: int
    factor: float = 1.2
    run: int | None = None
    kind: ClassVar[str] = "rushing"


@dataclass(frozen=True, slots=True)
class Slowing:
    """A stretch is `factor` times as fast (below 1)."""

    first_bar: int
    last_bar: int
    factor: float = 0.75
    run: int | None = None
    kind: ClassVar[str] = "tempo"


@dataclass(frozen=True, slots=True)
class Proportion:
    """In every figure of `shape`, note `member` (0 the first) takes `percent` points more of the figure's time."""

    first_bar: int
    last_bar: int
    hand: HandChoice
    shape: Shape
    member: int
    percent: float
    run: int | None = None
    kind: ClassVar[str] = "proportions"


@dataclass(frozen=True, slots=True)
class Polyrhythm:
    """Where the hands divide the beat differently, note `member` of `hand` takes `percent` points more of the beat."""

    first_bar: int
    last_bar: int
    hand: Side
    member: int
    percent: float
    run: int | None = None
    kind: ClassVar[str] = "polyrhythm"


@dataclass(frozen=True, slots=True)
class HandsApart:
    """The other hand comes `ms` milliseconds after the one that `leads`."""

    first_bar: int
    last_bar: int
    ms: float
    leads: Side = "left"
    run: int | None = None
    kind: ClassVar[str] = "hands-together"


@dataclass(frozen=True, slots=True)
class Uneven:
    """Uneven playing in one hand: `notes` come `ms` late and `steps` louder (velocity); where no notes are named, all of
    the bars scatter with these standard deviations.
    """

    first_bar: int
    last_bar: int
    hand: Side
    ms: float = 35.0
    steps: float = 12.0
    notes: tuple[str, ...] = ()
    run: int | None = None
    kind: ClassVar[str] = "evenness"


@dataclass(frozen=True, slots=True)
class FlatBalance:
    """The tune is as loud as what accompanies it, or `above` velocity steps louder (negative: softer)."""

    first_bar: int
    last_bar: int
    above: float = 0.0
    run: int | None = None
    kind: ClassVar[str] = "balance"


@dataclass(frozen=True, slots=True)
class Dynamics:
    """The contrasts of the marks times `scale`: 0 all at one loudness, -1 the opposite of what is marked."""

    first_bar: int
    last_bar: int
    scale: float = 0.0
    run: int | None = None
    kind: ClassVar[str] = "dynamics"


@dataclass(frozen=True, slots=True)
class LegatoCut:
    """Slurred notes are held for only `share` of the time to the next."""

    first_bar: int
    last_bar: int
    hand: HandChoice
    share: float = 0.6
    run: int | None = None
    kind: ClassVar[str] = "articulation"


@dataclass(frozen=True, slots=True)
class StaccatoHeld:
    """Notes with dots are held for `share` of their time."""

    first_bar: int
    last_bar: int
    hand: HandChoice
    share: float = 0.97
    run: int | None = None
    kind: ClassVar[str] = "articulation"


@dataclass(frozen=True, slots=True)
class PedalHeld:
    """One pedal is held through all the bars."""

    first_bar: int
    last_bar: int
    run: int | None = None
    kind: ClassVar[str] = "pedal"


@dataclass(frozen=True, slots=True)
class PedalLate:
    """Every lift of the pedal comes `seconds` late."""

    first_bar: int
    last_bar: int
    seconds: float = 0.3
    run: int | None = None
    kind: ClassVar[str] = "pedal"


NoteFault = (
    WrongNote
    | MissingNote
    | ExtraNote
    | OldKey
    | LapsedAccidental
    | UnsignedNotes
    | Misreading
    | DroppedNote
)
PlanFault = Restart | Skip
PaceFault = Hesitation | Rushing | Slowing
TimeFault = Proportion | Polyrhythm | HandsApart | Uneven
SoundFault = FlatBalance | Dynamics
TouchFault = LegatoCut | StaccatoHeld
PedalFault = PedalHeld | PedalLate
Fault = NoteFault | PlanFault | PaceFault | TimeFault | SoundFault | TouchFault | PedalFault
