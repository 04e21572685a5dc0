"""What to say about a word that is misread, for each reason: title, what goes wrong, what to try."""

from __future__ import annotations

Said = tuple[str, str, tuple[str, ...]]
"""Title, what goes wrong, things to try."""


def _comparison(facts: dict[str, str], bar: str) -> Said:
    base = facts["compared"]
    pair = f"Play {base}, then {bar}, one after the other, until the difference can be heard." if base else (
        f"Decide what {bar} is compared with, since no sign stands before it, and write it in."
    )  # fmt: skip
    return (
        f"“{facts['text']}” compares",
        "The sign or the tempo word is seen and the little word before it is not, so that the change goes the wrong way or too far.",
        (f"Say what it does before playing: {facts['meaning']}.", pair),
    )


def _language(facts: dict[str, str], bar: str) -> Said:
    name = facts["language"] or "unusual"
    return (
        f"“{facts['text']}” to be looked up",
        f"The {name} word in {bar} is passed over, since nobody has said what it means, and nothing changes in the playing.",
        (f"Write the meaning over it in pencil: {facts['meaning']}.",),
    )


def _far(facts: dict[str, str], bar: str) -> Said:
    if "comes suddenly" in facts["here"]:
        return (
            f"“{facts['text']}” that is cut off",
            "The change is carried on into the sign at its end, which then is no surprise, or the sign is prepared by turning "
            "back before it.",
            (
                "Put a stroke in pencil just before the sign at its end: up to there the change goes on.",
                "Stop at the stroke, then play the sign alone; shorten the stop until it is gone.",
            ),
        )
    return (
        f"“{facts['text']}” reaches far",
        f"The word in {bar} is obeyed for a few notes and forgotten, or all is spent in its first bar.",
        (
            "Draw its length in pencil, from the word to where it ends.",
            "Play only the first beat of each bar of that way, each a little further on than the last.",
        ),
    )


def _same_beat(facts: dict[str, str], bar: str) -> Said:
    return (
        f"“{facts['text']}”: which beat stays",
        f"The page looks faster or slower from {bar} on, and the beat follows the look of the notes.",
        (
            f"Tap the beat of the bars before {bar} and go on tapping into it, without playing, then play.",
        ),
    )


def _back(facts: dict[str, str], bar: str) -> Said:
    return (
        f"“{facts['text']}”: the first speed again",
        f"The speed in between has become the habit, and {bar} begins too near to it.",
        (f"Before {bar}, hear two bars of the beginning inwardly, and start from them.",),
    )


def _doubt(facts: dict[str, str], bar: str) -> Said:
    return (
        f"“{facts['text']}” can be read in two ways",
        f"It is played one day this way and the other day that way, and {bar} never settles.",
        (f"Play {bar} in each of the readings, choose one, and write it in.",),
    )


def _not_known(facts: dict[str, str], bar: str) -> Said:
    return (
        f"“{facts['text']}” is not in the lexicon",
        f"The word in {bar} is skipped, although the composer or the editor meant something by it.",
        (f"Look the word of {bar} up, or compare another edition: it may be a slip of the copy.",),
    )


SAID = {
    "comparison": _comparison,
    "language": _language,
    "reach": _far,
    "beat": _same_beat,
    "return": _back,
    "doubt": _doubt,
    "unknown": _not_known,
}
"""For each reason a term is misread: how to say it."""
