"""The chord in question heard by itself: between the chord before and the chord after, then in its place."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from passagework.analysis.harmony import Chord
from passagework.exercises.edit.at_notes import printed_name, with_words
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique, Tempo
from passagework.exercises.made import Line, Sound, make
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, capital, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.score.piece import Note, TimeSignature
from passagework.spots.words_of import letter, listed

NAME, TITLE = "hear-the-chord", "The chord heard by itself"

MOST_KEYS = 4
"""Keys that one hand holds in a chord that is put together."""

CHORD_TEMPO = Tempo(Fraction(2), 40.0)
"""Minims a minute at which chords are listened to: a planning value."""


def find_chord(passage: Passage, study: Study) -> int | None:
    """Index of the chord in which most of the notes concerned sound."""
    concerned = set(passage.note_ids)
    start = study.context.bar(passage.first_bar).onset
    end = study.context.bar(passage.last_bar).end
    rows = [
        (len(concerned.intersection(c.note_ids)), c.surprise, k)
        for k, c in enumerate(study.context.harmony.chords)
        if start <= c.onset < end
    ]
    best = max(rows, default=None)
    return best[2] if best and best[0] else None


def applies(passage: Passage, study: Study) -> float:
    """For spots of harmony, where the chord has neighbours to be heard between."""
    if find_chord(passage, study) is None:
        return 0.0
    kind = passage.spot.kind if passage.spot else ""
    return {"harmony": 0.9, "accidentals": 0.4, "stretch": 0.3}.get(kind, 0.2)


def build(passage: Passage, study: Study) -> Exercise:
    """The three chords, the chord of which it is the change, the passage with the notes named, as written."""
    at = find_chord(passage, study)
    if at is None:
        raise DoesNotFitError("no chord was found here")
    rows = study.context.harmony.chords
    around = rows[max(at - 1, 0) : at + 2]
    chord = rows[at]
    concerned = [n for n in passage.notes(study.piece) if n.id in set(chord.note_ids)]
    words = {n.id: printed_name(n.pitch) for n in concerned if n.bar in passage.bars and n.printed}
    names = listed(list(dict.fromkeys(letter(n.pitch) for n in concerned)))
    where, slow = bars(passage, study), start_tempo(passage, study)
    steps = [
        Step(
            title="The chord by itself",
            instruction=f"Hold {chord.symbol} until it fades; sing {names} out of it.",
            notation=_blocks([chord], study, passage),
            tempo=CHORD_TEMPO,
            done_when=f"You can sing {names} before the chord sounds, three times in a row at {tempo_name(CHORD_TEMPO)}.",
            repeat=3,
        )
    ]
    if len(around) > 1:
        steps.append(
            Step(
                title="From the chord before to the chord after",
                instruction=f"{listed([c.symbol for c in around])} one after the other; listen for what moves and what stays.",
                notation=_blocks(around, study, passage),
                tempo=CHORD_TEMPO,
                done_when=three_times(
                    "the chords", CHORD_TEMPO, "hearing each before it is struck"
                ),
                repeat=3,
            )
        )
    if words:
        steps.append(
            Step(
                title="In its place",
                instruction=f"{capital(where)} at {tempo_name(slow)}; say {names} where printed, and stay on it for a moment before you go on.",
                notation=with_words(study.practice(passage), words),
                tempo=slow,
                done_when=three_times(where, slow, "the stay no longer needed the third time"),
                repeat=3,
            )
        )
    why = (
        f"{hard_at(passage, study)}: {names} belong{'s' if ' and ' not in names else ''} to {chord.symbol}, {chord.numeral} in {study.context.harmony.keys[chord.key].name}. "
        "What the ear expects the fingers play; heard by itself the chord becomes what the ear expects."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _blocks(chords: Sequence[Chord], study: Study, passage: Passage) -> Notation:
    """The keys of the piece in each chord as semibreves, one to a bar so that its name has room, the hands as they play them."""
    by_id = study.piece.by_id
    right, left = [], []
    for chord in chords:
        notes = [by_id[i] for i in chord.note_ids]
        high, low = (_keys([n for n in notes if n.hand == side]) for side in ("right", "left"))
        right.append(_sound(high, chord.symbol if high else ""))
        left.append(_sound(low, "" if high else chord.symbol))
    lines = [
        Line(staff, tuple((sound,) for sound in row)) for staff, row in ((1, right), (2, left))
    ]
    return make(
        lines, ["G", "F"], TimeSignature((4,), 4), study.context.bar(passage.first_bar).fifths
    )


def _sound(notes: Sequence[Note], text: str) -> Sound:
    return Sound(Fraction(4), tuple(n.pitch for n in notes), text, ids=tuple(n.id for n in notes))


def _keys(notes: Sequence[Note]) -> tuple[Note, ...]:
    """Notes whose keys the hand can hold together: from its lowest on within an octave, each name once but that of
    the lowest.
    """
    rows: dict[int, Note] = {}
    for note in sorted(notes, key=lambda n: n.midi):
        if not rows or (
            note.midi - min(rows) <= 12
            and note.midi % 12 not in {k % 12 for k in rows if k != min(rows)}
        ):
            rows.setdefault(note.midi, note)
    return tuple(rows[k] for k in sorted(rows))[:MOST_KEYS]


TECHNIQUE = Technique(NAME, TITLE, applies, build)
