"""Words that are easily misread: comparatives, terms in languages the student has not met, words that act far away.

A term is measured by what can go wrong with it, and the parts add up (`_weigh`):

* a comparison (*più*, *meno*) read as if the sign alone stood there: the levels between what it says and what
  the sign says, or the speed that goes the other way than the word suggests;
* a term beyond the first ones that everybody learns, more so in German or French, at its first appearance;
* a change that lasts for bars after its word, with no hairpin on the page to remind the eye; a crescendo that ends
  in a softer sign; a pedal that stays down until a word far away;
* a return to a speed that was left long ago;
* two readings of one word; a word that is in no lexicon.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence

from passagework.analysis.lexicon import key_of
from passagework.analysis.loudness_levels import level_name
from passagework.analysis.terms_effects import Effect
from passagework.analysis.terms_place import Places
from passagework.analysis.terms_read import Term, read_terms_in
from passagework.score.piece import Note, Position
from passagework.spots.context import Context, is_plain
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import decimal, listed, tempo_words
from passagework.spots.words_said import SAID

COMPARED = 0.7
"""A comparison, whichever way it goes: it says nothing without what stood before."""
LEVEL_OFF = 0.7
"""For each level between what a comparison asks for and the sign that the eye catches."""
CONTRARY = 0.9
"""The word that is seen says the opposite (*meno f* is softer, *moins vite* slower)."""
UNCOMMON = 0.7
"""A term that is not among those of the first years."""
FOREIGN = {"it": 0.0, "fr": 0.6, "de": 0.6, "en": -0.7, "": 0.0}
"""By language: Italian is taught with the notes, German and French are not, English is read as it stands."""
SEEN_BEFORE = 0.3
"""Share that an uncommon term counts when it comes back."""
LONG_CHANGE_BARS, LONG_CHANGE, LONG_CHANGE_MOST = 2, 0.25, 1.0
"""A change counts for each bar that it lasts beyond these, up to the last figure."""
FALSE_GOAL = 0.8
"""A crescendo that is cut off by a softer sign, or a diminuendo by a louder one."""
PEDAL_BARS, LONG_PEDAL = 4, 0.6
"""A left pedal that stays down for more bars than these."""
LONG_AGO_BARS, LONG_AGO = 16, 0.9
"""A speed that was left so many bars ago must be remembered."""
DOUBTFUL = 0.6
"""A word with two readings."""
SAME_BEAT = 1.2
"""*L'istesso tempo*, *doppio movimento*: the beat stays or doubles while the page looks different."""
UNKNOWN = 1.6
"""A word that is in no lexicon."""

FAINT = 0.7
"""Terms below this weight are nobody's difficulty."""
ORDINARY = (0.9, 1.6)
"""Weights that nobody of the level minds."""
HARD = (1.8, 3.2)
"""The same where the word must be settled before practice begins."""

COMMON = frozenset(
    key_of(t)
    for t in [
        "piano",
        "forte",
        "p",
        "f",
        "pp",
        "ff",
        "mp",
        "mf",
        "pianissimo",
        "fortissimo",
        "crescendo",
        "decrescendo",
        "diminuendo",
        "ritardando",
        "rallentando",
        "a tempo",
        "legato",
        "staccato",
        "dolce",
        "allegro",
        "andante",
        "moderato",
        "allegretto",
        "adagio",
        "vivace",
        "presto",
        "largo",
        "lento",
        "cantabile",
        "espressivo",
        "fine",
        "pedale",
        "legato",
        "simile",
        "leggiero",
        "mano destra",
        "mano sinistra",
        "accelerando",
        "right hand",
        "left hand",
        "con pedale",
        "andantino",
        "mit pedal",
        "pédale",
        "with pedal",
        "volta",
        "seconda volta",
        "tempo primo",
        "grazioso",
    ]
)
"""Terms of the first years of teaching, by the first spelling in the lexicon."""


def find(context: Context) -> Iterable[Candidate]:
    """Every term that is worth a word before practice begins."""
    places, terms = read_terms_in(context.piece)
    onsets, struck = _attacks(context)
    seen: set[str] = set()
    for term in terms:
        weights = _weigh(term, places, seen)
        total = sum(weights.values())
        if total < FAINT:
            continue
        at = bisect_left(onsets, term.onset)
        if at == len(onsets):
            continue
        notes = struck[at]
        main = max(weights, key=lambda name: (weights[name], name))
        before = places.loud_before(term_mark := places.mark_of(term.id, term.onset))
        now = places.loudness.at(term_mark.onset, term_mark.staff)
        yield Candidate(
            first_bar=notes[0].bar,
            last_bar=notes[0].bar,
            hand="both",
            note_ids=tuple(n.id for n in notes),
            severity=severity(
                total, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
            ),
            family=main,
            numbers={"weight": total, "off": _levels_off(term, places), "bar": float(term.bar)},
            facts={
                "text": _shown(term),
                "meaning": term.meaning,
                "here": term.consequence,
                "language": term.language,
                "others": "; ".join(term.other_readings),
                "parts": ", ".join(sorted(weights)),
                "now": level_name(now.level),
                "before": level_name(before.level) if before else "",
                "compared": _compared_bar(term, places),
            },
        )


def _attacks(context: Context) -> tuple[list[Position], list[list[Note]]]:
    rows: dict[Position, list[Note]] = {}
    for note in context.piece.notes:
        if is_plain(note):
            rows.setdefault(note.onset, []).append(note)
    onsets = sorted(rows)
    return onsets, [rows[o] for o in onsets]


def _shown(term: Term) -> str:
    """The words as printed, without metronome marks, headings and dashes beside them."""
    text = term.text
    for other in term.phrase.apart:
        text = text.replace(other.text, " ")
    text = " ".join(text.replace("(", " ").replace(")", " ").split())
    return text.strip(" ,;:-–—_=") or term.text.strip()


# measuring


def _weigh(term: Term, places: Places, seen: set[str]) -> dict[str, float]:
    """What can go wrong with `term`, by name of the reason."""
    weights: dict[str, float] = {}
    parts = term.phrase.parts
    compared = [e for e in parts if e.compared and e.kind in {"step", "change"} and e.direction]
    if compared:
        contrary = any(_contrary(e) for e in compared)
        weights["comparison"] = (
            COMPARED + LEVEL_OFF * _levels_off(term, places) + (CONTRARY if contrary else 0.0)
        )
    strange = _strangeness(term, seen)
    if strange > 0:
        weights["language"] = strange
    reach = max((_reach(e, term, places) for e in parts), default=0.0)
    if reach > 0:
        weights["reach"] = reach
    if any(e.kind == "scale" or (e.kind == "keep" and e.verb == "same") for e in parts):
        weights["beat"] = SAME_BEAT
    if any(e.kind == "restore" for e in parts) and _bars_since(term, places) >= LONG_AGO_BARS:
        weights["return"] = LONG_AGO
    if term.other_readings:
        weights["doubt"] = DOUBTFUL
    if term.phrase.unknown:
        weights["unknown"] = UNKNOWN
    return weights


def _contrary(effect: Effect) -> bool:
    """Whether the word that is seen points the other way than the phrase (*meno f*, *più p* after *pp* not)."""
    first = key_of(effect.words).split()
    return any(w in {"meno", "moins", "weniger", "minder", "less"} for w in first)


def _levels_off(term: Term, places: Places) -> float:
    """Levels between what a comparison asks for and the sign in it."""
    for effect in term.phrase.of("loudness"):
        if effect.compared and effect.kind == "step" and effect.sign_level is not None:
            now = places.loudness.at(term.onset, term.staff).level
            return abs(effect.sign_level - now)
    return 0.0


def _strangeness(term: Term, seen: set[str]) -> float:
    total = 0.0
    for effect in term.phrase.parts:
        name = key_of(effect.name)
        if not name or name in COMMON:
            continue
        weight = max(UNCOMMON + FOREIGN.get(effect.language, 0.0), 0.0)
        total = max(total, weight * (SEEN_BEFORE if name in seen else 1.0))
        seen.add(name)
    return total


def _reach(effect: Effect, term: Term, places: Places) -> float:
    """Bars that a change goes on with nothing to be seen, and goals that are not where it seems to lead."""
    if effect.dimension == "loudness" and effect.kind == "change":
        span = places.loudness.span_at(term.onset, term.staff)
        bars = places.piece.bar_at(span.end).index - term.bar
        weight = min(max(bars - LONG_CHANGE_BARS, 0) * LONG_CHANGE, LONG_CHANGE_MOST)
        return weight + (FALSE_GOAL if "comes suddenly" in term.consequence else 0.0)
    if effect.dimension == "tempo" and effect.kind == "change":
        after = places.steady_after(term.onset)
        end = after.onset if after is not None else places.piece.end
        bars = places.piece.bar_at(end).index - term.bar
        return min(max(bars - LONG_CHANGE_BARS, 0) * LONG_CHANGE, LONG_CHANGE_MOST)
    if effect.dimension == "pedal" and effect.verb == "soft":
        later = places.next_mark(places.mark_of(term.id, term.onset), "pedal")
        far = later is None or later.bar - term.bar > PEDAL_BARS
        return LONG_PEDAL if far else 0.0
    return 0.0


def _bars_since(term: Term, places: Places) -> int:
    """Bars since the speed that a return goes back to was left."""
    before = places.steady_before(term.onset)
    first = any(e.verb == "tempo1" for e in term.phrase.parts)
    if before is None or not first:
        return 0
    left = places.tempo.spans[0].quarters_per_minute
    gone = next((s for s in places.tempo.spans if s.quarters_per_minute != left), None)
    return 0 if gone is None else term.bar - places.piece.bar_at(gone.onset).index


def _compared_bar(term: Term, places: Places) -> str:
    mark = places.mark_of(term.id, term.onset)
    if any(e.dimension == "tempo" for e in term.phrase.parts if e.compared):
        before = places.steady_before(term.onset)
        return places.origin(before) if before is not None else ""
    loud = places.loud_before(mark)
    return places.bar(loud.bar) if loud is not None else ""


# words


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a term, or several of the same trouble next to each other."""
    worst = worst_first[0]
    facts = worst.facts
    bar = context.bar_names([int(worst.numbers["bar"])])
    start = context.bar(worst.first_bar).onset
    speed = tempo_words(context, start, 0.8)
    title, wrong, tries = SAID[worst.family](facts, bar)
    way_in = f"Play from the bar before it into {bar}" if worst.first_bar else f"Begin {bar}"
    rest = list(dict.fromkeys(f"“{c.facts['text']}”" for c in worst_first[1:]))
    rest = [t for t in rest if t != f"“{facts['text']}”"]
    also = f" Near it also {listed(rest[:4])}." if rest else ""
    return Wording(
        title=title,
        reason=_reason(facts, bar) + also,
        goes_wrong=wrong,
        try_=(*tries, f"{way_in} at {speed}, having said the meaning of the word aloud."),
        done_when=(
            f"Asked with the music closed, the student can say what “{facts['text']}” in {bar} does and until where, "
            f"and a listener who does not see the page hears it, three times in a row at {tempo_words(context, start, 0.9)}."
        ),
        evidence=(
            Evidence("weight of the word", round(worst.numbers["weight"], 2), "", f"sum of: {facts['parts']}"),
            Evidence("levels from the sign as it looks", decimal(worst.numbers["off"]), "levels", "steps from pppp to ffff"),
            Evidence("terms here", len(worst_first)),
        ),
    )  # fmt: skip


def _reason(facts: dict[str, str], bar: str) -> str:
    language = f" ({facts['language']})" if facts["language"] else ""
    if not facts["meaning"]:
        return f"In {bar} stands “{facts['text']}”: {facts['here'].rstrip('.?')}."
    here = f" Here: {facts['here'].rstrip('.')}." if facts["here"] else ""
    others = f" {facts['others'].rstrip('.')}." if facts["others"] else ""
    return f"“{facts['text']}”{language} in {bar} means: {facts['meaning']}.{here}{others}"


KIND = Kind("words", "words easily misread", find, describe, most=2, moves=False)
