"""What the guide says about the music: keys, form, tune, and the words on the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.analysis.form_learning import LearnOnce, Return
from passagework.analysis.harmony import Harmony, KeySpan
from passagework.analysis.harmony.notable import notable_chords
from passagework.analysis.melody import Tune
from passagework.analysis.terms_read import Term
from passagework.guide.number_words import count, sentence
from passagework.spots.context import Context
from passagework.spots.words_of import listed

MOST_CHORDS = 10
"""Chords worth stopping at: what a lesson has time for."""

MOST_ROWS = 16
"""Rows of a list before it says how many more there are."""


@dataclass(frozen=True)
class Row:
    """A line of a list: where, what, and what more there is to say."""

    where: str
    what: str
    more: str = ""


def _capped(rows: list[Row]) -> list[Row]:
    """At most `MOST_ROWS` rows, and how many more there are."""
    if len(rows) <= MOST_ROWS:
        return rows
    return [*rows[: MOST_ROWS - 1], Row("", f"and {len(rows) - MOST_ROWS + 1} more")]


def main_key(context: Context) -> str | None:
    """The key that the piece is in: of the first and the last key the one it stays in for longer."""
    keys = context.harmony.keys
    if not keys:
        return None
    lengths: dict[str, float] = {}
    for key in keys:
        lengths[key.name] = lengths.get(key.name, 0.0) + float(key.end - key.onset)
    ends = (keys[-1].name, keys[0].name)
    return max(ends, key=lambda name: lengths[name])


def key_rows(context: Context) -> list[Row]:
    """The keys in order, how far each is from its signature, and how it is reached."""
    rows: list[Row] = []
    keys = context.harmony.keys
    for index, key in enumerate(keys):
        first = context.piece.bar_at(key.onset).index
        last = max(first, context.piece.bar_at(key.end).index - 1)
        if index == len(keys) - 1:
            last = len(context.piece.bars) - 1
        more = [_reached(keys[index - 1], key, context.harmony)] if index else []
        if key.away:
            more.append(
                f"{count(abs(key.away), 'sharp' if key.away > 0 else 'flat')} beyond the signature"
            )
        if key.confidence < 0.6:
            more.append(f"not sure ({key.confidence:.0%})")
        rows.append(
            Row(
                context.bar_names(range(first, last + 1)), key.name, "; ".join(m for m in more if m)
            )
        )
    return _capped(rows)


def _reached(before: KeySpan, key: KeySpan, harmony: Harmony) -> str:
    if key.pivot is None:
        return "entered without a chord in common"
    chord = harmony.chords[key.pivot.chord]
    return (
        f"by way of {chord.symbol}: {key.pivot.before} in {before.name}, "
        f"{key.pivot.after} in {key.name}"
    )


def chord_rows(context: Context) -> list[Row]:
    """The chords worth stopping at, the most surprising first named, then put in order."""
    harmony = context.harmony
    found = notable_chords(context.piece, harmony)[:MOST_CHORDS]
    rows = []
    for item in sorted(found, key=lambda n: n.chord):
        chord = harmony.chords[item.chord]
        bar = context.piece.bar_at(chord.onset)
        rows.append(
            Row(
                context.bar_names((bar.index,)),
                f"{chord.symbol} ({chord.numeral})",
                sentence(item.words),
            )
        )
    return rows


def sections(context: Context) -> list[tuple[int, int, str]]:
    """(first bar, last bar, label) of the sections, for the strip."""
    return [(s.first_bar, s.last_bar, s.label) for s in context.form.sections]


def form_rows(context: Context) -> list[Row]:
    """The sections, why each begins where it does, and how its hands are written."""
    rows: list[Row] = []
    for section in context.form.sections:
        bars = range(section.first_bar, section.last_bar + 1)
        more = [listed(list(section.reasons))] if section.reasons else []
        rows.append(
            Row(
                context.bar_names(bars), section.label, "; ".join([*more, *_written(context, bars)])
            )
        )
    return _capped(rows)


def _written(context: Context, bars: range) -> list[str]:
    """The commonest texture of each hand in these bars."""
    found: list[str] = []
    for side in ("right", "left"):
        counts = Counter(
            t.texture
            for t in context.texture
            if t.hand == side and t.bar in bars and t.texture != "rest"
        )
        if counts:
            name, times = counts.most_common(1)[0]
            share = times / counts.total()
            found.append(f"{side} hand {'mostly ' if share < 0.8 else ''}{name}")
    return found


def learning_rows(context: Context) -> list[Row]:
    """What to learn once, and where it comes back."""
    return [
        Row(
            context.bar_names(range(p.first_bar, p.last_bar + 1)),
            listed([_return(context, r) for r in p.returns[:6]])
            + (f" and {len(p.returns) - 6} times more" if len(p.returns) > 6 else ""),
        )
        for p in _worth_learning(context.form.learning_map.passages)
    ]


def learning_sentence(context: Context) -> str:
    """How many bars are new."""
    known = context.form.learning_map
    total = len(context.piece.bars)
    if not known.returning_bars:
        return sentence(f"all {count(total, 'bar')} are new: nothing comes back as it was")
    return sentence(
        f"{count(len(known.new_bars), 'bar')} of {total} are to be learnt; "
        f"{count(len(known.returning_bars), 'bar')} come back, as they were or with small changes"
    )


def _worth_learning(passages: Sequence[LearnOnce]) -> list[LearnOnce]:
    """The passages that save most, in order of the piece."""
    saved = sorted(passages, key=lambda p: -sum(r.last_bar - r.first_bar + 1 for r in p.returns))[
        :MOST_ROWS
    ]
    return sorted(saved, key=lambda p: (p.first_bar, p.last_bar))


_KINDS = {"exact": "", "transposed": "transposed", "varied": "with changes"}


def _return(context: Context, back: Return) -> str:
    text = context.bar_names(range(back.first_bar, back.last_bar + 1))
    how = _KINDS.get(back.kind, back.kind)
    if back.kind == "transposed" and back.semitones:
        how = f"{count(abs(back.semitones), 'semitone')} {'higher' if back.semitones > 0 else 'lower'}"
    return f"{text} ({how})" if how else text


def tune_rows(context: Context) -> list[Row]:
    """Who has the tune, when."""
    tune: Tune = context.tune
    rows: list[Row] = []
    for span in tune.line:
        first = context.piece.bar_at(span.onset).index
        last = max(first, context.piece.bar_at(span.end).index)
        if context.piece.bars[last].onset == span.end and last > first:
            last -= 1
        sure = "" if span.confidence >= 0.6 else f"not sure ({span.confidence:.0%})"
        rows.append(Row(context.bar_names(range(first, last + 1)), f"{span.hand} hand", sure))
    for side in ("right", "left"):
        bars = {
            bar
            for split in tune.split_hands
            if split.hand == side
            for bar in range(split.first_bar, split.last_bar + 1)
        }
        if bars:
            rows.append(
                Row(
                    context.bar_names(sorted(bars)),
                    f"{side} hand",
                    "with an accompaniment in the same hand",
                )
            )
    return _capped(rows)


def word_rows(context: Context, terms: Sequence[Term]) -> list[Row]:
    """The words on the page, where they stand, what they mean and what they come to there."""
    rows: list[Row] = []
    for term in terms:
        more = [term.consequence] if term.consequence else []
        if term.other_readings:
            more.append("or: " + "; ".join(term.other_readings))
        if term.phrase.unknown:
            more.append("not known: " + ", ".join(term.phrase.unknown))
        where = context.bar_names((term.bar,))
        rows.append(
            Row(where, term.text, " ".join(sentence(m) for m in [term.meaning, *more] if m))
        )
    return rows
