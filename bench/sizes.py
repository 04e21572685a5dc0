"""Scores of any size, made by playing the bars of the demo piece again."""

from __future__ import annotations

import copy
from importlib.resources import files

from passagework.score import Notation, read_score


def demo_bytes() -> bytes:
    """The demo piece as MusicXML."""
    return files("passagework.demo").joinpath("evening-ferry.musicxml").read_bytes()


def score_of(notes: int) -> bytes:
    """A score of at least `notes` notes (and fewer than one demo piece more)."""
    notation = read_score(demo_bytes()).notation
    per_copy = sum(1 for n in notation.notes() if n.find("pitch") is not None)
    return repeated(notation, max(1, -(-notes // per_copy)))


def score_of_bars(bars: int) -> bytes:
    """A score of exactly `bars` bars."""
    notation = read_score(demo_bytes()).notation
    repeated_bytes = repeated(notation, -(-bars // len(notation.measures)))
    longer = read_score(repeated_bytes).notation
    for measure in longer.measures[bars:]:
        longer.part.remove(measure)
    return longer.to_bytes()


def repeated(notation: Notation, times: int) -> bytes:
    """The bars of `notation` several times over, numbered through, ids made new."""
    result = notation.copy()
    originals = [copy.deepcopy(m) for m in result.measures]
    for round_ in range(1, times):
        for index, measure in enumerate(originals):
            again = copy.deepcopy(measure)
            again.set("number", str(round_ * len(originals) + index))
            for element in again.iter():
                element.attrib.pop("id", None)
            again.attrib.pop("id", None)
            result.part.append(again)
    return result.to_bytes()
