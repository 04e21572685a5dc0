"""Change of key signature, and the names of keys."""

from __future__ import annotations

from passagework.spots.key_signature import KIND, LOOK
from passagework.spots.signature import key_names, signature_alter, signature_words
from tests.spots.build import context

CHANGE = "R: C5/4 | @key-3 Eb5/2 Ab4/2 | Bb4/4 | Eb5/4; L: C3/4 | C3/2 Eb3/2 | G3/4 | Bb3/4"


def test_signatures_by_hand() -> None:
    assert [signature_alter(s, -3) for s in "CDEFGAB"] == [0, 0, -1, 0, 0, -1, -1]
    assert [signature_alter(s, 2) for s in "CDEFGAB"] == [1, 0, 0, 1, 0, 0, 0]
    assert signature_words(0) == "no sharps or flats"
    assert signature_words(-1) == "one flat"
    assert key_names(-3) == "E flat major or C minor"
    assert key_names(2, "minor") == "B minor"
    assert key_names(-7, "major") == "C flat major"
    assert key_names(7, "minor") == "A sharp minor"


def test_first_appearances_of_the_new_flats() -> None:
    (found,) = KIND.find(context(CHANGE))
    # Right hand: E flat, A flat, B flat; left hand: E flat, B flat. E flat 5 in bar 4 is not a first.
    assert found.numbers["firsts"] == 5
    assert found.numbers["total"] == 6
    assert found.numbers["letters"] == 3
    assert found.facts["first"] == "E flat 5"
    assert found.facts["first_habit"] == "E natural"
    assert (found.first_bar, found.last_bar) == (1, 3)


def test_flats_that_are_cancelled_are_new_too() -> None:
    (found,) = KIND.find(context("R: Eb5/4 | @key0 E5/4; L: r/4 | r/4", fifths=-3))
    assert found.facts["changed"] == "E natural"
    assert found.facts["first_habit"] == "E flat"


def test_a_printed_reminder_makes_it_milder() -> None:
    plain = "R: C5/4 | @key1 F#5/4; L: r/4 | r/4"
    (one,) = KIND.find(context(plain))
    (two,) = KIND.find(context(plain.replace("F#5/4", "F#5/4!acc-sharp")))
    assert two.severity < one.severity


def test_not_found_without_a_change_or_without_its_notes() -> None:
    assert list(KIND.find(context("R: F#5/4 | F#5/4; L: r/4 | r/4", fifths=1))) == []
    assert list(KIND.find(context("R: C5/4 | @key1 C5/4 | D5/4; L: r/4 | r/4 | r/4"))) == []
    late = "R: C5/4 | @key1 " + "C5/4 | " * LOOK + "F#5/4"
    assert list(KIND.find(context(late + "; L: r/4"))) == []


def test_a_note_altered_against_the_new_signature_is_no_new_note() -> None:
    # F natural in G major needs its own sign: it is an accidental, not the new signature's note.
    assert list(KIND.find(context("R: C5/4 | @key1 F5/4; L: r/4 | r/4"))) == []


def test_words_name_the_habit() -> None:
    ctx = context(CHANGE, tempo=100)
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert words.title == "New signature: three flats"
    assert "E natural is played for E flat in bar 2" in words.goes_wrong
    assert "crotchet = 60" in words.done_when
