"""Moving all notes by an interval, with the spelling and the key signature that belong to it."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from passagework.exercises.edit.accidentals import ALTERS, SIGNS, show_needed
from passagework.exercises.edit.unfold import fold, unfold
from passagework.exercises.exercise import DoesNotFitError
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.numbers import whole
from passagework.score.piece import STEP_SEMITONES

LETTERS = "CDEFGAB"

MOST_ALTERED = 2
"""Sharps or flats of a note: what has more is spelled anew as its neighbour."""

MOST_IN_SIGNATURE = 7


@dataclass(frozen=True, slots=True)
class Interval:
    """An interval upwards (downwards with negative numbers): a major third is ``Interval(2, 4)``."""

    steps: int
    """Letters: 0 for a prime, 1 for a second ..."""
    semitones: int

    @property
    def fifths(self) -> int:
        """Sharps that it adds to a signature (flats if negative)."""
        natural = STEP_SEMITONES[LETTERS[self.steps % 7]] + 12 * (self.steps // 7)
        return "FCGDAEB".index(LETTERS[self.steps % 7]) - 1 + 7 * (self.semitones - natural)

    def reversed(self) -> Interval:
        """The same interval the other way."""
        return Interval(-self.steps, -self.semitones)


def transpose(notation: Notation, interval: Interval) -> Notation:
    """All notes, signatures, chord symbols and ornament accidentals moved by `interval`; ids stay.

    Where the new signature would have more than seven signs the enharmonic one is taken for all.
    Raises `DoesNotFitError` where a note would leave the piano.
    """
    layout = unfold(notation)
    interval = _within_signatures(notation, interval)
    for sheet in layout.sheets:
        for item in sheet.items:
            if item.main.tag == "attributes":
                _move_keys(item.main, interval)
            elif item.main.tag == "harmony":
                _move_symbol(item.main, interval)
            elif item.kind in {"chord", "grace"}:
                for note in item.elements:
                    _move_note(note, interval)
    show_needed(layout, all_new=True)
    return fold(layout)


def _within_signatures(notation: Notation, interval: Interval) -> Interval:
    """The interval or its enharmonic neighbour, so that every signature has a usable number of signs."""
    keys = [f for node in notation.part.iter("fifths") if (f := whole(node.text)) is not None]
    best = interval
    for other in (
        interval,
        Interval(interval.steps + 1, interval.semitones),
        Interval(interval.steps - 1, interval.semitones),
    ):
        most = max((abs(k + other.fifths) for k in keys), default=0)
        now = max((abs(k + best.fifths) for k in keys), default=0)
        if now > MOST_IN_SIGNATURE and most < now:
            best = other
    return best


def _move_keys(attributes: Element, interval: Interval) -> None:
    for key in attributes.findall("key"):
        node = key.find("fifths")
        value = whole(node.text) if node is not None else None
        if node is not None and value is not None:
            node.text = str(value + interval.fifths)
        for cancel in key.findall("cancel"):
            key.remove(cancel)


def moved(step: str, alter: int, octave: int, interval: Interval) -> tuple[str, int, int]:
    """A spelled pitch moved by `interval`, as its neighbour where it would need three signs or more."""
    place = LETTERS.index(step) + 7 * octave + interval.steps
    sound = STEP_SEMITONES[step] + alter + 12 * octave + interval.semitones
    best: tuple[str, int, int] | None = None
    for near in (place, place + 1, place - 1):
        letter, new_octave = LETTERS[near % 7], near // 7
        new_alter = sound - STEP_SEMITONES[letter] - 12 * new_octave
        if best is None or abs(best[1]) > MOST_ALTERED >= abs(new_alter):
            best = letter, new_alter, new_octave
    assert best is not None
    return best


def _move_note(note: Element, interval: Interval) -> None:
    pitch = note.find("pitch")
    if pitch is None:
        return
    step, octave = pitch.findtext("step") or "C", int(pitch.findtext("octave") or 4)
    alter = int(pitch.findtext("alter") or 0)
    new = moved(step, alter, octave, interval)
    if not 0 <= new[2] <= 9:
        raise DoesNotFitError("a note would lie beyond the keyboard")
    for node in list(pitch):
        pitch.remove(node)
    etree.SubElement(pitch, "step").text = new[0]
    if new[1]:
        etree.SubElement(pitch, "alter").text = str(new[1])
    etree.SubElement(pitch, "octave").text = str(new[2])
    for mark in note.iter("accidental-mark"):
        _move_mark(mark, (step, octave), interval)


def _move_mark(mark: Element, at: tuple[str, int], interval: Interval) -> None:
    """An accidental at an ornament alters the note above, or below where it is placed below."""
    alter = ALTERS.get((mark.text or "").strip())
    if alter is None:
        return
    way = -1 if mark.get("placement") == "below" else 1
    place = LETTERS.index(at[0]) + 7 * at[1] + way
    new = moved(LETTERS[place % 7], alter, place // 7, interval)
    mark.text = SIGNS.get(new[1], "natural")


def _move_symbol(harmony: Element, interval: Interval) -> None:
    for tag in ("root", "bass"):
        for node in harmony.findall(tag):
            step, alter = node.find(f"{tag}-step"), node.find(f"{tag}-alter")
            if step is None or (step.text or "") not in STEP_SEMITONES:
                continue
            old = whole(alter.text) if alter is not None else 0
            new = moved(step.text or "C", old or 0, 4, interval)
            step.text = new[0]
            if alter is not None:
                node.remove(alter)
            if new[1]:
                fresh = etree.Element(f"{tag}-alter")
                fresh.text = str(new[1])
                step.addnext(fresh)
