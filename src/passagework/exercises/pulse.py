"""A pulse for the hand that is not practised: one key on every beat, under or over the other hand."""

from __future__ import annotations

from fractions import Fraction

from passagework.exercises.alone import other
from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import bar_offset, times
from passagework.exercises.edit.take_out import keep_only
from passagework.exercises.edit.unfold import Item, unfold
from passagework.exercises.exercise import DoesNotFitError
from passagework.exercises.made import head_of
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.notation import Notation
from passagework.score.piece import Pitch, Side

HOME: dict[Side, Pitch] = {"right": Pitch("C", 0, 5), "left": Pitch("C", 0, 3)}
"""Where a hand taps that has nothing to play in the passage."""


def against_pulse(
    passage: Passage, study: Study, heads: frozenset[str], side: Side, every: Fraction | None = None
) -> Notation:
    """The heads of `side` as written, and in the other hand one key every `every` quarters (a beat if left out).

    The key is the first that the other hand has in the passage. Raises `DoesNotFitError` where hands have no
    staves of their own.
    """
    taps = other(side)
    staff = "1" if taps == "right" else "2"
    if study.piece.staves != 2:
        raise DoesNotFitError("the other hand has no staff of its own to tap on")
    layout = unfold(keep_only(study.practice(passage), heads))
    pitch = _key(passage, study, taps)
    voice = _free_voice(layout.notation, [i.voice for _, i in layout.items()])
    for index, (sheet, time) in enumerate(zip(layout.sheets, times(layout), strict=True)):
        step = every or time.beat
        offset = bar_offset(index, sheet, time)
        for item in [i for i in sheet.items if _idle(i, staff)]:
            sheet.items.remove(item)
            if item.kind == "rest":
                sheet.touch(item)  # a tuplet may have begun on it
        at = -(offset % step) % step
        while at < sheet.length:
            length = min(step, sheet.length - at)
            head = head_of(layout, pitch, voice, staff)
            item = Item("chord", at, length, [head], voice, changed=True)
            sheet.items.append(item)
            sheet.touch(item)
            at += length
    return finish(layout)


def _idle(item: Item, staff: str) -> bool:
    """A rest on the staff that takes the pulse; signs and lines, which are not what is practised."""
    if item.kind == "rest":
        return (item.main.findtext("staff") or "1") == staff
    return item.main.tag == "direction"


def _key(passage: Passage, study: Study, side: Side) -> Pitch:
    heads = study.heads_of_hand(passage, side)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    staff = 1 if side == "right" else 2
    own = [n for n in piece.notes if n.id in heads and not n.grace and n.staff == staff]
    if not own:
        return HOME[side]
    pitch = min(own, key=lambda n: (n.onset, n.midi if side == "left" else -n.midi)).pitch
    return Pitch(pitch.step, pitch.alter, pitch.octave)


def _free_voice(notation: Notation, used: list[str]) -> str:
    names = {*used, *(e.text or "" for e in notation.root.iter("voice"))}
    return next(str(k) for k in range(1, 100) if str(k) not in names)
