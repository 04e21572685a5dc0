"""A new key: its scale and its chords first, then the notes it alters named aloud, then the passage."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from passagework.analysis.harmony import KeySpan
from passagework.exercises.edit.accidentals import key_alter
from passagework.exercises.edit.at_notes import printed_name, with_fingers, with_words
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique, Tempo
from passagework.exercises.made import Line, Sound, make
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, capital, exercise, hard_at, three_times
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import STEP_SEMITONES, Note, Pitch, TimeSignature
from passagework.spots.words_of import counted, letter, listed

NAME, TITLE = "new-key", "The key first: its scale, its chords, its altered notes"

SCALE_TEMPO, CHORD_TEMPO = Tempo(Fraction(1), 72.0), Tempo(Fraction(2), 40.0)
"""Crotchets (of two notes of the scale) and minims (of a chord) a minute: planning values."""

COMMON = TimeSignature((4,), 4)
MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11, 12), (0, 2, 3, 5, 7, 8, 11, 12)
"""Semitones of the scale from its tonic, the minor one harmonic."""

LETTERS = "CDEFGAB"
CHORDS = (
    ("I", (0, 2, 4)),
    ("IV", (0, 3, 5)),
    ("I", (0, 2, 4)),
    ("V7", (-1, 3, 4)),
    ("I", (0, 2, 4)),
)
"""Primary chords in near positions: degrees of the scale counted from its tonic, under the right hand."""

BASSES = (0, 3, 0, 4, 0)
"""Degrees of their roots for the left hand."""


def applies(passage: Passage, study: Study) -> float:
    """Fits where a signature begins to count, or where many notes lie outside the one in force."""
    if find_key(passage, study) is None or not altered(passage, study):
        return 0.0
    kind = passage.spot.kind if passage.spot else ""
    return {"key-signature": 0.95, "accidentals": 0.6, "harmony": 0.35}.get(kind, 0.3)


def find_key(passage: Passage, study: Study) -> KeySpan | None:
    """The key in which most of the passage stands."""
    start = study.context.bar(passage.first_bar).onset
    end = study.context.bar(passage.last_bar).end
    spans = [k for k in study.context.harmony.keys if k.onset < end and k.end > start]
    found = max(spans, key=lambda k: min(k.end, end) - max(k.onset, start), default=None)
    return found if found and abs(_fifths(found)) <= 7 else None


def _tonic(span: KeySpan) -> tuple[str, int]:
    return span.tonic[0], span.tonic.count("#") - span.tonic.count("b")


def _fifths(span: KeySpan) -> int:
    """Sharps of the signature that belongs to the key (flats if below 0)."""
    step, alter = _tonic(span)
    major = "FCGDAEB".index(step) - 1 + 7 * alter
    return major - 3 if span.mode == "minor" else major


def altered(passage: Passage, study: Study) -> tuple[Note, ...]:
    """The notes to be named: where the signature has just changed those it has changed, else those outside
    it; at the head of a piece those that it alters.
    """
    piece, spot = study.piece, passage.spot
    notes = [n for b in passage.bars for n in piece.notes_of_bar[b] if n.printed and not n.grace]
    if spot and spot.kind == "key-signature":
        concerned = {(n.pitch.step, n.pitch.alter) for n in passage.notes(piece)}
        return tuple(n for n in notes if (n.pitch.step, n.pitch.alter) in concerned)
    rows = []
    for note in notes:
        fifths = piece.bars[note.bar].fifths
        if note.pitch.alter != key_alter(note.pitch.step, max(min(fifths, 7), -7)):
            rows.append(note)
    return tuple(rows)


def firsts(notes: Sequence[Note]) -> tuple[Note, ...]:
    """Of notes of one name in one bar and hand only the first: it is named, and then known."""
    rows: dict[tuple[int, str, str, int], Note] = {}
    for note in notes:
        rows.setdefault((note.bar, note.hand, note.pitch.step, note.pitch.alter), note)
    return tuple(rows.values())


def degree(span: KeySpan, at: int, octave: int) -> Pitch:
    """Degree `at` of the key's scale (0 the tonic, below and above 0 to 6 too), `octave` that of the tonic."""
    step, alter = _tonic(span)
    start = LETTERS.index(step) + 7 * octave
    place = start + at
    shift, inner = divmod(at, 7)
    scale = MINOR if span.mode == "minor" else MAJOR
    wanted = Pitch(step, alter, octave).midi + scale[inner] + 12 * shift
    name, high = LETTERS[place % 7], place // 7
    return Pitch(name, wanted - STEP_SEMITONES[name] - 12 * (high + 1), high)


def scale(span: KeySpan) -> Notation:
    """One octave up and down in quavers for both hands, an octave apart."""
    half = Fraction(1, 2)
    up = [*range(8), *range(6, -1, -1)]
    lines = []
    for staff, octave in ((1, 4), (2, 3)):
        sounds = [Sound(half, (degree(span, at, octave),)) for at in up[:-1]]
        last = Sound(Fraction(1), (degree(span, 0, octave),))
        rows = sounds[:8], (*sounds[8:], last)
        lines.append(Line(staff, tuple(tuple(row) for row in rows)))
    return make(lines, ["G", "F"], COMMON, _fifths(span))


def chords(span: KeySpan) -> Notation:
    """The primary chords in near positions over their roots, their names under them."""
    right, left = [], []
    for (name, degrees), bass in zip(CHORDS, BASSES, strict=True):
        sign = name.lower() if span.mode == "minor" and not name.startswith("V") else name
        pitches = sorted((degree(span, d, 4) for d in degrees), key=lambda p: p.midi)
        right.append(Sound(Fraction(2), tuple(pitches), sign))
        left.append(Sound(Fraction(2), (degree(span, bass - (7 if bass > 3 else 0), 3),)))
    right.append(Sound(Fraction(2)))
    left.append(Sound(Fraction(2)))
    lines = [
        Line(staff, tuple(tuple(row[k : k + 2]) for k in range(0, len(row), 2)))
        for staff, row in ((1, right), (2, left))
    ]
    return make(lines, ["G", "F"], COMMON, _fifths(span))


def build(passage: Passage, study: Study) -> Exercise:
    """Scale, chords, the passage with its altered notes named, then as written."""
    span, named = find_key(passage, study), firsts(altered(passage, study))
    if span is None or not named:
        raise DoesNotFitError("nothing is altered here")
    where, slow = bars(passage, study), start_tempo(passage, study)
    names = listed(list(dict.fromkeys(letter(n.pitch) for n in named)))
    said = with_words(study.practice(passage), {n.id: printed_name(n.pitch) for n in named})
    steps = [
        Step(
            title=f"The scale of {span.name}",
            instruction=f"Both hands, one octave up and down{', with the raised seventh' if span.mode == 'minor' else ''}; say the name of every black key as you play it.",
            notation=_fingered(scale(span), study),
            tempo=SCALE_TEMPO,
            done_when=three_times("the scale", SCALE_TEMPO, "then once with the eyes closed"),
            repeat=3,
        ),
        Step(
            title=f"The chords of {span.name}",
            instruction="Tonic, subdominant, tonic, dominant seventh, tonic; look at the hand only when it has arrived.",
            notation=chords(span),
            tempo=CHORD_TEMPO,
            done_when=three_times("the chords", CHORD_TEMPO, "naming each chord before it sounds"),
            repeat=3,
        ),
        Step(
            title="The altered notes named",
            instruction=f"{capital(where)} slowly; say {names} aloud wherever the name is printed.",
            notation=said,
            tempo=slow,
            done_when=f"Three times in a row at {tempo_name(slow)}, every one of the {counted(len(named), 'name')} said before its key goes down." if len(named) > 1 else f"Three times in a row at {tempo_name(slow)}, the name said before its key goes down.",
            repeat=3,
        ),
    ]  # fmt: skip
    why = (
        f"{hard_at(passage, study)}: the music stands in {span.name}, and {names} {'has' if len({letter(n.pitch) for n in named}) == 1 else 'have'} to be thought of "
        f"{'once' if len(named) == 1 else f'in {len(named)} places'} here. Hands and ears that have just played the key expect these notes."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _fingered(notation: Notation, study: Study) -> Notation:
    """With fingers for this student's hand, as manuals give them for scales."""
    from passagework.hands.fingering import finger_piece
    from passagework.hands.hand import Hands

    found = finger_piece(read_piece(notation), Hands.alike(study.context.hand))
    return with_fingers(notation, {i: row[0] for i, row in found.fingers.items() if row})


TECHNIQUE = Technique(NAME, TITLE, applies, build)
