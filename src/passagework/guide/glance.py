"""The piece at a glance: a few facts, and three sentences that a teacher would say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.guide.number_words import (
    count,
    duration,
    pretty,
    sentence,
    signature,
    signature_keys,
)
from passagework.hands.keyboard import OCTAVE_MM, distance_mm
from passagework.score.bar_names import bar_names
from passagework.score.piece import Metronome, Piece
from passagework.spots.context import Context
from passagework.spots.spot import Spot
from passagework.spots.table import all_kinds
from passagework.spots.words_of import listed, value_name

MOST_ASKS = 3
"""Kinds of difficulty named in the second sentence."""

LONGEST_PLACE = 40
"""Characters of a list of bars within a sentence; a longer one names the worst bar only."""

SOFT = {"p", "pp", "ppp", "pppp"}
LOUD = {"f", "ff", "fff", "ffff"}


@dataclass(frozen=True)
class Fact:
    """A line of the table: what, and what it is."""

    name: str
    text: str


@dataclass(frozen=True)
class Glance:
    """What stands at the top of the guide."""

    facts: tuple[Fact, ...]
    sentences: tuple[str, ...]


def glance(context: Context, spots: Sequence[Spot], key_name: str | None = None) -> Glance:
    """Facts and sentences about the piece; `key_name` where the harmony has told the main key."""
    piece = context.piece
    facts = [
        Fact("key", _key(piece, key_name)),
        Fact("metre", _metre(piece)),
        Fact("tempo", _tempo(context)),
        Fact("length", _length(context)),
        Fact("range", _range(piece)),
    ]
    sentences = (_first(context, key_name), _second(context, spots), _third(context))
    return Glance(tuple(facts), tuple(s for s in sentences if s))


def _key(piece: Piece, key_name: str | None) -> str:
    first = piece.key_signatures[0]
    text = key_name or signature_keys(first.fifths, first.mode)
    text += f" ({signature(first.fifths)})"
    changes = [
        f"{signature(k.fifths)} from {bar_names(piece, (k.bar,))}" for k in piece.key_signatures[1:]
    ]
    return "; ".join([text, *changes[:4]]) + ("; and more changes" if len(changes) > 4 else "")


def _metre(piece: Piece) -> str:
    parts: list[str] = []
    last = None
    for bar in piece.bars:
        if bar.time != last:
            where = f" from {bar_names(piece, (bar.index,))}" if parts else ""
            name = str(bar.time) + ("" if bar.time.printed else " (not printed, assumed)")
            parts.append(name + where)
            last = bar.time
    more = f", and {count(len(parts) - 4, 'more change')}" if len(parts) > 4 else ""
    return ", ".join(parts[:4]) + more


def metronome_words(mark: Metronome) -> str:
    """``"crotchet = 80"``."""
    return _beat_words(mark.beat, mark.per_minute)


def _beat_words(beat: Fraction, per_minute: float) -> str:
    return f"{value_name(beat) or f'{float(beat):g} crotchets'} = {round(per_minute)}"


def _tempo(context: Context) -> str:
    piece = context.piece
    start = context.tempo.span_at(piece.bars[0].onset)
    words = next(
        (w.text for w in piece.words if w.bar == 0 and w.placement != "below" and len(w.text) < 50),
        "",
    )
    beat = piece.bars[0].time.beat
    marks = [m for m in piece.metronomes if m.printed and m.bar == 0]
    if start.source == "marked" and marks:
        figure = f"{metronome_words(marks[0])}, as marked"
    else:
        origin = {
            "marked": "as marked",
            "file": "the file's own playback tempo, not printed",
            "words": "what the word usually means",
            "assumed": "assumed, nothing is marked",
        }[start.source]
        figure = f"{_beat_words(beat, start.quarters_per_minute / float(beat))}, {origin}"
    return f"{words} ({figure})" if words else figure


def _seconds(context: Context) -> float:
    """Playing time with all repeats."""
    bars = context.piece.bars
    return sum(
        context.seconds(bars[i].end) - context.seconds(bars[i].onset)
        for i in context.piece.playing_order
    )


def bars_counted(piece: Piece) -> int:
    """Bars as one counts them: without the pickup."""
    return len(piece.bars) - (1 if piece.bars and piece.bars[0].pickup else 0)


def _length(context: Context) -> str:
    piece = context.piece
    text = count(bars_counted(piece), "bar")
    if piece.bars[0].pickup:
        text += " and a pickup"
    text += f", about {duration(_seconds(context))}"
    if len(piece.playing_order) > len(piece.bars):
        text += " with the repeats"
    return text


def _range(piece: Piece) -> str:
    low = min(piece.notes, key=lambda n: n.midi)
    high = max(piece.notes, key=lambda n: n.midi)
    octaves = distance_mm(low.midi, high.midi) / OCTAVE_MM
    return (
        f"{pretty(low.pitch.name)}{low.pitch.octave} to {pretty(high.pitch.name)}{high.pitch.octave}, "
        f"{octaves:.1f} octaves (C4 is middle C)"
    )


def _first(context: Context, key_name: str | None) -> str:
    piece = context.piece
    first = piece.key_signatures[0]
    key = key_name or signature_keys(first.fifths, first.mode)
    text = f"{count(bars_counted(piece), 'bar')} in {key}"
    changed = len({k.fifths for k in piece.key_signatures}) > 1
    if changed:
        text += (
            ", with a change of signature"
            if len(piece.key_signatures) == 2
            else (f", with {count(len(piece.key_signatures) - 1, 'change')} of signature")
        )
    manner = _loudness(piece)
    text += f"; {manner}" if manner else ""
    return sentence(text)


def _loudness(piece: Piece) -> str:
    """Where the printed signs keep the piece, if they keep it anywhere."""
    signs = [(d.onset, d.text) for d in piece.dynamics if d.text in SOFT | LOUD | {"mp", "mf"}]
    if len(signs) < 2:
        return f"marked {signs[0][1]} and nothing else" if signs else "no dynamics are printed"
    ends = [onset for onset, _ in signs[1:]] + [piece.end]
    spans = {"soft": 0.0, "loud": 0.0, "all": 0.0}
    for (onset, text), end in zip(signs, ends, strict=True):
        length = float(end - onset)
        spans["all"] += length
        if text in SOFT:
            spans["soft"] += length
        elif text in LOUD:
            spans["loud"] += length
    if spans["all"] <= 0:
        return ""
    soft, loud = spans["soft"] / spans["all"], spans["loud"] / spans["all"]
    if soft > 0.8:
        return "soft nearly throughout"
    if loud > 0.8:
        return "loud nearly throughout"
    if soft > 0.55:
        return "soft for more than half of it"
    if loud > 0.55:
        return "loud for more than half of it"
    return f"from {_softest(signs)} to {_loudest(signs)}"


_LADDER = ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff")


def _softest(signs: Sequence[tuple[object, str]]) -> str:
    return min((text for _, text in signs), key=_LADDER.index)


def _loudest(signs: Sequence[tuple[object, str]]) -> str:
    return max((text for _, text in signs), key=_LADDER.index)


def _second(context: Context, spots: Sequence[Spot]) -> str:
    ranked = sorted((s for s in spots if s.rank), key=lambda s: s.rank)
    if not ranked:
        return "Nothing in it stands out as hard for the level that its notes suggest."
    titles = {kind.name: kind.title for kind in all_kinds()}
    parts: list[str] = []
    named: set[str] = set()
    for spot in ranked:
        if spot.kind in named:
            continue
        named.add(spot.kind)
        where = context.bar_names(spot.bars)
        if len(where) > LONGEST_PLACE:
            where = f"worst in {context.bar_names((spot.focus.first_bar,))}"
        parts.append(f"{titles.get(spot.kind, spot.wording.title)} ({where})")
        if len(parts) == MOST_ASKS:
            break
    return sentence(f"it asks above all for {listed(parts)}")


def _third(context: Context) -> str:
    widest = max(
        (a for attacks in context.attacks.values() for a in attacks if len(a.notes) > 1),
        key=lambda a: distance_mm(a.low.midi, a.high.midi),
        default=None,
    )
    parts: list[str] = []
    if widest is None:
        parts.append("each hand plays one note at a time")
    else:
        width = distance_mm(widest.low.midi, widest.high.midi)
        inside = width <= context.hand.comfortable_mm
        reach = (
            "within a comfortable reach"
            if inside
            else "more than the hand takes with ease"
            if width <= context.hand.largest_mm
            else "beyond this reach"
            if not any(n.arpeggio for n in widest.notes)
            else "rolled"
        )
        bar = context.bar_names((widest.bar,))
        parts.append(
            f"the widest chord of a hand is {_interval(widest.low.midi, widest.high.midi)} "
            f"({width:.0f} mm, {widest.side} hand, {bar}), {reach} for a span of "
            f"{context.hand.reach_cm:g} cm"
        )
    level = context.level
    parts.append(
        f"the notes suggest {level.words}, by {level.density:.1f} attacks a second in a usual bar"
    )
    return sentence("; ".join(parts))


_INTERVALS = ("unison", "second", "second", "third", "third", "fourth", "tritone", "fifth", "sixth",
              "sixth", "seventh", "seventh", "octave", "ninth", "ninth", "tenth", "tenth",
              "eleventh", "eleventh", "twelfth")  # fmt: skip


def _interval(low: int, high: int) -> str:
    size = high - low
    name = _INTERVALS[size] if size < len(_INTERVALS) else f"{size} semitones"
    return f"an {name}" if name[0] in "aeiou" and name != "unison" else f"a {name}"
