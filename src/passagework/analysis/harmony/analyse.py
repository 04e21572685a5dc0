"""Keys and chords of a whole piece."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from passagework.analysis.harmony.confidence import chord_confidence, key_confidence, surprise_of
from passagework.analysis.harmony.decode import Space, decode
from passagework.analysis.harmony.emission import tones_of
from passagework.analysis.harmony.evidence import Evidence, gather
from passagework.analysis.harmony.grid import BEAT
from passagework.analysis.harmony.inversions import Segment, segments
from passagework.analysis.harmony.membership import Neighbours, kind_of
from passagework.analysis.harmony.numerals import numeral, symbol
from passagework.analysis.harmony.qualities import FLAT_NINTH, QUALITIES, SUSPENDED_SEVENTH, spelled
from passagework.analysis.harmony.refine import refine
from passagework.analysis.harmony.result import Chord, Harmony, KeySpan, NonChordNote, Pivot
from passagework.analysis.harmony.scales import candidates
from passagework.analysis.harmony.suspended import named_qualities
from passagework.analysis.harmony.vocabulary import CADENTIAL_TONES, functions
from passagework.score.piece import Note, Piece


def analyse_harmony(piece: Piece) -> Harmony:
    """Local keys and chords of `piece`, repeats not unfolded; empty for a piece without notes.

    The likeliest explanation of all notes at once under a model of how keys, chords and their notes
    go together (`decode`, after the idea of joint key and chord models such as Raphael and Stoddard,
    *Functional harmonic analysis using probabilistic models*, 2004). Linear in the number of notes.
    """
    evidence = gather(piece)
    if evidence is None:
        return Harmony((), ())
    path, space, scores = decode(evidence, candidates(evidence))
    found = segments(refine(path, space, evidence), space, evidence)
    spans = _spans(found)
    times = [_position(evidence, s.first) for s in found]
    ends = [*times[1:], max(piece.end, _position(evidence, None))]
    qualities = named_qualities(found, evidence)
    chords = _chords(piece, evidence, space, found, spans, times, ends, qualities,
                     chord_confidence(found, space, scores), surprise_of(found, space))  # fmt: skip
    keys = _keys(
        piece, space, found, spans, chords, key_confidence([found[a:b] for a, b in spans], space)
    )
    return Harmony(keys, chords)


def _position(evidence: Evidence, atom: int | None) -> Fraction:
    ticks = evidence.grid.starts[atom] if atom is not None else int(evidence.ends.max())
    return Fraction(ticks, evidence.ticks)


def _spans(found: list[Segment]) -> list[tuple[int, int]]:
    """Runs of segments in one key."""
    starts = [i for i, s in enumerate(found) if i == 0 or s.key != found[i - 1].key]
    return list(zip(starts, [*starts[1:], len(found)], strict=True))


def _numeral_of(
    found: list[Segment], index: int, space: Space, quality: str, in_key: int | None = None
) -> str | None:
    """Numeral of segment `index`, in its own key or in another; None where it has no place there."""
    row = functions()
    segment = found[index]
    at = segment.key if in_key is None else in_key
    key = space.keys[at]
    chord = int(space.chord_at[segment.key, segment.function])
    places = (
        [i for i, c in enumerate(space.chord_at[at].tolist()) if c == chord]
        if in_key is not None
        else [segment.function]
    )
    if not places:
        return None
    following = None
    for later in found[index + 1 :]:
        if (later.root, later.quality) != (segment.root, segment.quality):
            following = later.root - key.tonic
            break
    return numeral(row[places[0]], key, segment.member, quality, following)


def _named(quality: str) -> str:
    """MusicXML's name for what the model found."""
    if quality in CADENTIAL_TONES:
        return "major"
    return {FLAT_NINTH: "dominant", SUSPENDED_SEVENTH: "suspended-fourth"}.get(quality, quality)


def _keys(
    piece: Piece, space: Space, found: list[Segment], spans: list[tuple[int, int]],
    chords: tuple[Chord, ...], sure: list[float],
) -> tuple[KeySpan, ...]:  # fmt: skip
    out = []
    for number, ((first, stop), confidence) in enumerate(zip(spans, sure, strict=True)):
        key = space.keys[found[first].key]
        printed = piece.bar_at(chords[first].onset).fifths
        pivot = None
        if number:
            after = _numeral_of(found, first - 1, space, found[first - 1].quality, found[first].key)
            if after is not None:
                pivot = Pivot(first - 1, chords[first - 1].numeral, after)
        out.append(
            KeySpan(
                chords[first].onset,
                chords[stop - 1].end,
                spelled(key.tonic),
                key.mode,
                confidence,
                printed,
                key.signature - printed,
                pivot,
            )
        )
    return tuple(out)


def _chords(
    piece: Piece, evidence: Evidence, space: Space, found: list[Segment], spans: list[tuple[int, int]],
    times: list[Fraction], ends: list[Fraction], qualities: list[str], sure: list[float], bits: list[float],
) -> tuple[Chord, ...]:  # fmt: skip
    starts = [evidence.grid.starts[s.first] for s in found]
    held = _notes_in(evidence, starts)
    graces = _graces_in(piece, times)
    near = Neighbours(evidence)
    strong = {
        t
        for t, level in zip(evidence.grid.starts, evidence.grid.levels, strict=True)
        if level >= BEAT
    }
    tones = [
        frozenset((s.root + t) * 7 % 12 for t in tones_of(_sounding(s, q))[0])
        for s, q in zip(found, qualities, strict=True)
    ]
    key_number = {i: n for n, (a, b) in enumerate(spans) for i in range(a, b)}
    out = []
    for i, segment in enumerate(found):
        shape = _sounding(segment, qualities[i])
        bass = segment.root + tones_of(shape)[0][segment.member]
        after = tones[i + 1] if i + 1 < len(found) else frozenset()
        inside, outside, pedal = _sorted_notes(
            held[i], evidence, near, segment, starts[i], tones[i], after, strong
        )
        for note in graces.get(i, ()):
            if note.midi % 12 in tones[i]:
                inside.append(note.id)
            else:
                outside.append(NonChordNote(note.id, "ornament"))
        text = _numeral_of(
            found, i, space, qualities[i] if qualities[i] in QUALITIES else segment.quality
        )
        out.append(
            Chord(
                times[i],
                ends[i] - times[i],
                spelled(segment.root),
                _named(qualities[i]),
                spelled(bass),
                symbol(segment.root, shape, bass),
                text or "",
                segment.member,
                sure[i],
                tuple(inside),
                tuple(outside),
                key_number[i],
                pedal,
                bits[i],
            )
        )
    return tuple(out)


def _sounding(segment: Segment, quality: str) -> str:
    return segment.quality if segment.quality in CADENTIAL_TONES else quality


def _notes_in(evidence: Evidence, starts: list[int]) -> list[list[int]]:
    """Indices of the notes that begin or are held in each chord; `starts` are ticks."""
    rows: list[list[int]] = [[] for _ in starts]
    at = 0
    for index, (start, end) in enumerate(
        zip(evidence.starts.tolist(), evidence.ends.tolist(), strict=True)
    ):
        while at + 1 < len(starts) and starts[at + 1] <= start:
            at += 1
        chord = at
        rows[chord].append(index)
        while chord + 1 < len(starts) and starts[chord + 1] < end:
            chord += 1
            rows[chord].append(index)
    return rows


def _graces_in(piece: Piece, times: list[Fraction]) -> dict[int, list[Note]]:
    """Grace notes by the chord in which they stand."""
    found: dict[int, list[Note]] = {}
    for note in piece.notes:
        if note.duration == 0:
            found.setdefault(max(bisect_right(times, note.onset) - 1, 0), []).append(note)
    return found


def _sorted_notes(
    indices: list[int], evidence: Evidence, near: Neighbours, segment: Segment, start: int,
    tones: frozenset[int], next_tones: frozenset[int], strong: set[int],
) -> tuple[list[str], list[NonChordNote], bool]:  # fmt: skip
    """Chord notes, others with what they are, and whether the chord stands on a pedal point."""
    inside: list[str] = []
    outside: list[NonChordNote] = []
    lowest = min((near.place[i][0] for i in indices), default=0)
    cadential = segment.quality in CADENTIAL_TONES
    root = segment.root * 7 % 12
    pedal = False
    for index in indices:
        midi, begin = near.place[index][0], int(evidence.starts[index])
        note_id = evidence.notes[index].id
        if midi % 12 in tones:
            if cadential and midi % 12 != root:
                outside.append(NonChordNote(note_id, "suspension"))
            else:
                inside.append(note_id)
            continue
        kind = kind_of(index, near, begin < start, begin in strong, next_tones, midi == lowest)
        pedal = pedal or kind == "pedal"
        outside.append(NonChordNote(note_id, kind))
    return inside, outside, pedal
