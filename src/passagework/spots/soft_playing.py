"""Playing softly for long: notes that fail to sound, and hands that stiffen with care.

The stretches under *p* or softer are found from the signs (see `passagework.spots.loudness_signs`); a stretch ends
at a louder sign, or where a crescendo starts that nothing takes back within the bar after it, and `STALE` bars after its sign. Every bar of a stretch
is one candidate. The demand is the number of notes per second (every key of a chord must sound, and
together), weighted by the softness of the sign, and by the keys at the ends of the keyboard, where strings are long and slow or
short and dry. A stretch shorter than `LONG` seconds counts in proportion: care tires with time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from passagework.score.piece import Note, Position
from passagework.spots.context import Context, is_plain
from passagework.spots.kinds import Kind
from passagework.spots.loudness_signs import LEVELS, NAMES, Slope, signs, slopes
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import capital, counted, decimal, note_name, seconds, tempo_words

SOFTNESS = {"pppp": 1.7, "ppp": 1.4, "pp": 1.0, "p": 0.35}
"""Weight of each sign: *pp* is the measure of this kind, *p* the everyday soft of most music."""

LONG = 8.0
"""Seconds from which a soft stretch asks for endurance: some two phrases."""

SHORTEST = 2.0
"""Seconds below which a soft place is no stretch."""

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

SOFTEST_LOUD = LEVELS["p"]


@dataclass(frozen=True, slots=True)
class _Stretch:
    onset: Position
    end: Position
    level: int


def find(context: Context) -> Iterable[Candidate]:
    """Every bar of every long soft stretch."""
    for group in _joined(_stretches(context)):
        length = context.seconds(group[-1].end) - context.seconds(group[0].onset)
        if length < SHORTEST:
            continue
        for stretch in group:
            yield from _bars(context, stretch, length)


def _stretches(context: Context) -> list[_Stretch]:
    piece = context.piece
    levels = [s for s in signs(piece) if s.level is not None]
    lines = slopes(piece)
    ends = [*(s.onset for s in levels[1:]), piece.end][: len(levels)]
    result: list[_Stretch] = []
    for sign, end in zip(levels, ends, strict=True):
        assert sign.level is not None
        if sign.level > SOFTEST_LOUD:
            continue
        grows = _grows(context, [s for s in lines if sign.onset <= s.onset < end], end)
        end = min(end, grows) if grows is not None else end
        end = min(end, piece.bars[min(sign.bar + STALE, len(piece.bars)) - 1].end)
        if end > sign.onset:
            result.append(_Stretch(sign.onset, end, sign.level))
    return result


def _grows(context: Context, lines: Sequence[Slope], end: Position) -> Position | None:
    """Where a crescendo starts that is not taken back: there the stretch is over."""
    for i, line in enumerate(lines):
        if line.kind != "crescendo":
            continue
        bar = context.piece.bar_at(line.end if line.end is not None else line.onset)
        until = bar.end + bar.length
        back = any(s.kind == "diminuendo" and s.onset <= until for s in lines[i + 1 :])
        if not back and (line.end is None or until < end):
            return line.onset
    return None


def _joined(stretches: Sequence[_Stretch]) -> list[list[_Stretch]]:
    """Stretches that follow each other without a louder one between."""
    groups: list[list[_Stretch]] = []
    for stretch in stretches:
        if groups and groups[-1][-1].end == stretch.onset:
            groups[-1].append(stretch)
        else:
            groups.append([stretch])
    return groups


def _bars(context: Context, stretch: _Stretch, length: float) -> Iterable[Candidate]:
    first = context.piece.bar_at(stretch.onset).index
    for bar in context.piece.bars[first:]:
        if bar.onset >= stretch.end:
            return
        start, end = max(bar.onset, stretch.onset), min(bar.end, stretch.end)
        if (end - start) * 2 < bar.length:
            continue
        notes = [
            n
            for n in context.piece.notes_of_bar[bar.index]
            if is_plain(n) and start <= n.onset < end
        ]
        time = context.seconds(end) - context.seconds(start)
        if notes and time > 0:
            yield _candidate(context, bar.index, notes, time, stretch.level, length)


def _candidate(
    context: Context, bar: int, notes: Sequence[Note], time: float, level: int, length: float
) -> Candidate:
    extreme = [n for n in notes if not LOW <= n.midi <= HIGH]
    rate = len(notes) / time
    weighted = (len(notes) + EXTREME * len(extreme)) / time
    sign = NAMES[level]
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
        first_bar=bar,
        last_bar=bar,
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


KIND = Kind("soft-playing", "playing softly for long", find, describe, most=2)
