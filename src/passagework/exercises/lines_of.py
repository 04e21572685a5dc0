"""The lines that go on at once in a passage: the two of a polyrhythm, or the two hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.piece import Side
from passagework.spots.polyrhythm import Clash, clashes_of_bar
from passagework.spots.spot import SpotHand


@dataclass(frozen=True)
class Meeting:
    """The polyrhythm of a passage: its ratio and the noteheads of its two lines."""

    more: int
    fewer: int
    """The numbers in lowest terms."""
    hand: SpotHand
    """The hand that has both lines, or ``"both"``."""
    more_side: Side
    fewer_side: Side
    more_heads: frozenset[str]
    """Ids of the heads of the line with the larger number, in all bars of the passage."""
    fewer_heads: frozenset[str]
    span: Fraction
    """Quarters in which the smaller ratio passes once."""
    hidden: bool
    """Whether somewhere in the passage nothing is struck where the two meet."""

    @property
    def side_of_more(self) -> Side:
        """The hand that taps the larger number: in a polyrhythm of one hand the right one."""
        return self.more_side if self.hand == "both" else "right"


def find_meeting(passage: Passage, study: Study) -> Meeting | None:
    """The hardest polyrhythm in the passage, that of its spot before others; None where there is none."""
    context = study.context
    wanted = passage.spot.family if passage.spot and passage.spot.kind == "polyrhythm" else ""
    found = [c for bar in passage.bars for c in clashes_of_bar(context, bar)]
    if passage.hand != "both":
        found = [c for c in found if c.hand == passage.hand] or found
    same = [c for c in found if wanted == "{}:{}".format(*c.ratio)]
    rows = same or found
    if not rows:
        return None
    worst = max(rows, key=lambda c: len(c.composite))
    return _meeting(worst, [c for c in rows if c.ratio == worst.ratio], passage, study)


def _meeting(worst: Clash, alike: Sequence[Clash], passage: Passage, study: Study) -> Meeting:
    more, fewer = worst.ratio
    parts = worst.more.parts // more
    both = worst.hand == "both"
    heads = (
        [study.heads_of_hand(passage, d.side) for d in (worst.more, worst.fewer)]
        if both
        else [
            _voice_heads(
                passage, study, d.attacks[0].notes[0].voice, d.attacks[0].notes[0].staff, d.side
            )
            for d in (worst.more, worst.fewer)
        ]
    )
    return Meeting(
        more,
        fewer,
        worst.hand,
        worst.more.side,
        worst.fewer.side,
        heads[0],
        heads[1],
        Fraction(worst.length, study.piece.ticks_per_quarter) / parts,
        any(0 not in d.struck for c in alike for d in (c.more, c.fewer)),
    )


def _voice_heads(
    passage: Passage, study: Study, voice: str, staff: int, side: Side
) -> frozenset[str]:
    heads = study.heads_of_hand(passage, side)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    return frozenset(
        i for n in piece.notes if n.voice == voice and n.staff == staff for i in n.ids if i in heads
    )
