"""Notes altered against the signature: what the eye must read and the hand must not do by habit.

Within each bar (the span for which a sign holds) the reading load is the sum of

* 1 for every note that needs a new sign and is altered against the signature, 2 for a double sharp or double flat;
* 1 for every sign that takes an alteration back within the bar;
* `CARRIED` for a key that stays altered without a sign of its own because the sign stands earlier in the bar;
* `TRAP` for a letter that has different alterations in different octaves of one bar.

An alteration that the piece uses all the time (the leading note of a minor key) is soon a habit of
its own, the sooner the further the student is: every altered note is weighted by its `rarity`. Bars
longer than a semibreve (cadenzas) count per semibreve. Spelling is taken from the pitches, so a file without
printed accidentals is read alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.signature import Signatures, signature_alter
from passagework.spots.spot import Candidate, Evidence, SpotHand, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    letter,
    listed,
    number,
    tempo_words,
)

DOUBLE = 2.0
CARRIED = 0.5
TRAP = 0.5

ORDINARY = (0.4, 3.2)
"""Load of a bar that nobody of the level minds: a sign that the piece has made a habit in the first year, three
rare signs in concert music."""

HARD = (1.0, 12.0)
"""Load that must be read on purpose: one new sign in the first year, every second note of a bar in concert music."""

ONE_HAND = 0.8
"""Share of the load from which a stretch of bars belongs to one hand alone."""

LONGEST_BAR = 4
"""Quarters: a semibreve, the usual long bar."""


@dataclass
class _Bar:
    """What stands against the signature in one bar."""

    load: float = 0.0
    notes: list[Note] = field(default_factory=list)
    signs: int = 0
    doubles: int = 0
    cancelled: list[str] = field(default_factory=list)
    carried: int = 0
    remembered: list[str] = field(default_factory=list)
    traps: list[str] = field(default_factory=list)
    by_hand: dict[str, float] = field(default_factory=lambda: {"left": 0.0, "right": 0.0})

    def add(self, note: Note, load: float) -> None:
        self.load += load
        self.by_hand[note.hand] += load
        self.notes.append(note)


def find(context: Context) -> Iterable[Candidate]:
    """Every bar with notes altered against the signature."""
    piece = context.piece
    signatures = Signatures(piece)
    bars_with = _bars_with(context, signatures)
    total = max(sum(1 for row in piece.notes_of_bar if row), 1)
    weight = {name: rarity(count / total, context.level.value) for name, count in bars_with.items()}
    found: dict[int, _Bar] = {}
    for index in range(len(piece.bars)):
        bar = _read(context, signatures, index, weight)
        if bar.notes:
            found[index] = bar
    for run in _runs(found):
        hand = _hand([found[i] for i in run])
        for index in run:
            yield _candidate(context, index, found[index], hand)


def rarity(share: float, level: float) -> float:
    """Weight of an alteration that stands in that share of the bars, in a piece of that level.

    What is in every bar is fully a habit in concert music (0) and half a habit in the first year (0.5).
    """
    return 1.0 - share * (1.0 + level) / 2.0


def _bars_with(context: Context, signatures: Signatures) -> Counter[str]:
    """For every altered note name the number of bars that contain it."""
    counts: Counter[str] = Counter()
    for row in context.piece.notes_of_bar:
        counts.update(
            {
                n.pitch.name
                for n in row
                if n.printed
                and n.pitch.alter != signature_alter(n.pitch.step, signatures.at(n.onset))
            }
        )
    return counts


def _read(context: Context, signatures: Signatures, index: int, weight: dict[str, float]) -> _Bar:
    """Read one bar as the eye does: a sign holds for its line or space until the bar line."""
    bar = _Bar()
    signs: dict[tuple[int, str, int], int] = {}
    carried: set[tuple[int, str, int]] = set()
    for note in context.piece.notes_of_bar[index]:
        if not note.printed:
            continue
        pitch = note.pitch
        usual = signature_alter(pitch.step, signatures.at(note.onset))
        place = (note.staff, pitch.step, pitch.octave - note.written_octave_shift)
        before = signs.get(place, usual)
        altered = pitch.alter != usual
        share = weight.get(pitch.name, 1.0) if altered else 1.0
        if pitch.alter != before:
            double = abs(pitch.alter) > 1
            bar.add(note, (DOUBLE if double else 1.0) * share)
            bar.signs += 1
            bar.doubles += double
            if not altered:
                bar.cancelled.append(pitch.step)
        elif altered:
            if place not in carried:
                bar.add(note, CARRIED * share)
            bar.carried += 1
            bar.remembered.append(letter(pitch))
            carried.add(place)
        signs[place] = pitch.alter
        elsewhere = {alter for key, alter in signs.items() if key[:2] == place[:2] and key != place}
        if elsewhere - {pitch.alter} and pitch.step not in bar.traps:
            bar.traps.append(pitch.step)
            bar.add(note, TRAP)
    return bar


def _runs(found: dict[int, _Bar]) -> list[list[int]]:
    runs: list[list[int]] = []
    for index in sorted(found):
        if runs and index == runs[-1][-1] + 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    return runs


def _hand(bars: Sequence[_Bar]) -> SpotHand:
    left = sum(b.by_hand["left"] for b in bars)
    right = sum(b.by_hand["right"] for b in bars)
    if right >= ONE_HAND * (left + right):
        return "right"
    return "left" if left >= ONE_HAND * (left + right) else "both"


def _candidate(context: Context, index: int, bar: _Bar, hand: SpotHand) -> Candidate:
    length = float(context.bar(index).length)
    demand = bar.load * min(1.0, LONGEST_BAR / length) if length > 0 else 0.0
    names = list(dict.fromkeys(letter(n.pitch) for n in bar.notes if n.pitch.alter))
    naturals = [f"{n.pitch.step} natural" for n in bar.notes if not n.pitch.alter]
    names += list(dict.fromkeys(naturals))
    return Candidate(
        first_bar=index,
        last_bar=index,
        hand=hand,
        note_ids=tuple(dict.fromkeys(n.id for n in bar.notes)),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        numbers={
            "load": demand,
            "signs": float(bar.signs),
            "doubles": float(bar.doubles),
            "carried": float(bar.carried),
        },
        facts={
            "names": ", ".join(names),
            "cancelled": ", ".join(dict.fromkeys(bar.cancelled)),
            "traps": ", ".join(bar.traps),
            "carried": bar.remembered[0] if bar.remembered else "",
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a cluster of altered notes."""
    worst = worst_first[0]
    n, facts = worst.numbers, worst.facts
    bar = context.bar_names([worst.first_bar])
    start = context.bar(worst.first_bar).onset
    names = facts["names"].split(", ")
    cancelled = [s for s in facts["cancelled"].split(", ") if s]
    traps = [s for s in facts["traps"].split(", ") if s]
    where = "" if worst.hand == "both" else f" in the {worst.hand} hand"
    extra = []
    if n["doubles"]:
        extra.append(f"{counted(int(n['doubles']), 'double sign')}")
    if n["carried"]:
        extra.append(
            f"{counted(int(n['carried']), 'note')} altered by a sign that stands earlier in the bar"
        )
    if cancelled:
        extra.append(f"{listed(cancelled)} changed back within the bar")
    if traps:
        extra.append(f"{listed(traps)} different in another octave")
    also = f", with {listed(extra)}" if extra else ""
    return Wording(
        title=f"{capital(counted(int(n['signs']), 'accidental'))} in {bar}",
        reason=(
            f"{capital(bar)} asks for {counted(int(n['signs']), 'sign')} against the signature{where}: {_some(names, 7)}"
            + f"{also}."
        ),
        goes_wrong=_goes_wrong(names, cancelled, traps, facts["carried"], bar),
        try_=(
            f"Ring each altered note of {bar} in pencil and name it aloud, touching its key, before playing: {_some(names, 3)}.",
            (
                f"Play each note that returns to {listed(cancelled[:3])} beside its altered form: the altered one, the plain one, by turns."
                if cancelled
                else f"Block {bar}: the notes of each beat as one chord, so that the hand learns the shape of black and white keys."
            ),
            f"Then as written at {tempo_words(context, start, 0.5)}, eyes on the page, a beat at a time with a stop, then the whole bar.",
        ),
        done_when=f"{capital(bar)} three times in a row at {tempo_words(context, start, 0.6)} with every note right, after a day without it.",
        evidence=(
            Evidence("signs against the signature in the bar", int(n["signs"])),
            Evidence("double sharps or double flats", int(n["doubles"])),
            Evidence("altered without a sign of its own", int(n["carried"])),
            Evidence(
                "reading load of the bar",
                decimal(n["load"], 1),
                "signs",
                "signs, weighted by how rare the alteration is in this piece",
            ),
        ),
    )


def _some(names: Sequence[str], most: int) -> str:
    """Names in words, of many the first ones and the number of the others."""
    if len(names) <= most + 1:
        return listed(names)
    return listed([*names[:most], f"{number(len(names) - most)} more"])


def _goes_wrong(
    names: Sequence[str], cancelled: Sequence[str], traps: Sequence[str], carried: str, bar: str
) -> str:
    if traps:
        return f"{capital(listed(traps))} {'is' if len(traps) == 1 else 'are'} played the same in both octaves, though a sign holds only for its own line or space."
    if cancelled:
        return f"The second {cancelled[0]} of {bar} is played like the first, or the first like the second."
    if carried:
        return f"The sign is forgotten before the bar line: a later {carried} is played without it."
    return f"{names[0]} is played as the signature has it, and the mistake is learned before it is noticed."


KIND = Kind("accidentals", "notes against the signature", find, describe, most=2, moves=False)
