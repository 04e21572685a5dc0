"""Standard fingerings of scales, arpeggios, sevenths and broken chords, as manuals print them.

A pattern is written for the notes of one octave, in order upwards, as they are played in the middle of
a longer run; `first` and `last` are what stands on the lowest and the highest note. Where manuals
differ, several patterns are given, and any of them counts as printed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from passagework.score.piece import Side

PITCH = {"C": 0, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "Gb": 6, "G": 7, "Ab": 8, "A": 9, "Bb": 10,
         "B": 11, "F#": 6, "C#": 1, "G#": 8}  # fmt: skip
MAJOR = (0, 2, 4, 5, 7, 9, 11)
HARMONIC = (0, 2, 3, 5, 7, 8, 11)
NATURAL = (0, 2, 3, 5, 7, 8, 10)
MELODIC = (0, 2, 3, 5, 7, 9, 11)


@dataclass(frozen=True)
class Entry:
    """One thing to play: `steps` of one octave above `tonic`, and the patterns that manuals print."""

    name: str
    family: str
    side: Side
    tonic: int
    steps: tuple[int, ...]
    patterns: tuple[str, ...]
    """``first/middle/last``; first and last list what may stand there."""
    down: tuple[int, ...] = ()
    """Steps downwards, where they differ (melodic minor)."""
    down_patterns: tuple[str, ...] = ()

    def keys(self, octaves: int = 2, base: int | None = None) -> list[int]:
        base = (48 if self.side == "right" else 36) if base is None else base
        start = base + self.tonic
        up = [start + 12 * o + s for o in range(octaves) for s in self.steps] + [
            start + 12 * octaves
        ]
        steps = self.down or self.steps
        down = [start + 12 * o + s for o in range(octaves) for s in steps]
        return up + down[::-1]

    def printed(self, octaves: int = 2) -> list[list[int]]:
        ups = list(_rows(self.patterns, octaves))
        downs = list(_rows(self.down_patterns or self.patterns, octaves))
        return [up + down[-2::-1] for up, down in product(ups, downs)
                if self.down or (up[1:-1] == down[1:-1])]  # fmt: skip


def _rows(patterns: Sequence[str], octaves: int) -> Iterator[list[int]]:
    for pattern in patterns:
        first, middle, last = pattern.split("/")
        row = [int(c) for c in middle] * octaves
        for f, t in product(first or middle[0], last or middle[0]):
            yield [int(f), *row[1:], int(t)]


def agreement(entry: Entry, fingers: Sequence[int], octaves: int = 2) -> int:
    """How many notes agree with the printed choice that fits best."""
    return max(
        sum(a == b for a, b in zip(fingers, row, strict=True)) for row in entry.printed(octaves)
    )


RIGHT_MAJOR = {
    "C": "1/1231234/5", "G": "1/1231234/5", "D": "1/1231234/5", "A": "1/1231234/5",
    "E": "1/1231234/5", "B": "1/1231234/5", "F": "1/1234123/4", "Bb": "24/4123123/4",
    "Eb": "23/3123412/3", "Ab": "23/3412312/23", "Db": "2/2312341/2", "Gb": "2/2341231/2",
}  # fmt: skip
LEFT_MAJOR = {
    "C": "5/1432132/1", "G": "5/1432132/1", "D": "5/1432132/1", "A": "5/1432132/1",
    "E": "5/1432132/1", "F": "5/1432132/1", "B": "4/1321432/1", "Bb": "3/3214321/23",
    "Eb": "3/3214321/23", "Ab": "3/3214321/23", "Db": "3/3214321/23", "Gb": "4/4321321/24",
}  # fmt: skip
RIGHT_MINOR = {
    "C": "1/1231234/5", "G": "1/1231234/5", "D": "1/1231234/5", "A": "1/1231234/5",
    "E": "1/1231234/5", "B": "1/1231234/5", "F": "1/1234123/4", "F#": "23/3412312/23",
    "C#": "23/3412312/23", "G#": "23/3412312/23", "Eb": "23/3123412/3", "Bb": "24/4123123/4",
}  # fmt: skip
RIGHT_MELODIC_UP = RIGHT_MINOR | {
    "F#": "23/2312341/2", "C#": "23/2312341/2", "G#": "23/3412312/23",
}  # fmt: skip
LEFT_MINOR = {
    "C": "5/1432132/1", "G": "5/1432132/1", "D": "5/1432132/1", "A": "5/1432132/1",
    "E": "5/1432132/1", "F": "5/1432132/1", "B": "4/1321432/1", "F#": "4/4321321/24",
    "C#": "3/3214321/23", "G#": "3/3214321/23|3/3213214/23", "Eb": "2/2143213/2", "Bb": "2/2132143/2",
}  # fmt: skip
LEFT_NATURAL = LEFT_MINOR | {"G#": "3/3213214/23"}

MAJOR_STEPS, MINOR_STEPS = (0, 4, 7), (0, 3, 7)
RIGHT_TRIADS = {
    "C": "1/123/5", "F": "1/123/5", "G": "1/123/5", "D": "1/123/5", "A": "1/123/5", "E": "1/123/5",
    "B": "1/123/5", "Gb": "1/123/5", "Bb": "2/412/4", "Eb": "2/412/4", "Ab": "2/412/4",
    "Db": "2/412/4",
    "Cm": "1/123/5", "Fm": "1/123/5", "Gm": "1/123/5", "Dm": "1/123/5", "Am": "1/123/5",
    "Em": "1/123/5", "Bm": "1/123/5", "Ebm": "1/123/5", "Bbm": "2/231/23", "F#m": "2/412/4",
    "C#m": "2/412/4", "G#m": "2/412/4",
}  # fmt: skip
LEFT_TRIADS = {
    "C": "5/142/1", "F": "5/142/1", "G": "5/142/1", "D": "5/132/1", "A": "5/132/1", "E": "5/132/1",
    "B": "5/132/1", "Gb": "5/132/1", "Bb": "3/321/23", "Eb": "2/214/2", "Ab": "2/214/2",
    "Db": "2/214/2",
    "Cm": "5/142/1", "Fm": "5/142/1", "Gm": "5/142/1", "Dm": "5/142/1", "Am": "5/142/1",
    "Em": "5/142/1", "Bm": "5/142/1", "Ebm": "5/142/1", "Bbm": "3/321/23", "F#m": "2/214/2",
    "C#m": "2/214/2", "G#m": "2/214/2",
}  # fmt: skip
RIGHT_FIRST_INVERSION = dict.fromkeys(
    ("C", "F", "G", "Am", "Dm", "Em", "Cm", "Fm", "Gm", "Bb", "Eb", "Ab", "Db"), "1/124/5"
) | {
    "Cm": "2/412/4|3/312/4|1/124/5", "Fm": "2/412/4|3/312/4|1/124/5", "Gm": "2/412/4|3/312/4|1/124/5",
    "D": "2/412/4|23/312/3", "A": "2/412/4|23/312/3", "E": "2/412/4|23/312/3",
    "Bb": "1/124/5|1/124/4", "Eb": "1/124/4|1/124/5", "Ab": "1/124/4|1/124/5", "Db": "1/124/4|1/124/5",
}  # fmt: skip
LEFT_FIRST_INVERSION = {
    "C": "5/142/1", "F": "5/142/1", "G": "5/142/1", "Am": "5/142/1|5/132/1", "Dm": "5/142/1|5/132/1",
    "Em": "5/142/1|5/132/1", "D": "23/321/23", "A": "23/321/23", "E": "23/321/23",
    "Eb": "5/142/1", "Ab": "5/142/1", "Db": "5/142/1",
}  # fmt: skip
RIGHT_SECOND_INVERSION = dict.fromkeys(
    ("C", "F", "G", "Am", "Dm", "Em", "D", "A", "E"), "1/124/5|1/123/5"
) | {"Eb": "2/241/2", "Ab": "2/241/2", "Db": "2/241/2"}
LEFT_SECOND_INVERSION = dict.fromkeys(
    ("C", "F", "G", "Am", "Dm", "Em", "D", "A", "E"), "5/132/1|5/142/1"
) | {"D": "5/132/1|2/213/2", "A": "5/132/1|2/213/2", "E": "5/132/1|2/213/2",
     "Eb": "4/421/24", "Ab": "4/421/24", "Db": "4/421/24"}  # fmt: skip

DOMINANT, DIMINISHED = (0, 4, 7, 10), (0, 3, 6, 9)
RIGHT_SEVENTHS = dict.fromkeys(("C", "D", "E", "F", "G", "A", "B"), "1/1234/5") | {
    "Bb": "2/4123/4", "Eb": "2/4123/4", "Ab": "2/4123/4",
}  # fmt: skip
LEFT_SEVENTHS = dict.fromkeys(("C", "D", "E", "F", "G", "A", "B"), "5/1432/1") | {
    "Bb": "3/3214/23", "Eb": "2/2143/2", "Ab": "2/2143/2",
}  # fmt: skip
RIGHT_DIMINISHED = dict.fromkeys(("C", "D", "E", "F", "G", "A", "B"), "1/1234/5")
LEFT_DIMINISHED = dict.fromkeys(("C", "D", "E", "F", "G", "A", "B"), "5/1432/1")

CHROMATIC = tuple(range(12))
CHROMATIC_RIGHT = "1/131312313131/2|2/231312313131/2"
CHROMATIC_LEFT = "1/131321313132/1"


def _options(text: str) -> tuple[str, ...]:
    return tuple(text.split("|"))


def _entries(
    family: str, side: Side, steps: tuple[int, ...], table: dict[str, str], **more: object
) -> Iterator[Entry]:
    for name, text in table.items():
        tonic = PITCH[name.removesuffix("m")]
        yield Entry(f"{name} {family}", family, side, tonic, steps, _options(text), **more)  # type: ignore[arg-type]


def _inverted(family: str, side: Side, table: dict[str, str], turn: int) -> Iterator[Entry]:
    for name, text in table.items():
        tonic = PITCH[name.removesuffix("m")]
        steps = MINOR_STEPS if name.endswith("m") else MAJOR_STEPS
        lowest = steps[turn]
        moved = tuple(sorted((s - lowest) % 12 for s in steps))
        yield Entry(f"{name} {family}", family, side, (tonic + lowest) % 12, moved, _options(text))


def scales() -> list[Entry]:
    """All major and minor scales, both hands."""
    rows: list[Entry] = []
    rows += _entries("major", "right", MAJOR, RIGHT_MAJOR)
    rows += _entries("major", "left", MAJOR, LEFT_MAJOR)
    rows += _entries("harmonic minor", "right", HARMONIC, RIGHT_MINOR)
    rows += _entries("harmonic minor", "left", HARMONIC, LEFT_MINOR)
    rows += _entries("natural minor", "right", NATURAL, RIGHT_MINOR)
    rows += _entries("natural minor", "left", NATURAL, LEFT_NATURAL)
    for name, text in RIGHT_MELODIC_UP.items():
        rows.append(Entry(f"{name} melodic minor", "melodic minor", "right", PITCH[name], MELODIC,
                          _options(text), NATURAL, _options(RIGHT_MINOR[name])))  # fmt: skip
    for name, text in LEFT_MINOR.items():
        rows.append(Entry(f"{name} melodic minor", "melodic minor", "left", PITCH[name], MELODIC,
                          _options(text), NATURAL, _options(LEFT_NATURAL[name])))  # fmt: skip
    return rows


def others() -> list[Entry]:
    """Arpeggios, sevenths and the chromatic scale."""
    rows: list[Entry] = []
    sides: tuple[tuple[Side, tuple[dict[str, str], ...]], ...] = (
        ("right", (RIGHT_TRIADS, RIGHT_FIRST_INVERSION, RIGHT_SECOND_INVERSION)),
        ("left", (LEFT_TRIADS, LEFT_FIRST_INVERSION, LEFT_SECOND_INVERSION)),
    )
    for side, tables in sides:
        for turn, table in enumerate(tables):
            rows += _inverted(f"arpeggio {turn}", side, table, turn)
    rows += _entries("dominant seventh", "right", DOMINANT, RIGHT_SEVENTHS)
    rows += _entries("dominant seventh", "left", DOMINANT, LEFT_SEVENTHS)
    rows += _entries("diminished seventh", "right", DIMINISHED, RIGHT_DIMINISHED)
    rows += _entries("diminished seventh", "left", DIMINISHED, LEFT_DIMINISHED)
    rows.append(Entry("chromatic", "chromatic", "right", 0, CHROMATIC, _options(CHROMATIC_RIGHT)))
    rows.append(Entry("chromatic", "chromatic", "left", 0, CHROMATIC, _options(CHROMATIC_LEFT)))
    return rows


@dataclass(frozen=True)
class Broken:
    """A broken chord in groups that climb one inversion at a time, and come back."""

    name: str
    side: Side
    keys: tuple[int, ...]
    printed: tuple[int, ...]


BROKEN_FOUR = {"right": ("1235", "1245", "1245"), "left": ("5421", "5421", "5321")}
"""Root position, first and second inversion, four notes each (C, F and G major)."""
BROKEN_FOUR_DAE_LEFT = ("5321", "5421", "5321")
"""D, A and E major in the left hand: the wide third from white to black takes 5 and 3."""
BROKEN_THREE = {"right": ("135", "125", "135"), "left": ("531", "531", "521")}


def broken_chords() -> list[Broken]:
    """Broken chords of three and of four notes, climbing by inversions from the root."""
    rows: list[Broken] = []
    for name, side, size in product(("C", "F", "G", "D", "A", "E"), ("right", "left"), (3, 4)):
        patterns = (BROKEN_THREE if size == 3 else BROKEN_FOUR)[side]
        if size == 4 and side == "left" and name in "DAE":
            patterns = BROKEN_FOUR_DAE_LEFT
        base = (60 if side == "right" else 36) + PITCH[name]
        ladder = [base + 12 * o + s for o in range(4) for s in MAJOR_STEPS]
        keys: list[int] = []
        printed: list[int] = []
        for start in range(4):
            keys += ladder[start : start + size]
            printed += [int(c) for c in patterns[start % 3]]
        rows.append(Broken(f"{name} broken {size}", side, tuple(keys), tuple(printed)))  # type: ignore[arg-type]
    return rows
