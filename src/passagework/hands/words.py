"""The cost terms in the trade's words."""

from __future__ import annotations

from passagework.hands.terms import STRETCHES, Term

TERM_WORDS: dict[Term, str] = {
    Term.CRAMPED: "fingers close together",
    Term.CRAMPED_INNER: "fingers close together",
    Term.SHIFT: "turning or opening the hand",
    Term.SHIFT_FAR: "moving the hand along the keys",
    Term.JUMP: "a jump",
    Term.PASS: "thumb passings",
    Term.PASS_ONTO_BLACK: "passing the thumb to a black key",
    Term.PASS_FROM_BLACK: "passing the thumb behind a black key, which is easier",
    Term.PASS_WIDE: "wide passings",
    Term.PASS_WIDE_BY_FOUR: "wide passings",
    Term.PASS_BY_FOUR: "passings at the fourth finger",
    Term.PASS_BY_TWO: "passings at the second finger",
    Term.PASS_BY_FIVE: "passings at the fifth finger",
    Term.CROSS: "fingers crossing each other",
    Term.HOP: "one finger going from key to key",
    Term.SKIP_HOP: "the same finger wanted again at once",
    Term.SKIP_THUMB: "the thumb wanted again at once",
    Term.BLOCK_HOP: "the same fingers moving from chord to chord",
    Term.CHANGE: "changing fingers on a key",
    Term.SKIP_CHANGE: "a key taken by another finger when it comes back",
    Term.BLOCK_CHANGE: "a key taken by another finger in the next chord",
    Term.REPEAT: "quick repetition with one finger",
    Term.THUMB_BLACK: "the thumb on a black key beside white ones",
    Term.THUMB_BLACK_STEP: "the thumb on a black key within a scale",
    Term.FIVE_BLACK_STEP: "the fifth finger on a black key within a scale",
    Term.THUMB_ON_BLACK: "the thumb on a black key",
    Term.FIVE_BLACK: "the fifth finger on a black key beside white ones",
    Term.FIVE_ON_BLACK: "the fifth finger on a black key",
    Term.THREE_FOUR: "third and fourth finger in turn",
    Term.FOUR_FIVE: "fourth and fifth finger in turn",
    Term.FOUR_BLACK: "the fourth finger raised to a black key",
    Term.NARROW: "a semitone between two long fingers",
    Term.SKIP_NARROW: "three fingers within a whole tone",
    Term.WEAK: "the fourth finger",
    Term.SPARED: "a finger to be spared",
    Term.CHORD_CRAMPED: "a cramped chord",
    Term.CHORD_WEAK: "weak fingers next to each other in a chord",
    Term.BLOCK_CROSS: "the hand turning over from chord to chord",
    Term.SUBSTITUTION: "changing fingers while a key is held",
    Term.ORNAMENT: "a poor finger for an ornament",
    **dict.fromkeys(STRETCHES, "stretch"),
}
"""What a teacher reads for each term; terms that say the same share their words."""


def in_words(amounts: list[float]) -> tuple[tuple[str, float], ...]:
    """Costs by term, added up under the words for them, the dearest first."""
    total: dict[str, float] = {}
    for term, amount in zip(Term, amounts, strict=True):
        if abs(amount) > 1e-9:
            words = TERM_WORDS[term]
            total[words] = total.get(words, 0.0) + amount
    return tuple(sorted(total.items(), key=lambda item: (-item[1], item[0])))
