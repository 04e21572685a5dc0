"""Figures in words: what they are made of, and which of their notes is meant."""

from __future__ import annotations

from fractions import Fraction

from passagework.listening.figures import Figure, Shape
from passagework.spots.words_of import number, value_name

DOTTED: tuple[Shape, ...] = tuple(
    (Fraction(0), place)
    for place in (Fraction(3, 4), Fraction(2, 3), Fraction(1, 4), Fraction(1, 3))
)
"""A long note and a short one: dotted, as in compound time, and the two the other way round."""

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def is_even(shape: Shape) -> bool:
    """Whether all notes of the shape are of one length."""
    return all(place == Fraction(k, len(shape)) for k, place in enumerate(shape))


def figure_name(figure: Figure) -> str:
    """Figures like this one, in the plural: ``"quaver triplets"``, ``"groups of four semiquavers"``."""
    values = [min((n.value for n in notes), default=Fraction(0)) for notes in figure.notes]
    names = [value_name(v) for v in values]
    tuplet = next((n.tuplet for notes in figure.notes for n in notes if n.tuplet), None)
    if not is_even(figure.shape):
        known = [name for name in names if name]
        same = len(known) == len(names) == 2
        return f"figures of a {known[0]} and a {known[1]}" if same else "uneven figures"
    unit = names[0] if len(set(names)) == 1 and names[0] else "note"
    if tuplet and len(figure.shape) == 3:
        return f"{unit} triplets" if unit != "note" else "triplets"
    if len(figure.shape) == 2:
        return f"pairs of {unit}s"
    return f"groups of {number(len(figure.shape))} {unit}s"


def note_of(shape: Shape, member: int) -> str:
    """A note of a figure: ``"the first note"``, ``"the short note"``, ``"the last of the three notes"``."""
    if len(shape) == 2 and not is_even(shape):
        longer = shape[1] > Fraction(1, 2)
        return "the long note" if (member == 0) == longer else "the short note"
    if member == len(shape) - 1 and member:
        return "the last note" if len(shape) > 2 else "the second note"
    return f"the {ORDINALS[member]} note"
