"""Plain English for a term and the words of degree that act on it."""

from __future__ import annotations

from dataclasses import dataclass, field

SLIGHT, LITTLE, ALMOST, FAIR, RATHER, MUCH = 0.3, 0.6, 0.85, 1.0, 1.3, 1.75
"""Bounds of degrees between *pochissimo*, *poco*, *quasi*, *abbastanza*, plain, *molto* and *possibile*."""


@dataclass(slots=True)
class Mods:
    """What the words round a term do to it."""

    size: float = 1.0
    more: int = 0
    """+1 *più*, -1 *meno*, 0 neither."""
    negated: bool = False
    limited: bool = False
    """*non troppo* and its like."""
    gradual: bool = False
    always: bool = False
    still: bool = False
    sudden: bool = False
    becoming: bool = False
    words: list[str] = field(default_factory=list)
    until: str = ""
    until_level: float | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing stands here."""
        return not self.words

    def add(self, other: Mods) -> None:
        """Take the words of `other` along."""
        self.size *= other.size
        self.more = other.more or self.more
        for name in ("negated", "limited", "gradual", "always", "still", "sudden", "becoming"):
            setattr(self, name, getattr(self, name) or getattr(other, name))
        self.words += other.words


def degree_of_change(size: float) -> str:
    """How much, after a verb: ``"a little"``, ``"a great deal"``."""
    if size <= SLIGHT:
        return "very slightly"
    if size <= LITTLE:
        return "a little"
    if size < FAIR:
        return "somewhat"
    if size < RATHER:
        return ""
    return "a great deal" if size <= MUCH else "as much as possible"


def comparative(stem: str, size: float) -> str:
    """``"a little louder"``, ``"much louder"``."""
    lead = {
        "very slightly": "very slightly",
        "a little": "a little",
        "somewhat": "somewhat",
        "": "",
    }
    word = lead.get(degree_of_change(size), "much")
    return f"{word} {stem}".strip()


def state_meaning(meaning: str, mods: Mods) -> str:
    """A state with its degree: ``"very soft"``, ``"fast and bright, but not too much"``."""
    text = meaning
    if mods.limited:
        text = f"{text}, but not too much so"
    elif mods.size <= LITTLE:
        if meaning.startswith("with "):
            text = f"with a little {meaning[5:]}"
        else:
            text = f"{text}, only a little" if _is_phrase(meaning) else f"a little {text}"
    elif mods.size < FAIR:
        word = "almost" if mods.size <= ALMOST else "fairly"
        text = f"{word} {text}" if not _is_phrase(meaning) else f"{text}, {word}"
    elif mods.size >= RATHER:
        text = _strong(meaning, mods.size)
    if mods.negated:
        text = f"without {text[5:]}" if text.startswith("with ") else f"not {text}"
    if mods.sudden:
        text = f"suddenly {text}"
    if mods.gradual:
        text = f"{text}, little by little"
    return f"{text}, all through" if mods.always else text


def change_meaning(meaning: str, mods: Mods) -> str:
    """A gradual change with its degree: ``"getting louder, little by little"``."""
    degree = degree_of_change(mods.size)
    tails = [degree]
    if degree and mods.size <= MUCH and meaning.startswith("getting "):
        degree = "much" if mods.size >= RATHER else degree
        meaning, tails = f"getting {degree} {meaning[8:]}", []
    if mods.limited:
        tails = ["but not too much"]
    if mods.gradual:
        tails.append("little by little")
    if mods.always:
        tails.append("going on all the time")
    if mods.sudden:
        tails.append("suddenly")
    text = ", ".join([meaning, *filter(None, tails)])
    if mods.more > 0:
        text += ", more than before"
    elif mods.more < 0:
        text += ", less than before"
    return f"without {text}" if mods.negated else text


def more_of(meaning: str, mods: Mods) -> str:
    """Comparison of a manner: ``"more singing than before"``."""
    word = "more" if mods.more > 0 else "less"
    lead = {"a little": "a little ", "very slightly": "very slightly ", "a great deal": "much "}
    degree = lead.get(degree_of_change(mods.size), "")
    if mods.always:
        return f"{word} and {word} so: {meaning}"
    if _is_phrase(meaning) or "," in meaning:
        return f"{degree}{word} so than before: {meaning}"
    return f"{degree}{word} {meaning} than before"


_LEADS = (
    "with ",
    "at ",
    "like ",
    "as ",
    "from ",
    "by ",
    "in ",
    "to ",
    "bring",
    "hold",
    "go ",
    "the ",
)


def first_sense(meaning: str) -> str:
    """The meaning up to its first comma."""
    return meaning.split(",")[0].split(":")[0]


def _is_phrase(meaning: str) -> bool:
    return meaning.startswith(_LEADS)


def _strong(meaning: str, size: float) -> str:
    if size > MUCH:
        return f"{meaning}, as much so as possible"
    if meaning.startswith("with "):
        return "with much " + meaning[5:]
    head = first_sense(meaning).split()[0]
    if (
        _is_phrase(meaning)
        or head in {"very", "fairly", "extremely"}
        or head.endswith(("ing", "ed"))
    ):
        return f"{meaning}, very much so"
    return f"very {meaning}"
