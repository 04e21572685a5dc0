"""Harmony the ear does not expect: the hand plays what the ear has already heard.

Every chord of the analysis that is more than a plain triad of its key is a candidate: chords with
notes from outside the key, sevenths, ninths, augmented chords, a sudden change of mode, a deceptive
turn. The demand is the chord's surprise in bits: its information content given the key and the chord
before it, under the model that found the chords. A chord that the analysis is not sure of is left
out, for a teacher should not be told of a chord that may not be there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.analysis.harmony import Chord, NotableChord, notable_chords
from passagework.analysis.harmony.notable import note_words
from passagework.analysis.harmony.qualities import fifths_of
from passagework.analysis.harmony.scales import Key
from passagework.score.piece import Note
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity
from passagework.spots.spot import Candidate, Evidence, SpotHand, Wording
from passagework.spots.words_of import (
    capital,
    decimal,
    listed,
    note_name,
    other_places,
    start_of,
    tempo_words,
    where,
)

SOURCE = "information content as surprise, after Pearce, 2005"

SURE = 0.5
"""Confidence below which a chord is not spoken of."""

ORDINARY, HARD = (5.0, 6.0), (9.5, 10.5)
"""Bits that nobody of the level minds, and that must be prepared, for first-year and concert pieces.
Among the chords beyond plain triads in fifteen concert pieces the middle one has 5.7 bits, one in
ten more than 9.2; a dominant seventh in its key has about 2. The level matters little: a beginner's ear
expects fewer chords, but his pieces spell out fewer of which one can be sure."""

HEARD_BEATS = 0.5
"""A chord shorter than this is a passing thing to the ear."""

_TITLES = {
    "augmented sixth": "An augmented sixth",
    "Neapolitan": "A Neapolitan chord",
    "borrowed": "A chord from the other mode",
    "change of mode": "Major and minor change places",
    "diminished seventh": "A diminished seventh",
    "secondary dominant": "A dominant of another key",
    "outside the key": "A chord from outside the key",
    "augmented": "An augmented chord",
    "ninth": "A ninth chord",
    "seventh": "A seventh chord",
    "suspended": "A suspended chord",
    "deceptive": "A turn away from the tonic",
}


def find(context: Context) -> Iterable[Candidate]:
    """One candidate for every chord that is worth a stop and sure enough."""
    harmony = context.harmony
    for notable in notable_chords(context.piece, harmony):
        chord = harmony.chords[notable.chord]
        beat = context.piece.bar_at(chord.onset).time.beat
        if chord.confidence < SURE or chord.duration < HEARD_BEATS * beat:
            continue
        yield _candidate(notable, chord, context)


def _candidate(notable: NotableChord, chord: Chord, context: Context) -> Candidate:
    notes = [context.piece.by_id[i] for i in notable.note_ids]
    notes.sort(key=lambda n: (n.onset, n.midi))
    bars = [n.bar for n in notes]
    # A note may be held in from an earlier bar: the place is where the chord stands.
    here = context.piece.bar_at(chord.onset).index
    first = next((n for n in notes if n.onset >= chord.onset), notes[0])
    level = context.level
    span = context.harmony.keys[chord.key]
    key = Key(fifths_of(span.tonic), span.mode == "minor")
    habit = _habit(first, key, notable)
    return Candidate(
        first_bar=here,
        last_bar=max(here, min(max(bars), here + 1)),
        hand=_hand(notes),
        note_ids=tuple(n.id for n in notes),
        severity=severity(notable.surprise, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=notable.kind,
        numbers={"bits": notable.surprise, "sure": chord.confidence},
        facts={
            "words": notable.words,
            "symbol": chord.symbol,
            "numeral": chord.numeral,
            "key": span.name,
            "note": note_name(first.pitch),
            "habit": habit,
            "before": _before(notable, context),
        },
    )


def _hand(notes: Sequence[Note]) -> SpotHand:
    sides = {n.hand for n in notes}
    return "both" if len(sides) > 1 else notes[0].hand


def _habit(note: Note, key: Key, notable: NotableChord) -> str:
    """The note of the key that the ear puts in this one's place; ``""`` where it is in the key."""
    place = note.pitch.fifths
    if key.sounds(place) or notable.kind == "deceptive":
        return ""
    own = next((p for p in range(place - 14, place + 15, 7) if p != place and key.has(p)), None)
    return note_words(own) if own is not None else ""


def _before(notable: NotableChord, context: Context) -> str:
    """Symbol of the chord before, where there is one."""
    return context.harmony.chords[notable.chord - 1].symbol if notable.chord else ""


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a chord, or for several of one kind that stand together."""
    worst = worst_first[0]
    facts = worst.facts
    bar = where(worst, context)
    start = start_of(worst, context)
    others = listed(
        list(
            dict.fromkeys(
                c.facts["symbol"] for c in worst_first if c.facts["symbol"] != facts["symbol"]
            )
        )[:3]
    )
    more = (
        f" Near it {others} {'is' if ' and ' not in others else 'are'} of the same kind."
        if others
        else ""
    )
    habit = facts["habit"]
    after = f" after {facts['before']}" if facts["before"] else ""
    return Wording(
        title=f"{_TITLES[worst.family]} in {bar}",
        reason=(
            f"{facts['words']} The chord is {facts['symbol']}, {facts['numeral']} in {facts['key']};{after} the ear does not expect it."
            f"{more}{other_places(worst_first, context)}"
        ),
        goes_wrong=(
            f"The ear corrects {facts['note']} to {habit}, and the hand follows the ear."
            if habit
            else f"The chord is played as a plainer one, without its {facts['note']}, or read one note off and not heard as wrong."
        ),
        try_=(
            f"Play the chord of {bar} alone, all its notes together, and hold it; sing {facts['note']} before you play it.",
            (
                f"Play it once with {habit} and once as written, by turns, and listen to what changes."
                if habit
                else f"Play the chord before it, then {facts['symbol']}, slowly, by turns, until the change sounds familiar."
            ),
            f"Then {bar} as written at {tempo_words(context, start, 0.5)}, with a stop on the chord; then without the stop.",
        ),
        done_when=(
            f"{capital(bar)} three times in a row at {tempo_words(context, start, 0.7)} with {facts['note']} right, "
            "and once more after another piece."
        ),
        evidence=(
            Evidence("surprise of the chord", decimal(worst.numbers["bits"], 1), "bits", SOURCE),
            Evidence(
                "confidence in the chord",
                decimal(worst.numbers["sure"], 2),
                "",
                "from 0 to 1, against other chords in its place",
            ),
        ),
    )


KIND = Kind("harmony", "harmony the ear does not expect", find, describe, most=2, moves=False)
