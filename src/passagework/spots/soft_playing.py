"""Playing softly for long: notes that fail to sound, and hands that stiffen with care.

A bar is soft where most of its notes lie at *p* or below on the loudness curve of their staff
(`passagework.analysis.loudness`). Where the curve only assumes, a bar that a crescendo has raised is not
claimed, a softness beyond the last sign is not, nor is a bar that stands `STALE` bars or more after its sign. Every bar of a stretch is one candidate.
The demand is the number of notes per second (every key of a chord must sound, and
together), weighted by the softness of the sign, and by the keys at the ends of the keyboard, where strings are long and slow or
short and dry. A stretch shorter than `LONG` seconds counts in proportion: care tires with time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from passagework.analysis.loudness_levels import SIGNS
from passagework.score.piece import Note
from passagework.spots.context import Context, is_plain
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import capital, counted, decimal, note_name, seconds, tempo_words

SOFTNESS = {"pppp": 1.7, "ppp": 1.4, "pp": 1.0, "p": 0.35}
"""Weight of each sign: *pp* is the measure of this kind, *p* the everyday soft of most music."""

LONG = 8.0
"""Seconds from which a soft stretch asks for endurance: some two phrases."""

SHORTEST = 4.0
"""Seconds below which bars of one softness are no stretch: a phrase."""

LOW, HIGH = 40, 84
"""MIDI numbers below and above which soft notes fail most: E2, where strings are thick, and C6."""

EXTREME = 0.5
"""What a note beyond `LOW` or `HIGH` adds to its own weight."""

ORDINARY = (0.9, 4.0)
"""Soft notes per second that nobody of the level minds."""

HARD = (2.2, 12.0)
"""Soft notes per second that must be practised: a first-year tune with its accompaniment at pp;
running semiquavers at pp."""

STALE = 16
"""Bars after which a sign that nothing confirms is no longer taken to hold: two periods."""

SOFT_UP_TO = 3.25
"""Level (`passagework.analysis.loudness_levels`: *pp* 2, *p* 3, *mp* 4) up to which a note is to be soft."""

RISEN = 0.5
"""Levels above its last sign from which a loudness that is only assumed is no longer claimed to be soft."""

MOST = 0.5
"""Share of a bar's notes that must be soft for the bar to belong to a stretch."""


@dataclass(frozen=True, slots=True)
class _Bar:
    """A bar of which most notes are to be played softly."""

    index: int
    notes: tuple[Note, ...]
    level: float


def find(context: Context) -> Iterable[Candidate]:
    """Every bar of every long soft stretch."""
    for group in _stretches(context):
        start, end = context.bar(group[0].index).onset, context.bar(group[-1].index).end
        length = context.seconds(end) - context.seconds(start)
        for _, row in groupby(group, key=lambda bar: SIGNS[round(bar.level)]):
            bars = [context.bar(bar.index) for bar in row]
            times = [context.seconds(b.end) - context.seconds(b.onset) for b in bars]
            if sum(times) < SHORTEST:
                continue
            inside = {b.index: t for b, t in zip(bars, times, strict=True)}
            for bar in group:
                if inside.get(bar.index, 0.0) > 0:
                    yield _candidate(context, bar, inside[bar.index], length)


def _stretches(context: Context) -> list[list[_Bar]]:
    """Soft bars in a row; bars in which nothing is struck do not part them."""
    groups: list[list[_Bar]] = []
    signed: dict[int, float] = {}
    known: dict[tuple[int, tuple[int, int]], float | None] = {}
    open_ = False
    for index, row in enumerate(context.piece.notes_of_bar):
        notes = [n for n in row if is_plain(n)]
        soft: list[tuple[Note, float]] = []
        for note in notes:
            place = note.staff, note.onset.as_integer_ratio()
            if place not in known:
                known[place] = _level(context, note, signed)
            level = known[place]
            if level is not None:
                soft.append((note, level))
        if notes and len(soft) >= MOST * len(notes):
            mean = sum(level for _, level in soft) / len(soft)
            bar = _Bar(index, tuple(n for n, _ in soft), mean)
            if open_:
                groups[-1].append(bar)
            else:
                groups.append([bar])
            open_ = True
        elif notes:
            open_ = False
    return groups


def _level(context: Context, note: Note, signed: dict[int, float]) -> float | None:
    """Level of a note that is to be soft, None for others and where that is too uncertain to say."""
    at = context.loudness.at(note.onset, note.staff)
    if at.source == "marked":
        signed[note.staff] = at.level
        level = at.level
    elif note.staff in signed and at.level <= signed[note.staff] + RISEN:
        level = max(at.level, signed[note.staff])
    else:
        return None
    return level if level <= SOFT_UP_TO and note.bar < at.bar + STALE else None


def _candidate(context: Context, bar: _Bar, time: float, length: float) -> Candidate:
    notes = bar.notes
    extreme = [n for n in notes if not LOW <= n.midi <= HIGH]
    rate = len(notes) / time
    weighted = (len(notes) + EXTREME * len(extreme)) / time
    sign = SIGNS[round(bar.level)]
    demand = weighted * SOFTNESS[sign] * min(length / LONG, 1.0)
    attacks = len({(n.onset, n.hand) for n in notes})
    sides = {n.hand for n in notes}
    numbers = {
        "rate": rate,
        "notes": float(len(notes)),
        "attacks": float(attacks),
        "extreme": float(len(extreme)),
        "seconds": length,
        "bar_seconds": time,
    }
    facts = {"sign": sign}
    if extreme:
        furthest = max(extreme, key=lambda n: abs(n.midi - 62))
        facts["extreme"] = note_name(furthest.pitch)
    return Candidate(
        first_bar=bar.index,
        last_bar=bar.index,
        hand="both" if len(sides) == 2 else notes[0].hand,
        note_ids=tuple(n.id for n in notes),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        family=sign,
        numbers=numbers,
        facts=facts,
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a long soft stretch."""
    worst = worst_first[0]
    n, sign = worst.numbers, worst.facts["sign"]
    bar = context.bar_names([worst.first_bar])
    span = context.bar_names([c.first_bar for c in worst_first])
    start = context.bar(worst.first_bar).onset
    together = sum({c.first_bar: c.numbers["bar_seconds"] for c in worst_first}.values())
    chords = n["notes"] > n["attacks"]
    far = worst.facts.get("extreme", "")
    extreme = (
        f" {capital(counted(int(n['extreme']), 'of them', 'of them'))} "
        f"{'lies' if n['extreme'] == 1 else 'lie'} where soft notes fail most, as far as {far}."
        if far
        else ""
    )
    complete = (
        f"; {counted(int(n['attacks']), 'attack')} carry {int(n['notes'])} notes, so chords must sound complete"
        if chords
        else ""
    )
    return Wording(
        title=f"Staying {sign}",
        reason=(
            f"{capital(span)} stay at {sign}, {seconds(together)} in all; the hardest is {bar} with {n['rate']:.1f} "
            f"notes a second{complete}.{extreme}"
            if len({c.first_bar for c in worst_first}) > 1
            else f"{capital(bar)} stands at {sign}, with {n['rate']:.1f} notes a second{complete}.{extreme}"
        ),
        goes_wrong=(
            f"Notes do not sound, first {'the inner notes of chords' if chords else 'the weak fingers'}"
            + (f" and those round {far}" if far else "")
            + f"; then the sound creeps up to mf to be safe, and by the end of {span} the {sign} is gone."
        ),
        try_=(
            f"Play {bar} loud and slow at {tempo_words(context, start, 0.5)}, to the bottom of every key; then soft with the same fingers on "
            "the keys before they play.",
            (
                f"The chords of {bar} one by one as softly as they will still sound complete; the top note a shade more than the rest."
                if chords
                else f"{capital(bar)} as softly as it will still sound, a dropped note means once more; then one shade louder: that is your {sign}."
            ),
            f"Keep the tune a level above the rest, so that {sign} is a colour and not a whisper.",
        ),
        done_when=f"{capital(span)} twice through at {tempo_words(context, start, 0.9)} with no note missing and no louder at the end than at the beginning.",
        evidence=(
            Evidence("softest sign in force", sign),
            Evidence("length of these bars", decimal(together, 1), "s"),
            Evidence("length of the whole soft stretch, p included", decimal(n["seconds"], 1), "s"),
            Evidence("notes to sound in the hardest bar", round(n["rate"], 2), "notes/s"),
            Evidence("notes at the ends of the keyboard", int(n["extreme"])),
        ),
    )


KIND = Kind("soft-playing", "playing softly for long", find, describe, most=2, moves=False)
