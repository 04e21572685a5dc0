"""Findings about notes, on hand-made takes whose slips are known, and on concert performances."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.listening.finding import Finding
from passagework.listening.findings.find import find_findings, joined
from passagework.listening.findings.patterns import heaviest_runs
from passagework.listening.findings.slip_words import spelled
from passagework.listening.findings.table import all_finding_kinds
from passagework.listening.heard import Heard
from passagework.listening.simulate import Simulated, play
from passagework.listening.simulate import faults as f
from passagework.score import Piece, Reading
from passagework.score.piece import Pitch
from passagework.spots.context import Context
from passagework.spots.spot import Evidence
from passagework.spots.table import all_kinds
from tests.listening.faults import MAKERS, spoiled
from tests.listening.truth import concert, concert_takes
from tests.spots.build import context

NOTES = ("wrong-notes", "missing-notes", "extra-notes", "old-key", "lapsed-accidental", "forgotten-signature",
         "misreading", "dropped-note")  # fmt: skip

G_MAJOR = context(
    "R: G4/1 A4/1 B4/1 C5/1 | D5/1 E5/1 F#5/1 G5/1 | F#5/1 E5/1 D5/1 C5/1 | B4/1 A4/1 G4/2;"
    "L: G3+B3/2 D3+A3/2 | G3+B3/2 D3+A3/2 | D3+A3/2 G3+B3/2 | D3+C4/2 G3+B3/2",
    fifths=1,
    tempo=80,
)


def hear(c: Context, made: Simulated) -> list[Finding]:
    """The findings about notes, of a take whose alignment is known."""
    heard = Heard(c, made.take, made.truth.alignment)
    kinds = [k for k in all_finding_kinds() if k.name in NOTES]
    return [x for k in kinds for x in joined(k.find(heard))]


def spoil(
    c: Context, *faults: f.Fault, passes: Sequence[tuple[int, int]] | None = None
) -> list[Finding]:
    return hear(c, play(c, seed=3, faults=faults, passes=passes))


def note(c: Context, bar: int, place: int, hand: str = "right") -> str:
    return [n.id for n in c.piece.notes if n.bar == bar and n.hand == hand][place]


def test_a_clean_take_has_nothing_to_say() -> None:
    assert spoil(G_MAJOR) == []


def test_a_wrong_note_says_what_was_played_instead() -> None:
    (found,) = spoil(G_MAJOR, f.WrongNote(note(G_MAJOR, 1, 1), 77))
    assert (found.kind, found.first_bar, found.hand) == ("wrong-notes", 1, "right")
    assert found.reason == "Bar 2, right hand: F natural 5 instead of E5."
    assert found.note_ids == (note(G_MAJOR, 1, 1),)
    assert [e.value for e in found.measure] == [1, 1, 1, 1]
    assert found.weight < 0.25  # a slip that happens once weighs little


def test_the_name_of_a_wrong_key_has_the_letter_of_the_page() -> None:
    (found,) = spoil(G_MAJOR, f.WrongNote(note(G_MAJOR, 1, 2), 77))
    assert "F natural 5 instead of F sharp 5" in found.reason
    assert found.spot_kinds[0] == "accidentals"


def test_the_same_wrong_note_in_every_pass_is_one_finding_and_a_habit() -> None:
    bad = note(G_MAJOR, 1, 1)
    once = spoil(G_MAJOR, f.WrongNote(bad, 77, run=0), passes=[(0, 3)] * 3)
    always = spoil(G_MAJOR, f.WrongNote(bad, 77), passes=[(0, 3)] * 3)
    assert (len(once), len(always)) == (1, 1)
    assert always[0].runs == (0, 1, 2)
    assert "in all three passes" in always[0].reason
    assert "learnt wrong" in always[0].reason
    assert "in one of three passes" in once[0].reason
    assert always[0].weight > 2 * once[0].weight


def test_a_missing_note_and_an_added_one() -> None:
    (gone,) = spoil(G_MAJOR, f.MissingNote(note(G_MAJOR, 2, 1)))
    assert gone.reason == "Bar 3, right hand: E5 does not sound."
    (more,) = spoil(G_MAJOR, f.ExtraNote(note(G_MAJOR, 2, 1), 75))
    assert (more.kind, more.first_bar) == ("extra-notes", 2)
    assert more.reason == "Bar 3, right hand: D sharp 5 is not on the page there (one key in all)."
    assert len(more.played) == 1


def test_the_old_key_is_told_apart_from_slips() -> None:
    c = context(
        "R: F4/1 G4/1 A4/1 F4/1 | @key2 F#4/1 G4/1 A4/1 C#5/1 | C#5/1 F#4/1 G4/1 F#4/1 | D4/4;"
        "L: C3/4 | D3/4 | D3/4 | D3/4",
        tempo=80,
    )
    (found,) = spoil(c, f.OldKey(1, 2))
    assert (found.kind, found.first_bar, found.last_bar) == ("old-key", 1, 2)
    assert (
        "F natural instead of F sharp and C natural instead of C sharp in bars 2 and 3"
        in found.reason
    )
    assert "from no sharps or flats to two sharps" in found.reason
    assert found.measure[0].value == 5
    assert found.spot_kinds[0] == "key-signature"


def test_an_accidental_lapses_within_its_bar_only() -> None:
    c = context(
        "R: C#5/1!acc-sharp D5/1 C#5/1 D5/1 | C5/1 D5/1 C5/1 D5/1; L: C3/4 | C3/4", tempo=80
    )
    (found,) = spoil(c, f.LapsedAccidental(0, 0))
    assert found.kind == "lapsed-accidental"
    assert found.reason.startswith("C natural instead of C sharp in bar 1, right hand")


def test_a_forgotten_signature_needs_more_than_one_note() -> None:
    sharp = [n.id for n in G_MAJOR.piece.notes if n.pitch.name == "F#"]
    (habit,) = spoil(G_MAJOR, f.UnsignedNotes(0, 3))
    assert (habit.kind, habit.first_bar, habit.last_bar) == ("forgotten-signature", 1, 2)
    assert "two notes of 2" in habit.reason
    (slip,) = spoil(G_MAJOR, f.WrongNote(sharp[0], 77))
    assert slip.kind == "wrong-notes"


def test_a_misread_row_is_one_finding_with_its_distance() -> None:
    row = tuple(n.id for n in G_MAJOR.piece.notes if n.hand == "right" and n.bar in (1, 2))
    (found,) = spoil(G_MAJOR, f.Misreading(row, -2))
    assert (found.kind, found.first_bar, found.last_bar) == ("misreading", 1, 2)
    assert (
        "Eight notes of the right hand in bars 2 and 3 a third too low, from B4 instead of D5 on"
        in found.reason
    )
    assert {e.name: e.value for e in found.measure}["distance"] == -2


def test_a_misread_clef_is_named() -> None:
    c = context(
        "R: G5/1 A5/1 B5/1 C6/1 | D6/1 C6/1 B5/1 A5/1 | G5/4;"
        "L: C3/1 D3/1 E3/1 F3/1 | @clefG E4/1 F4/1 G4/1 A4/1 | C4/4",
        tempo=80,
    )
    row = tuple(n.id for n in c.piece.notes if n.hand == "left" and n.bar == 1)
    (found,) = spoil(
        c, f.Misreading(row, 2)
    )  # E on the treble staff's first line is G on the bass staff's
    assert found.kind == "misreading"
    assert "The clef changes at bar 2, and this is how the clef before it reads." in found.reason


def test_the_same_note_dropped_from_every_chord() -> None:
    c = context(
        "R: C5/1 D5/1 E5/1 F5/1 | E5/1 D5/1 C5/2;"
        "L: C3+E3+G3/1 D3+F3+A3/1 C3+E3+G3/1 D3+F3+A3/1 | C3+E3+G3/1 D3+F3+A3/1 C3+E3+G3/2",
        tempo=80,
    )
    (found,) = spoil(c, f.DroppedNote(0, 1, "left", "inner"))
    assert (found.kind, found.first_bar, found.last_bar, found.hand) == (
        "dropped-note",
        0,
        1,
        "left",
    )
    assert (
        "an inner note of the left hand's chords does not sound in seven of seven" in found.reason
    )
    gone = [f.MissingNote(i) for i in found.note_ids[:2]]
    assert {x.kind for x in spoil(c, *gone)} == {"missing-notes"}  # twice is no habit yet


@pytest.mark.parametrize(
    "text",
    [
        "R: C5/4!trill-mark | D5/4; L: C3/4 | D3/4",
        "R: C5/2!turn D5/2!mordent | gs:D5 E5/4; L: C3/4 | D3/4",
        "R: C5/4 | C4/4; L: C4/1 D4/1 C4/2 | C4/4",
        "R: C5/2!trem3a E5/2!trem3b | C5/4; L: C3/4 | D3/4",
        "R: C5+E5+G5/4!arp | C5/4; L: C3+G3/4!arp | D3/4",
    ],
)
def test_what_the_page_leaves_open_is_no_slip(text: str) -> None:
    c = context(text, tempo=70)
    made = play(c, seed=2)
    assert hear(c, made) == []
    told = (
        made.truth.alignment
    )  # an alignment that knows nothing of ornaments gives their notes as extra
    blind = type(told)(
        told.matches, told.missing, (*told.extra, *made.truth.ornamental), told.substitutions, told.passes, told.fit
    )  # fmt: skip
    heard = Heard(c, made.take, blind)
    kinds = [k for k in all_finding_kinds() if k.name in NOTES]
    assert [x for k in kinds for x in k.find(heard)] == []


def test_unfinished_chords_at_a_stop_are_no_slips() -> None:
    made = play(G_MAJOR, seed=1, faults=[f.Restart(bar=2, beats=1, back=1)])
    assert [x for x in hear(G_MAJOR, made) if x.kind in NOTES] == []


def test_keys_are_spelled_as_their_reader_would() -> None:
    assert spelled(65, 0) == Pitch("F", 0, 4)
    assert spelled(66, 1) == Pitch("F", 1, 4)
    assert spelled(66, -3) == Pitch("G", -1, 4)
    assert spelled(66, 0, Pitch("G", 0, 4)) == Pitch("G", -1, 4)
    assert spelled(71, -7) == Pitch("C", -1, 5)
    assert spelled(60, 7) == Pitch("B", 1, 3)


@given(st.integers(21, 108), st.integers(-7, 7))
def test_a_spelled_key_is_the_key(pitch: int, fifths: int) -> None:
    assert spelled(pitch, fifths).midi == pitch


@given(st.lists(st.sampled_from([1.0, -1.0]), max_size=40))
def test_stretches_are_apart_and_begin_and_end_well(scores: list[float]) -> None:
    found = heaviest_runs(scores)
    for first, last in found:
        assert sum(scores[first : last + 1]) > 0
        assert scores[first] > 0
        assert scores[last] > 0
    assert all(a[1] < b[0] for a, b in pairwise(found))


def _finding(runs: tuple[int, ...], ids: tuple[str, ...], weight: float = 0.3) -> Finding:
    return Finding(
        "hesitation",
        3,
        3,
        "right",
        ids,
        (Evidence("pause", 1.0, "s"),),
        "A pause.",
        "Again.",
        0.5,
        weight,
        runs,
    )


def test_the_same_thing_in_two_passes_is_one_finding() -> None:
    (both,) = joined([_finding((0,), ("a", "b")), _finding((2,), ("a", "b", "c"), 0.5)])
    assert both.runs == (0, 2)
    assert both.note_ids == ("a", "b", "c")
    assert both.reason == "A pause. It was heard twice."
    assert both.confidence == pytest.approx(0.75)
    assert both.weight == pytest.approx(0.6)
    assert len(joined([_finding((0,), ("a",)), _finding((0,), ("a",))])) == 2  # twice in one pass
    assert len(joined([_finding((0,), ("a",)), _finding((1,), ("z",))])) == 2  # elsewhere


def test_the_table_is_well_formed() -> None:
    names = [k.name for k in all_finding_kinds()]
    assert len(set(names)) == len(names)
    assert set(NOTES) <= set(names)
    assert all(k.title == k.title.lower() and k.name == k.name.lower() for k in all_finding_kinds())


SPOTS = {k.name for k in all_kinds()}


@settings(max_examples=12, deadline=None)
@given(name=st.sampled_from(sorted(MAKERS)), seed=st.integers(0, 500))
def test_every_finding_is_whole(demo: Callable[[str], Reading], name: str, seed: int) -> None:
    piece = demo("evening-ferry").piece
    c = _context(piece)
    made = spoiled(c, name, (10, 36), seed, tries=2)
    if made is None:
        return
    found = find_findings(Heard(c, made.take, made.truth.alignment))
    assert [x.weight for x in found] == sorted((x.weight for x in found), reverse=True)
    for x in found:
        assert 0 <= x.first_bar <= x.last_bar < len(piece.bars)
        assert 0 <= x.weight <= 1
        assert 0 <= x.confidence <= 1
        assert x.measure
        assert x.reason.endswith(".")
        assert x.advice.endswith(".")
        assert "!" not in x.reason + x.advice
        assert set(x.note_ids) <= set(piece.by_id)
        assert all(0 <= k < len(made.take.notes) for k in x.played)
        assert set(x.spot_kinds) <= SPOTS


_KNOWN: dict[int, Context] = {}


def _context(piece: Piece) -> Context:
    return _KNOWN.setdefault(id(piece), Context(piece))


FAULTS = [
    "wrong note",
    "missing note",
    "extra note",
    "old key",
    "lapsed accidental",
    "misreading",
    "dropped chord note",
]


@pytest.mark.parametrize("name", FAULTS)
def test_faults_at_random_places_are_found(demo: Callable[[str], Reading], name: str) -> None:
    c = _context(demo("evening-ferry").piece)
    made = [m for seed in range(6) if (m := spoiled(c, name, (12, 44), seed)) is not None]
    assert made
    hits = 0
    for one in made:
        fault = one.truth.faults[0]
        hits += any(
            x.kind == fault.kind and x.first_bar <= fault.last_bar and fault.first_bar <= x.last_bar
            for x in hear(c, one)
        )
    assert hits >= 0.8 * len(made)  # the benchmark holds the whole to 95 per cent


@pytest.mark.parametrize("name", ["bach-fugue-848", "beethoven-sonata-8-2"])
def test_concert_performances_have_only_their_own_slips(
    data: Path, real: Callable[[str], Piece], name: str
) -> None:
    piece = real(name)
    c = Context(piece)
    for path in concert_takes(data, name)[:1]:
        known = concert(path, piece)
        heard = Heard(c, known.take, known.alignment)
        gone = {m.note for m in known.alignment.missing}
        kinds = [k for k in all_finding_kinds() if k.name in NOTES]
        found = [x for k in kinds for x in k.find(heard)]
        assert all(set(x.note_ids) <= gone for x in found)
        assert len(found) < 0.5 * len(piece.bars)
        assert sum(x.weight > 0.5 for x in found) <= 2
