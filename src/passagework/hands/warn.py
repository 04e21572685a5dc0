"""What a fingering must warn of: printed fingers that do not reach, chords and held notes that do not."""

from __future__ import annotations

from collections.abc import Mapping

from passagework.hands.layers import LOOSE
from passagework.hands.slices import Slice
from passagework.hands.solve import Solved
from passagework.score.piece import Note, Piece


def warnings_of(
    piece: Piece, solved: Solved, fingers: Mapping[str, tuple[int, ...]]
) -> list[tuple[int, str]]:
    """(bar index, sentence) for everything that the student's hand cannot do as it is written."""
    found: list[tuple[int, str]] = []
    for slice_, wanted in solved.refused:
        printed = " ".join(str(wanted[p][0]) for p in sorted(wanted))
        instead = " ".join(str(fingers[slice_.notes[p][0].id][0]) for p in sorted(wanted))
        verb = "does" if len(wanted) == 1 else "do"
        what = "finger" if len(wanted) == 1 else "fingers"
        found.append(
            _say(piece, slice_, solved, f"the printed {what} {printed} {verb} not reach; {instead} instead")
        )  # fmt: skip
    for slice_, layer in zip(solved.slices, solved.lattice.layers, strict=True):
        if layer.flags & LOOSE and not slice_.rolled:
            names = _names(slice_)
            text = f"{names} cannot be struck together by this hand; see the ways out"
            found.append(_say(piece, slice_, solved, text))
        if slice_.thumbed:
            keys = len(slice_.keys) + len(slice_.thumbed)
            text = f"{keys} keys at once; the thumb must take two, or the other hand help"
            found.append(_say(piece, slice_, solved, text))
        for note in slice_.let_go:
            text = f"{note.pitch} cannot be held by the finger; let the pedal keep it, or share it"
            found.append(_say(piece, slice_, solved, text))
    return found


def _names(slice_: Slice) -> str:
    notes = sorted((row[0] for row in slice_.notes), key=lambda n: n.midi)
    return " ".join(str(n.pitch) for n in notes)


def _say(piece: Piece, slice_: Slice, solved: Solved, text: str) -> tuple[int, str]:
    bar = _first_struck(slice_).bar
    return bar, f"Bar {piece.bars[bar].label}, {solved.side} hand: {text}."


def _first_struck(slice_: Slice) -> Note:
    return slice_.notes[slice_.struck.index(True)][0]
