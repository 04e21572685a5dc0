"""Every written note as the strokes that it asks for, in seconds of the piece as written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from passagework.analysis.marks import Mark
from passagework.score.piece import Note, Ornament, Piece, Position
from passagework.sound.clock import Speed
from passagework.sound.grace_groups import GraceGroup
from passagework.sound.graces import play_graces
from passagework.sound.ornaments import (
    Manner,
    play_sign,
    play_tremolo,
    sign_of,
    stroke_value,
    tremolo_count,
)
from passagework.sound.rolls import roll_delays
from passagework.sound.stroke import SHORTEST_S, Stroke
from passagework.sound.touch import Touches, released
from passagework.sound.written_out import written_out


def play_notes(
    piece: Piece,
    marks: Sequence[Mark],
    groups: Sequence[GraceGroup],
    speed: Speed,
    own: Speed,
    lead: float,
    manner: Manner,
) -> list[Stroke]:
    """All strokes of `piece` with the `groups` of its grace notes; `own` is its own speed, `lead` the seconds before."""
    graces = play_graces(groups, speed, own, lead)
    rolls = roll_delays(piece, speed, own)
    played_out = written_out(piece)
    touches = Touches(piece, marks)
    tremolos, silent = _tremolos(piece)
    signs = _signs(piece)
    found = list(graces.strokes)
    for note in piece.notes:
        if note.grace or note.id in silent:
            continue
        beat, end = speed.seconds(note.onset), speed.seconds(note.end)
        start = graces.delayed.get(note.id, beat) + rolls.get(note.id, 0.0)
        limit = graces.cut.get(note.id, end)
        if note.id in played_out:
            limit = min(limit, speed.seconds(played_out[note.id]))
            if limit - start < SHORTEST_S:
                continue
        let_go = released(touches.of(note), beat, end)
        stroke = Stroke(
            note, start, max(min(let_go, limit if limit < end else let_go), start), note.midi
        )
        stroke.end = max(stroke.end, min(start + SHORTEST_S, max(limit, start + SHORTEST_S / 2)))
        if note.id in tremolos:
            found += _tremolo(tremolos[note.id], stroke, touches, speed, own)
        elif note.id in signs and note.id not in played_out:
            lasting = own.seconds(note.end) - own.seconds(note.onset)
            share = (limit - start) / (end - beat) if end > beat else 1.0
            found += play_sign(piece, stroke, signs[note.id], limit, lasting * share, manner)
        else:
            found.append(stroke)
    return found


def _signs(piece: Piece) -> dict[str, Ornament]:
    """Which note is ornamented: the highest of the chord that carries the sign."""
    tops: dict[int, Note] = {}
    carried: dict[int, Ornament] = {}
    for note in piece.notes:
        if note.grace or not note.printed:
            continue
        if note.chord not in tops or note.midi > tops[note.chord].midi:
            tops[note.chord] = note
        sign = sign_of(note)
        if sign is not None:
            carried.setdefault(note.chord, sign)
    return {tops[chord].id: sign for chord, sign in carried.items()}


Chord = tuple[Note, ...]


def _tremolos(piece: Piece) -> tuple[dict[str, tuple[int, Chord, Chord]], frozenset[str]]:
    """Tremolos by the id of their first note: strokes, the first chord, the second (empty for a repeated
    one); and the ids of the notes that are played with them.
    """
    chords: dict[tuple[int, str, Position], list[Note]] = defaultdict(list)
    for note in piece.notes:
        if not note.grace:
            chords[note.staff, note.voice, note.onset].append(note)
    found: dict[str, tuple[int, Chord, Chord]] = {}
    silent: set[str] = set()
    for (staff, voice, onset), notes in chords.items():
        sign = next((o for n in notes for o in n.ornaments if o.kind == "tremolo"), None)
        if sign is None or sign.role == "stop" or sign.strokes == 0 or notes[0].id in silent:
            continue
        second: list[Note] = []
        if sign.role == "start":
            second = chords.get((staff, voice, onset + notes[0].duration), [])
            if not any(
                o.kind == "tremolo" and o.role == "stop" for n in second for o in n.ornaments
            ):
                second = _other_staff(chords, notes[0], staff, voice)
            if not second:
                continue  # half of a tremolo: played as plain notes
        found[notes[0].id] = (sign.strokes, tuple(notes), tuple(second))
        silent.update(n.id for n in (*notes[1:], *second))
    return found, frozenset(silent)


def _other_staff(
    chords: dict[tuple[int, str, Position], list[Note]], first: Note, staff: int, voice: str
) -> list[Note]:
    """The second half of a tremolo whose notes lie in two staves."""
    for other in (staff - 1, staff + 1):
        notes = chords.get((other, voice, first.end), [])
        if any(o.kind == "tremolo" and o.role == "stop" for n in notes for o in n.ornaments):
            return notes
    return []


def _tremolo(
    tremolo: tuple[int, Chord, Chord], stroke: Stroke, touches: Touches, speed: Speed, own: Speed
) -> list[Stroke]:
    strokes, first, second = tremolo
    last = max((*first, *second), key=lambda n: n.end)
    onset, end = first[0].onset, last.end
    each = stroke_value(first[0], strokes)
    tuplet = first[0].tuplet
    if tuplet and not second:
        each *= tuplet.normal
        each /= tuplet.actual
    count = tremolo_count(end - onset, own.seconds(end) - own.seconds(onset), each)
    if second and count % 2:
        count += 1
    rows = [
        [Stroke(n, stroke.start, stroke.end, n.midi) for n in chord] for chord in (first, second)
    ]
    finish = speed.seconds(end)
    played = play_tremolo(rows[0], rows[1], count, finish)
    final = max(s.start for s in played)
    for one in played:
        if one.start == final:
            one.end = min(
                one.end, max(released(touches.of(last), final, finish), final + SHORTEST_S)
            )
    return played
