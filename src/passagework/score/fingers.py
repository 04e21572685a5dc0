"""Printed fingering: what stands at each notehead, stacks on one note of a chord dealt out."""

from __future__ import annotations

from collections.abc import Sequence

from passagework.score.heads import Head


def printed_fingers(heads: Sequence[Head]) -> list[tuple[int, ...]]:
    """The fingers of each of `heads`, the striking one first and substitutions after it.

    Programs that hang all the fingers of a chord on one of its notes mean one finger a note, the
    lower number nearer the thumb: upward in the right hand, downward in the left.
    """
    fingers = [tuple(head.signs.fingers) for head in heads]
    chords: dict[int, list[int]] = {}
    for index, head in enumerate(heads):
        chords.setdefault(head.chord, []).append(index)
    for members in chords.values():
        holders = [i for i in members if fingers[i]]
        if len(members) < 2 or len(holders) != 1 or heads[holders[0]].signs.substituted:
            continue
        stack = fingers[holders[0]]
        if len(stack) != len(members) or len(set(stack)) != len(stack):
            continue
        upward = sorted(members, key=lambda i: heads[i].midi)
        ordered = sorted(stack, reverse=heads[members[0]].staff > 1)
        for index, finger in zip(upward, ordered, strict=True):
            fingers[index] = (finger,)
    return fingers
