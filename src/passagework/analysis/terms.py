"""Reads phrases such as *poco a poco meno mosso* word by word: degree acts on what it qualifies.

`parse_terms` is compositional: nothing but single terms and words of degree stands in the lexicon, and the
direction of a change comes from their combination (*meno f* is softer, *meno p* louder). A word that is
in no lexicon is reported as unknown; a near spelling is offered beside it and never used unasked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from passagework.analysis.lexicon import Atom, Entry, Helper, Language, key_of
from passagework.analysis.terms_apart import sift
from passagework.analysis.terms_build import build
from passagework.analysis.terms_effects import Apart, Effect, Phrase, Reading, Suggestion
from passagework.analysis.terms_forms import Form, near_spellings
from passagework.analysis.terms_tokens import Item, items, language_of
from passagework.analysis.terms_wording import Mods

__all__ = ["Apart", "Effect", "Phrase", "Reading", "Suggestion", "parse_terms"]

CONJUNCTIONS = frozenset(
    [
        "e",
        "ed",
        "ma",
        "pero",
        "poi",
        "o",
        "et",
        "mais",
        "puis",
        "ou",
        "und",
        "aber",
        "doch",
        "jedoch",
        "oder",
        "dann",
        "and",
        "but",
        "then",
        "or",
    ]
)
CONTRAST = frozenset(["ma", "pero", "mais", "aber", "doch", "jedoch", "but"])
PREPOSITIONS = frozenset(["con", "col", "colla", "mit", "avec", "with"])

MANY_UNKNOWN = 3
"""From so many unknown words on, where they outnumber the terms, the text is taken for lyrics or a remark."""

SHORTEST_NAME = 4
"""Letters of an unknown word in capitals from which on it is a heading."""


@dataclass(slots=True)
class _Record:
    """A term with what acts on it, before it becomes effects."""

    form: Form
    text: str
    mods: Mods


class _Parser:
    """One pass from left to right; words of degree wait for their term or go back to the last one."""

    def __init__(self, language: Language) -> None:
        self.language = language
        self.records: list[_Record] = []
        self.waiting = Mods()
        self.carry = Mods()
        self.target = False  # an "until" waits for its sign
        self.joined = False  # a conjunction stands before
        self.unknown: list[str] = []
        self.loose: list[Mods] = []

    def read(self, found: list[Item]) -> None:
        for at, item in enumerate(found):
            after = found[at + 1] if at + 1 < len(found) else None
            if item.broken:
                self._close()
                self.carry = Mods()
            helper = self._helper(item, after)
            if helper is not None:
                self._help(helper, item, after)
            elif item.forms:
                self._term(_plain_before_noun(_choose(item.forms, self.language), after), item.text)
            elif self.target and self.records:
                self._reach(item.text, None)
            else:
                self.unknown.append(item.text.strip(".,;:"))
        self._close()

    def _helper(self, item: Item, after: Item | None) -> Helper | None:
        """The word as one that acts on others; a term with the same spelling wins unless a term follows."""
        if not item.helpers:
            return None
        own = [h for h in item.helpers if h.language == self.language]
        helper = (own or list(item.helpers))[0]
        if item.forms:
            mine = any(f.entry.language == self.language for f in item.forms)
            if mine and (not own or helper.role == "link"):
                return None
            leads = after is not None and not after.broken and bool(after.forms or after.helpers)
            if not own and not mine:
                return helper if leads else None
            return helper if leads and own else (None if mine else helper)
        if self.target and helper.role == "degree":
            return helper
        return helper

    def _help(self, helper: Helper, item: Item, after: Item | None) -> None:
        role, key, mods = helper.role, key_of(item.text), Mods(words=[item.text])
        if role == "link":
            if key in CONJUNCTIONS:
                self._close()
                self.joined = bool(self.records)
                if key in CONTRAST:
                    self.carry = Mods()
            elif key in PREPOSITIONS and not self.waiting.empty and self.records:
                self._close()  # Allegro molto con brio: molto belongs to Allegro
            return
        if role == "until":
            self._close()
            self.target = bool(self.records)
            return
        if role == "limit" and (after is None or after.broken or not after.forms):
            if self.records:
                self.records[-1].mods.limited = True
                self.records[-1].text += f" {item.text}"
                return
            mods.limited = True
        elif role == "limit":
            mods.limited = True
        elif role == "degree":
            mods.size = helper.size
        elif role in {"more", "less", "fewer"}:
            mods.more = 1 if role == "more" else -1
            mods.always = role == "fewer"
        elif role == "not":
            mods.negated = True
        else:
            setattr(mods, role, True)
        if role == "gradual" and key in {
            "di piu in piu",
            "de plus en plus",
            "immer mehr",
            "mehr und mehr",
        }:
            mods.more = 1
            mods.always, mods.gradual = True, False
        self.waiting.add(mods)

    def _term(self, form: Form, text: str) -> None:
        lone = form.entry.readings[0][0]
        if self.target and self.records:
            self._reach(text, lone.values[0] if lone.verb == "level" else None)
            return
        mods = Mods()
        if self.joined:
            mods.add(self.carry)
        if text[:4].lower() in {"con ", "mit "} and not self.waiting.empty and self.records:
            self._close()
        mods.add(self.waiting)
        self.waiting = Mods()
        self.carry = Mods(
            gradual=mods.gradual and not mods.more, always=mods.always and not mods.more
        )
        self.joined = False
        if mods.limited and len(self.records) and not mods.words:
            mods.limited = False
        mods.size *= form.size
        if form.comparative:
            mods.more = mods.more or 1
        mods.becoming |= form.becoming
        self.records.append(_Record(form, " ".join([*mods.words, text]), mods))

    def _reach(self, text: str, level: float | None) -> None:
        self.target = False
        last = self.records[-1]
        last.mods.until, last.mods.until_level = text.strip(".,"), level
        last.text += f" ... {text}"

    def _close(self) -> None:
        """The end of a clause: words still waiting belong to the term before, or stand alone."""
        self.target = self.joined = False
        if self.waiting.empty:
            return
        waiting, self.waiting = self.waiting, Mods()
        if self.records and not waiting.more and not waiting.negated:
            self.records[-1].mods.add(waiting)
            self.records[-1].text += " " + " ".join(waiting.words)
        else:
            self.loose.append(waiting)


def _plain_before_noun(form: Form, after: Item | None) -> Form:
    """A German word in *-er* before a noun is declined (*in langsamer Bewegung*), no comparative."""
    if not form.comparative or form.entry.language != "de" or after is None or after.broken:
        return form
    noun = after.text[:1].isupper() and all(h.role == "link" for h in after.helpers)
    return replace(form, comparative=False) if noun else form


def _choose(forms: tuple[Form, ...], language: Language) -> Form:
    order = (language, "it", "fr", "de", "en")
    return min(forms, key=lambda f: order.index(f.entry.language))


@lru_cache(maxsize=4096)
def parse_terms(text: str, language: Language | None = None) -> Phrase:
    """Read `text`, words printed in a score.

    `language` is a hint (the language of most of the piece); a phrase in another language is read in its own.
    Words that are no terms are in `Phrase.apart`, words that nobody knows in `Phrase.unknown`.
    """
    sifted = sift(text)
    apart = list(sifted.apart)
    found = items(sifted.kept)
    if len(found) == 1 and len(found[0].text.strip(".")) == 1 and found[0].text[0] in "ABCDEFGH":
        return Phrase(text, "", (), apart=(*apart, Apart(found[0].text, "heading")))
    spoken = language_of(found, language)
    parser = _Parser(spoken)
    parser.read(found)
    parts: list[Effect] = []
    others: list[Reading] = []
    unknown, suggestions = _unknown(parser, found, apart)
    for record in parser.records:
        built, readings = build(record.form.entry, record.text, record.mods)
        parts += built
        others += readings
    for mods in parser.loose:
        effect, readings = _elliptical(mods, spoken, parts)
        parts.append(effect)
        others += readings
    return Phrase(
        text,
        spoken if parts else "",
        tuple(parts),
        unknown,
        tuple(others),
        suggestions,
        tuple(apart),
    )


def _unknown(
    parser: _Parser, found: list[Item], apart: list[Apart]
) -> tuple[tuple[str, ...], tuple[Suggestion, ...]]:
    words = tuple(w for w in parser.unknown if w)
    near = {w: near_spellings(w) for w in words}
    named = [w for w in words if w.isupper() and len(w) >= SHORTEST_NAME and not near[w]]
    apart += [Apart(w, "heading") for w in named]  # terms that nobody knows are not set in capitals
    words = tuple(w for w in words if w not in named)
    near = {w: near[w] for w in words}
    terms = len(parser.records)
    many = len(words) >= MANY_UNKNOWN and len(words) > terms
    only = len(words) >= 2 and not terms and not any(near.values())
    if (many or only) and 2 * sum(map(bool, near.values())) < len(words):
        speeds = any(r.form.entry.readings[0][0].verb == "beat" for r in parser.records)
        if not speeds and len(words) >= 2 * terms:
            parser.records.clear()  # a sentence that happens to hold a word of the lexicon
            parser.loose.clear()
            apart.append(Apart(" ".join(i.text for i in found), "other words"))
            return (), ()
        apart.append(Apart(" ".join(words), "other words"))
        return (), ()
    suggestions = tuple(Suggestion(w, e.name, e.meaning) for w in words for e in near[w])
    return words, suggestions


def _elliptical(
    mods: Mods, language: str, before: list[Effect]
) -> tuple[Effect, tuple[Reading, ...]]:
    """Words of degree with no term: *più* after a tempo is faster, alone it may be louder or faster."""
    text = " ".join(mods.words)
    dimensions = {p.dimension for p in before} & {"tempo", "loudness"}
    readings = []
    if mods.more:
        for dimension, entry in (("tempo", _MOSSO), ("loudness", _LOUD)):
            parts, _ = build(entry, text, mods)
            if dimensions == {dimension}:
                return parts[0], ()
            readings.append(Reading(text, parts))
    meaning = "belongs to the mark before or after it: " + (_modifier_meaning(mods) or text)
    effect = Effect(
        "modifier", "modifier", text, meaning, language, mods.more, mods.size, gradual=mods.gradual,
        always=mods.always, sudden=mods.sudden, negated=mods.negated, compared=bool(mods.more),
    )  # fmt: skip
    return effect, tuple(readings)


def _modifier_meaning(mods: Mods) -> str:
    degrees = (
        (0.3, "very little"),
        (0.6, "a little"),
        (0.95, "somewhat"),
        (1.05, ""),
        (1.75, "much"),
    )
    words = [next((w for top, w in degrees if mods.size <= top), "as much as possible")]
    words += ["more"] if mods.more > 0 else ["less"] if mods.more < 0 else []
    for flag, word in (
        (mods.negated, "not"), (mods.limited, "not too much"), (mods.gradual, "little by little"),
        (mods.always, "all through"), (mods.still, "still"), (mods.sudden, "suddenly"),
    ):  # fmt: skip
        if flag:
            words.append(word)
    return ", ".join(w for w in words if w)


_MOSSO = Entry("mosso", "it", "movement", ((Atom("tempo", "brisk"),),))
_LOUD = Entry("forte", "it", "loud", ((Atom("loudness", "louder"),),))
