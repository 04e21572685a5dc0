"""What the layers of a section are called and how they are practised, in three ways of speaking: to a child, to a teenager, to an
adult.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from passagework.teaching.student import Register


@dataclass(frozen=True, slots=True)
class LayerWords:
    """How one layer is spoken of. ``{where}`` stands for the bars, ``{tempo}`` and ``{slow}`` for tempos."""

    title: str
    do: str
    done_when: str


THROUGH = "through"
AGAIN = "again"

_CHILD = {
    "hands": LayerWords(
        "Each hand by itself, {where}",
        "First the right hand, four times, slowly. Then the left hand. Use the fingers that are written.",
        "each hand goes three times with the same fingers and no stop",
    ),
    "together": LayerWords(
        "Both hands, very slowly, {where}",
        "So slowly that nothing can go wrong. If you have to stop, play slower.",
        "it goes two times with no stop{slow}",
    ),
    "tempo": LayerWords(
        "A little quicker, {where}",
        "Start slowly. When it has gone well three times, play it a little quicker.",
        "it goes three times with no stop{tempo}",
    ),
    "memory": LayerWords(
        "Without the book, {where}",
        "Look at two bars, close the book, play them. Then the next two.",
        "you can play it with the book closed",
    ),
    "polish": LayerWords(
        "As beautifully as you can, {where}",
        "Play it for somebody. Think of how it should sound before you begin.",
        "you like how it sounds from the first note to the last",
    ),
    AGAIN: LayerWords(
        "What you know already",
        "Play each place three times, so that you keep it.",
        "each place goes the first time",
    ),
    THROUGH: LayerWords(
        "The whole piece, from beginning to end",
        "Play on whatever happens. Bow before it and after it, as at the concert.",
        "you got to the end without stopping",
    ),
}

_TEENAGER = {
    "hands": LayerWords(
        "Hands separately, {where}",
        "Four times each hand, slowly, always with the same fingers. Write down a finger that you change.",
        "each hand goes three times in a row without a stop",
    ),
    "together": LayerWords(
        "Hands together, slowly, {where}",
        "Choose a tempo at which nothing goes wrong. A mistake means that it was too fast.",
        "twice in a row without a stop{slow}",
    ),
    "tempo": LayerWords(
        "Up to tempo, {where}",
        "Three times right at one tempo, then one mark faster. Go back two marks when it falls apart.",
        "three times in a row without a stop{tempo}",
    ),
    "memory": LayerWords(
        "From memory, {where}",
        "Phrase by phrase with the book closed. Begin in the middle too, not only at the start.",
        "you can start at the beginning of every phrase without the book",
    ),
    "polish": LayerWords(
        "Sound and shape, {where}",
        "Decide where each phrase goes, then play it so. Record it once and listen.",
        "the recording sounds as you meant it",
    ),
    AGAIN: LayerWords(
        "To keep what is learned",
        "Each place three times, slowly first, then at tempo.",
        "each place goes at the first try",
    ),
    THROUGH: LayerWords(
        "Play through, without stopping",
        "From beginning to end as in the performance. Go on whatever happens; mend it afterwards.",
        "once through without a stop",
    ),
}

_ADULT = {
    "hands": LayerWords(
        "Hands separately, with the fingering, {where}",
        "Each hand about four times, slowly, always with the same fingers; pencil in what you change.",
        "each hand goes three times in a row without a stop",
    ),
    "together": LayerWords(
        "Hands together, slowly, {where}",
        "At a tempo at which nothing goes wrong. A mistake means that the tempo was too fast.",
        "twice in a row without a stop{slow}",
    ),
    "tempo": LayerWords(
        "Up to tempo, {where}",
        "Three times right, then one mark of the metronome faster; two marks back when it no longer holds.",
        "three times in a row without a stop{tempo}",
    ),
    "memory": LayerWords(
        "From memory, {where}",
        "Phrase by phrase with the book closed, starting at different phrases.",
        "you can begin at any phrase without the book",
    ),
    "polish": LayerWords(
        "Sound and shape, {where}",
        "Decide where each phrase leads and how it is to sound, then play it so and listen back.",
        "it sounds as you meant it",
    ),
    AGAIN: LayerWords(
        "To keep what is learned",
        "Each place three times, slowly first, then at tempo.",
        "each place goes at the first try",
    ),
    THROUGH: LayerWords(
        "Play through, without stopping",
        "From beginning to end as in the performance; go on whatever happens, and mend it afterwards.",
        "once through without a stop",
    ),
}

WORDS: Mapping[Register, Mapping[str, LayerWords]] = {
    "child": _CHILD,
    "teenager": _TEENAGER,
    "adult": _ADULT,
}

LAYER_AGAIN: Mapping[str, str] = {
    "hands": "hands separately",
    "together": "hands together, slowly",
    "tempo": "at tempo",
    "memory": "from memory",
    "polish": "as you would perform it",
}
"""How a section comes back."""

SPOT_DO: Mapping[Register, str] = {
    "child": "Slowly first. Only when it has gone well three times, a little quicker.",
    "teenager": "Slowly first; a little faster each time that it has gone right three times in a row.",
    "adult": "Slowly first; a little faster each time that it has gone right three times in a row.",
}
"""For a spot whose exercise is not written out."""

AGAIN_DO: Mapping[Register, str] = {
    "child": "You know this already. Play it three times, so that you keep it.",
    "teenager": "Learned already: three times, slowly and then at tempo, to keep it.",
    "adult": "Learned already: three times, slowly and then at tempo, to keep it.",
}

WENT_WRONG: Mapping[Register, str] = {
    "child": "This was tricky. Play it before everything else, slowly.",
    "teenager": "This went wrong last time: play it first, slowly.",
    "adult": "This went wrong last time: play it first, slowly.",
}

CAUTION: Mapping[Register, str] = {
    "child": "If anything hurts, stop at once, and tell your family and your teacher. If it does not pass, see a doctor.",
    "teenager": "If anything hurts, stop, and tell your teacher. If it does not pass, see a doctor.",
    "adult": "If anything hurts, stop, and tell your teacher. If it does not pass, see a doctor or a physiotherapist who treats musicians.",
}
