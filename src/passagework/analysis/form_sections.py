"""Sections: the large parts of a piece, with letters for what comes back.

Evidence for a boundary is gathered at every bar line: what the page says (repeat signs, double bars, a
new key signature or metre, a new tempo), what the music does (silence, a fermata, a long last note, a
new texture) and where a long passage begins or ends that comes back. The sections are the cut that
gathers most of it (dynamic programming), none shorter than `SHORTEST` bars.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.analysis.form_prints import BarPrint
from passagework.analysis.form_repeats import Diagonal, Repeat
from passagework.analysis.texture import BarTexture
from passagework.score.piece import Piece

SHORTEST = 4
"""Bars of a section at least."""

LONGEST = 64
"""Bars that a section is tried for; longer ones come about only where nothing speaks for a cut."""

SECTION_COST = 1.8
"""Evidence that a cut needs."""

FOUR_SQUARE = 0.3
"""Worth of a length that is a multiple of four bars."""

REPEAT_SIGN = 3.0
DOUBLE_BAR = 2.2
KEY_SIGNATURE = 2.0
METRE = 1.2
TEMPO = 1.2
FERMATA = 0.8
SILENCE = 0.8
TEXTURE = 1.3
"""Worth of a wholly new texture."""

TEXTURE_BARS = 4
"""Bars before and after that are compared."""

RETURN = 0.4
RETURN_PER_DOUBLING = 0.8
"""Worth of the beginning of a return of two bars, and more for each doubling."""

RETURN_EDGE = 0.8
"""Share of that for the end of a return, and for the beginning and end of its model."""

SHORT = 8
SHORT_COST = 0.6
"""Price of a section of fewer bars than `SHORT`."""

RETURN_BARS = 4
"""Bars a return must have to speak for a boundary."""

SAME_SECTION = 0.5
"""Share of a section's bars that must come from an earlier one for it to have the same letter."""

DOUBLE_BARS = frozenset({"light-light", "light-heavy", "heavy-light", "heavy-heavy"})


@dataclass(frozen=True, slots=True)
class Section:
    """A section. Bar indices, the last one included."""

    first_bar: int
    last_bar: int
    label: str
    """``"A"``, ``"B"`` ..; ``"A'"`` for a return with changes."""
    likeness: float
    """Share of its bars that come back from the section of that letter; 1 for the first of a letter."""
    evidence: float
    """What spoke for the boundary before it; 0 for the first section."""
    reasons: tuple[str, ...]
    """The same in words."""


@dataclass(frozen=True)
class Boundaries:
    """Evidence at every bar line, by the bar after it."""

    worth: tuple[float, ...]
    page: tuple[float, ...]
    """The part of it that is printed or comes from returns, without texture."""
    reasons: tuple[tuple[str, ...], ...]


def weigh_boundaries(
    piece: Piece,
    textures: Sequence[BarTexture],
    repeats: Sequence[Repeat],
    prints: Sequence[BarPrint],
) -> Boundaries:
    """Evidence for a boundary before each bar."""
    size = len(piece.bars)
    worth = [0.0] * size
    reasons: list[list[str]] = [[] for _ in range(size)]

    def say(bar: int, value: float, reason: str) -> None:
        if 0 < bar < size and reason not in reasons[bar]:
            worth[bar] += value
            reasons[bar].append(reason)

    for before, bar in zip(piece.bars, piece.bars[1:], strict=False):
        if bar.repeat_start or before.repeat_end:
            say(bar.index, REPEAT_SIGN, "repeat sign")
        elif before.barline in DOUBLE_BARS:
            say(bar.index, DOUBLE_BAR, "double bar")
        if bar.fifths != before.fifths:
            say(bar.index, KEY_SIGNATURE, "new key signature")
        if bar.time.length != before.time.length:
            say(bar.index, METRE, "new metre")
        if prints[before.index].silent and not before.pickup:
            say(bar.index, SILENCE, "silence")
    for mark in piece.metronomes:
        if mark.printed and mark.onset == piece.bars[mark.bar].onset:
            say(mark.bar, TEMPO, "new tempo")
    for words in piece.words:
        if words.bold and words.onset == piece.bars[words.bar].onset:
            say(words.bar, TEMPO, "new tempo")
    for note in piece.notes:
        if "fermata" in note.articulations and 2 * note.end >= 2 * piece.bars[note.bar].end:
            say(note.bar + 1, FERMATA, "fermata")
    for repeat in repeats:
        if repeat.bars >= RETURN_BARS:
            value = RETURN + RETURN_PER_DOUBLING * (repeat.bars.bit_length() - 2)
            say(repeat.again_first, value, "a passage comes back")
            say(repeat.first_bar, RETURN_EDGE * value, "begins a passage that comes back")
            say(repeat.again_last + 1, RETURN_EDGE * value, "end of a passage that came back")
            say(repeat.last_bar + 1, RETURN_EDGE * value, "end of a passage that comes back")
    page = tuple(worth)
    for index, change in enumerate(_texture_change(textures, size)):
        if change >= 0.4:
            say(index, TEXTURE * change, "new texture")
    return Boundaries(tuple(worth), page, tuple(map(tuple, reasons)))


def _texture_change(textures: Sequence[BarTexture], size: int) -> list[float]:
    """For every bar line 0 to 1: how unlike the textures are on both sides of it."""
    change = [0.0] * size
    rows = {side: [t for t in textures if t.hand == side] for side in ("right", "left")}
    for bar in range(1, size):
        for row in rows.values():
            before = row[max(0, bar - TEXTURE_BARS) : bar]
            after = row[bar : bar + TEXTURE_BARS]
            names = {t.texture for t in (*before, *after)}
            apart = sum(
                abs(
                    sum(t.texture == name for t in before) / len(before)
                    - sum(t.texture == name for t in after) / len(after)
                )
                for name in names
            )
            change[bar] += apart / 4
    return change


def cut_sections(boundaries: Boundaries) -> list[int]:
    """First bars of the sections."""
    worth = boundaries.worth
    size = len(worth)
    if not size:
        return []
    best: list[float] = [0.0] + [-1e9] * size
    origin = [-1] * (size + 1)
    for end in range(1, size + 1):
        gain = (worth[end] if end < size else 0.0) - SECTION_COST
        for start in range(max(0, end - LONGEST), end - SHORTEST + 1):
            value = best[start] + gain + (FOUR_SQUARE if (end - start) % 4 == 0 else 0.0)
            if end - start < SHORT:
                value -= SHORT_COST
            if value > best[end]:
                best[end], origin[end] = value, start
    starts: list[int] = []
    at = size if origin[size] >= 0 else 0
    while at > 0:
        at = origin[at]
        starts.append(at)
    return starts[::-1] or [0]


def label_sections(
    starts: Sequence[int],
    boundaries: Boundaries,
    prints: Sequence[BarPrint],
    diagonals: Sequence[Diagonal],
) -> tuple[Section, ...]:
    """Sections with letters; `starts` are their first bars."""
    size = len(prints)
    source = _sources(size, diagonals)
    section_of = [0] * size
    spans = [
        (a, (starts[k + 1] if k + 1 < len(starts) else size) - 1) for k, a in enumerate(starts)
    ]
    for k, (a, b) in enumerate(spans):
        for bar in range(a, b + 1):
            section_of[bar] = k
    letters: list[int] = []
    sections: list[Section] = []
    for k, (a, b) in enumerate(spans):
        share = [0.0] * k
        for bar in range(a, b + 1):
            heard: dict[int, float] = {}
            for earlier, like in source[bar].items():
                other = section_of[earlier]
                if other < k:
                    heard[other] = max(heard.get(other, 0.0), like)
            for other, like in heard.items():
                share[other] += like / (b - a + 1)
        model = max(range(k), key=lambda m: (round(share[m], 6), -m), default=None)
        if model is not None and share[model] >= SAME_SECTION:
            letter, like = letters[model], share[model]
        else:
            letter, like = max(letters, default=-1) + 1, 1.0
        letters.append(letter)
        changed = (
            model is not None
            and letters[model] == letter
            and not _equal(prints, spans[model], (a, b))
        )
        sections.append(
            Section(
                a,
                b,
                _name(letter) + ("'" if changed else ""),
                round(like, 3),
                round(boundaries.worth[a], 3) if k else 0.0,
                boundaries.reasons[a] if k else (),
            )
        )
    return tuple(sections)


def _sources(size: int, diagonals: Sequence[Diagonal]) -> list[dict[int, float]]:
    """For every bar the earlier bars it is like, and how much."""
    source: list[dict[int, float]] = [{} for _ in range(size)]
    for run in diagonals:
        if len(run.likes) < 2:
            continue
        for k, like in enumerate(run.likes):
            bar = run.first + k
            earlier = bar - run.lag
            source[bar][earlier] = max(like, source[bar].get(earlier, 0.0))
    return source


def _equal(prints: Sequence[BarPrint], one: tuple[int, int], other: tuple[int, int]) -> bool:
    return [prints[b].exact for b in range(one[0], one[1] + 1)] == [
        prints[b].exact for b in range(other[0], other[1] + 1)
    ]


def _name(letter: int) -> str:
    """A, B .. Z, then AA, AB and so on."""
    name = ""
    letter += 1
    while letter:
        letter, rest = divmod(letter - 1, 26)
        name = chr(65 + rest) + name
    return name
