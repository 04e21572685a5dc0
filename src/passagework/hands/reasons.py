"""Why a finger was chosen, in the trade's words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from passagework.hands.positions import Passing
from passagework.hands.slices import Slice
from passagework.hands.solve import Demand, Solved
from passagework.score.piece import Note


def why_of(solved: Solved, passings: Sequence[Passing], demand: Demand) -> dict[str, str]:
    """One sentence for every note about which there is something to say."""
    passed = {p.note_id: p for p in passings}
    refused = {n.id for s, wanted in solved.refused for p in wanted for n in s.notes[p]}
    found: dict[str, str] = {}
    for place, slice_ in enumerate(solved.slices):
        for note, key in _struck(slice_):
            if note.id in demand.fixed:
                found[note.id] = "The teacher's finger."
            elif demand.printed and note.fingers and note.id not in refused:
                found[note.id] = "Printed in the score."
            elif note.id in passed:
                found[note.id] = _passing(passed[note.id])
            elif note.ornaments:
                found[note.id] = "Leaves a good finger free for the ornament."
            elif place:
                text = _repeated(solved, place, key)
                if text:
                    found[note.id] = text
    return found


def _struck(slice_: Slice) -> Iterator[tuple[Note, int]]:
    for i, (row, struck) in enumerate(zip(slice_.notes, slice_.struck, strict=True)):
        if struck:
            for note in row:
                yield note, i


def _passing(passing: Passing) -> str:
    finger = ("second", "third", "fourth", "fifth")[passing.finger - 2]
    if passing.way == "thumb under":
        return f"The thumb passes under the {finger} finger."
    return f"The {finger} finger passes over the thumb."


def _repeated(solved: Solved, place: int, key: int) -> str:
    now, before = solved.slices[place], solved.slices[place - 1]
    if now.keys[key] not in before.keys:
        return ""
    was = before.keys.index(now.keys[key])
    if solved.left(place - 1)[was] == solved.shape(place)[key]:
        return ""
    if before.struck[was]:
        return "The finger changes on the repeated key."
    return "Another voice takes over the key."
