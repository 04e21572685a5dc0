"""Plain numbers of a piece for a hand, each with its unit and where it comes from.

Two sorts. The *rising* ones never fall when notes are added, the tempo is raised, notes are altered or the hand is smaller, and
never rise when notes or bars are taken away: the level is made of them alone, which is what makes it keep its word. The others
are given since research knows them, in the form in which it does.

A number that stands for bars is what the hardest 2, 8 and 24 of them ask (`passagework.demands.sustained`). *Busier* and *other*
name the hand with more and with less of the same thing.

Sources: Sebastien, Ralambondrainy, Sebastien and Conruyt (2012), "Score analyzer: automatically determining scores difficulty level
for instrumental e-learning"; Chiu and Chen (2012), "A study on difficulty level recognition of piano sheet music"; Ramoneda, Tamer,
Eremenko, Serra and Miron (2022), "Score difficulty analysis for piano performance education"; Ramoneda, Jeong, Eremenko, Tamer, Miron
and Serra (2024), "Combining piano performance dimensions for score difficulty classification".
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from passagework.demands import motion, pitches, published, rhythm
from passagework.demands.grid import Grid
from passagework.demands.sustained import hardest_bars, sustained

SEBASTIEN, CHIU, RAMONEDA_2022, RAMONEDA_2024 = (
    "Sebastien and others, 2012",
    "Chiu and Chen, 2012",
    "Ramoneda and others, 2022",
    "Ramoneda and others, 2024",
)
OURS = "our judgement"


@dataclass(frozen=True, slots=True)
class Measured:
    """A value, and the bars that hold the most of it where it stands in bars."""

    value: float
    bars: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Descriptor:
    """One row of the table."""

    name: str
    """Its name in profiles and tables: lower case, underscores."""
    title: str
    """Its name in words, after "more" or "less": ``"notes struck together"``."""
    unit: str
    source: str
    measure: Callable[[Grid], Measured]
    rising: bool = True
    """Whether it keeps the promises of the module's head, so that the level may be made of it."""


def in_bars(amounts: Callable[[Grid], list[float]]) -> Callable[[Grid], Measured]:
    """What the hardest bars ask."""

    def measure(grid: Grid) -> Measured:
        rows = amounts(grid)
        return Measured(sustained(rows), hardest_bars(rows))

    return measure


def of_hand(
    amounts: Callable[[Grid, int], list[float]], *, busier: bool
) -> Callable[[Grid], Measured]:
    """The same for the hand that has more of it, or for the other one."""

    def measure(grid: Grid) -> Measured:
        both = sorted((sustained(r), h, r) for h in (0, 1) for r in [grid.of_hand(amounts, h)])
        value, _, rows = both[1 if busier else 0]
        return Measured(value, hardest_bars(rows))

    return measure


def counted(count: Callable[[Grid], int]) -> Callable[[Grid], Measured]:
    """A count over the whole piece."""
    return lambda grid: Measured(float(count(grid)))


def counted_of_hand(
    count: Callable[[Grid, int], int], *, busier: bool
) -> Callable[[Grid], Measured]:
    """A count over the whole piece, for the hand that has more, or for the other one."""
    choose: Callable[[Sequence[int]], int] = max if busier else min
    return lambda grid: Measured(float(choose([grid.of_hand(count, h) for h in (0, 1)])))


def plain(number: Callable[[Grid], float]) -> Callable[[Grid], Measured]:
    """A number of the whole piece."""
    return lambda grid: Measured(float(number(grid)))


DESCRIPTORS: tuple[Descriptor, ...] = (
    Descriptor("speed_busier", "attacks in the busier hand", "1/s", f"{CHIU}; {RAMONEDA_2024}", of_hand(motion.attacks, busier=True)),
    Descriptor("speed_other", "attacks in the other hand", "1/s", f"{CHIU}; {RAMONEDA_2024}", of_hand(motion.attacks, busier=False)),
    Descriptor("burst_busier", "attacks in the fullest beats", "1/s", CHIU, of_hand(motion.burst, busier=True)),
    Descriptor("added_notes", "notes struck together in one hand", "1/s", SEBASTIEN, in_bars(motion.added_notes)),
    Descriptor("octaves", "octaves and wider grips", "1/s", OURS, in_bars(motion.octaves)),
    Descriptor("travel_busier", "way that one hand goes beyond five keys", "white keys/s", f"{SEBASTIEN}; {RAMONEDA_2024}", of_hand(motion.travel, busier=True)),
    Descriptor("travel_other", "way that the other hand goes beyond five keys", "white keys/s", f"{SEBASTIEN}; {RAMONEDA_2024}", of_hand(motion.travel, busier=False)),
    Descriptor("span", "width of the chords against the hand's comfortable reach", "share of the reach", SEBASTIEN, in_bars(motion.spans)),
    Descriptor("held_notes", "attacks under which the same hand holds a note", "1/s", SEBASTIEN, in_bars(motion.held)),
    Descriptor("together", "moments at which the hands play in one beat", "1/s", RAMONEDA_2022, in_bars(rhythm.together)),
    Descriptor("divisions", "finest division of the beat", "bits", CHIU, in_bars(rhythm.divisions)),
    Descriptor("off_beat", "notes held from off the beat over the next one", "1/s", CHIU, in_bars(rhythm.off_beat)),
    Descriptor("figures", "different places and lengths of notes in the beat", "", CHIU, counted(rhythm.figures)),
    Descriptor("metre_changes", "changes of metre and uneven metres", "", OURS, counted(rhythm.metre_changes)),
    Descriptor("places_busier", "different notes in one hand", "", RAMONEDA_2024, counted_of_hand(pitches.places, busier=True)),
    Descriptor("places_other", "different notes in the other hand", "", RAMONEDA_2024, counted_of_hand(pitches.places, busier=False)),
    Descriptor("compass", "range from the lowest to the highest note", "white keys", f"{SEBASTIEN}; {RAMONEDA_2022}", counted(pitches.compass)),
    Descriptor("successions_busier", "different steps and leaps in one hand", "", f"after {RAMONEDA_2024}", counted_of_hand(pitches.successions, busier=True)),
    Descriptor("successions_other", "different steps and leaps in the other hand", "", f"after {RAMONEDA_2024}", counted_of_hand(pitches.successions, busier=False)),
    Descriptor("sonorities", "different pairs of notes struck together", "", f"after {RAMONEDA_2024}", counted(pitches.sonorities)),
    Descriptor("altered", "notes altered against the signature", "per bar", f"{CHIU}; {SEBASTIEN}", in_bars(pitches.altered)),
    Descriptor("signature", "sharps or flats of the key signature", "", CHIU, counted(pitches.signature)),
    Descriptor("reading", "ledger lines and changes of clef", "per bar", OURS, in_bars(pitches.reading)),
    Descriptor("small_notes", "ornaments and grace notes", "per bar", SEBASTIEN, in_bars(pitches.small_notes)),
    Descriptor("notes", "notes in all", "", SEBASTIEN, counted(pitches.notes)),
    Descriptor("bars", "bars", "", SEBASTIEN, counted(lambda grid: grid.bars)),
    *(Descriptor(name, title, unit, source, plain(number), rising=False) for name, title, unit, source, number in published.ROWS),
)  # fmt: skip
"""Every descriptor, in the order in which profiles give them."""

RISING = tuple(d.name for d in DESCRIPTORS if d.rising)


def measure_descriptors(grid: Grid, *, rising_only: bool = False) -> dict[str, Measured]:
    """Every descriptor of a piece, or only those that the level is made of."""
    return {d.name: d.measure(grid) for d in DESCRIPTORS if d.rising or not rising_only}


def descriptor(name: str) -> Descriptor:
    """The row of that name; raises `KeyError` for none."""
    for row in DESCRIPTORS:
        if row.name == name:
            return row
    raise KeyError(name)
