"""Balance inside one hand: one hand plays the tune and something else, and the tune must be heard.

Every bar in which a hand has notes of the tune and other notes that sound with them is one candidate
(see `passagework.analysis.melody`). The demand is the number of accompanying notes a second, because each
of them must be kept down; those struck together with the tune count twice, since there one stroke of the
hand has to give two loudnesses. A melody stands 10 to 20 MIDI velocity steps above its accompaniment in
expert playing, and its note comes some 30 ms early (Goebl, 2001). Chords that only move with
the tune count as much as their notes are struck with it, so always twice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from passagework.analysis.melody import SplitHand
from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    hand_name,
    note_name,
    number,
    other_places,
    start_of,
    tempo_words,
    where,
)

ORDINARY = (0.8, 4.0)
"""Accompanying notes a second, those struck with the tune counted twice, that nobody of the level
minds: a held third under a tune, and the inner voice of a song without words."""

HARD = (2.2, 9.0)
"""The same where the balance must be practised on purpose: chords of three under a tune in crotchets,
and a figure of sextuplets under a tune."""

TOGETHER = 2.0
"""Weight of a note struck at the same moment as the tune's, in the same hand."""

FEWEST = 2
"""Accompanying notes in a bar below which there is nothing to balance."""

SOURCE = "a tune stands 10 to 20 velocity steps above its accompaniment (Goebl, 2001)"


def find(context: Context) -> Iterable[Candidate]:
    """Every bar in which one hand has the tune and other notes with it."""
    for split in context.tune.split_hands:
        yield from _bars(context, split)


def _bars(context: Context, split: SplitHand) -> Iterable[Candidate]:
    piece = context.piece
    tune: dict[int, list[Note]] = defaultdict(list)
    under: dict[int, list[Note]] = defaultdict(list)
    for ids, rows in ((split.tune, tune), (split.accompaniment, under)):
        for note_id in ids:
            note = piece.by_id[note_id]
            rows[note.bar].append(note)
    for index in sorted(under):
        if len(under[index]) >= FEWEST and tune[index]:
            yield _candidate(context, split, index, tune[index], under[index])


def _candidate(
    context: Context, split: SplitHand, index: int, tune: Sequence[Note], under: Sequence[Note]
) -> Candidate:
    bar = context.bar(index)
    length = context.seconds(bar.end) - context.seconds(bar.onset)
    sung = {n.onset: n for n in tune}
    together = [n for n in under if n.onset in sung]
    counted_notes = len(under) + (TOGETHER - 1.0) * len(together)
    demand = counted_notes / length if length > 0 else 0.0
    below = sum(n.midi < _sounding(tune, n).midi for n in under) / len(under)
    top = max(tune, key=lambda n: n.midi)
    notes = sorted((*tune, *under), key=lambda n: (n.onset, n.midi))
    return Candidate(
        first_bar=index,
        last_bar=index,
        hand=split.hand,
        note_ids=tuple(n.id for n in notes),
        severity=severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        ),
        family="above" if below >= 0.5 else "below",
        numbers={
            "tune": float(len(tune)),
            "under": float(len(under)),
            "together": float(len(together)),
            "rate": len(under) / length if length > 0 else 0.0,
            "demand": demand,
        },
        facts={"top": note_name(top.pitch), "first": note_name(tune[0].pitch)},
    )


def _sounding(tune: Sequence[Note], note: Note) -> Note:
    """The tune's note that is heard while `note` begins: the last that began, else the first."""
    earlier = [n for n in tune if n.onset <= note.onset]
    return earlier[-1] if earlier else tune[0]


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for one place where a hand must balance with itself."""
    worst = worst_first[0]
    n = worst.numbers
    hand, bars, start = hand_name(worst.hand), where(worst, context), start_of(worst, context)
    over = worst.family == "above"
    fingers = _fingers(worst.hand, over)
    together = int(n["together"])
    struck = f", {number(together)} of them struck together with it" if together else ""
    return Wording(
        title=f"Tune and accompaniment in the {hand}",
        reason=(
            f"In {bars} the {hand} has {counted(int(n['tune']), 'note')} of the tune and "
            f"{counted(int(n['under']), 'other note')} {'below' if over else 'above'} it{struck}: "
            f"{n['rate']:.1f} a second to be kept down.{other_places(worst_first, context)}"
        ),
        goes_wrong=(
            f"The tune lies with the {fingers}, the rest with the others, and all come out alike; "
            "or the tune is hit, and the arm stiffens."
        ),
        try_=(
            f"The tune of {bars} alone, with the fingers it will have, and as you would sing it.",
            "The tune sounding and the rest touched silently on the surface of the keys; then the rest "
            "just sounding.",
            "Tune loud and the rest soft beyond need, slowly, at "
            f"{tempo_words(context, start, 0.5)}; lean the hand towards the {fingers}.",
            "Let the tune's note come a hair before what is struck with it, then close the gap until only "
            "the colour is left."
            if together
            else "Group the small notes lightly into the tune's note that follows.",
        ),
        done_when=(
            f"{capital(bars)} three times in a row at {tempo_words(context, start, 0.75)}, and somebody "
            "who listens from another room can sing the tune after you."
        ),
        evidence=(
            Evidence("notes of the tune in the bar", int(n["tune"])),
            Evidence("other notes of the same hand", int(n["under"])),
            Evidence("of these struck together with the tune", together),
            Evidence("rate of the other notes", round(n["rate"], 2), "notes/s", SOURCE),
        ),
    )


def _fingers(hand: str, over: bool) -> str:
    """The side of the hand that has the tune."""
    outer = (hand == "right") == over
    return "outer fingers" if outer else "thumb's side of the hand"


KIND = Kind("balance", "balance inside one hand", find, describe, most=2)
