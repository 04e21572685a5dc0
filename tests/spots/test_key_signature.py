"""Change of key signature, and the names of keys."""

from __future__ import annotations

from passagework.spots.context import Context
from passagework.spots.key_signature import HEAD, KIND, LOOK
from passagework.spots.signature import key_names, signature_alter, signature_words
from passagework.spots.spot import Candidate
from tests.spots.build import context

CHANGE = "R: C5/4 | @key-3 Eb5/2 Ab4/2 | Bb4/4 | Eb5/4; L: C3/4 | C3/2 Eb3/2 | G3/4 | Bb3/4"


def changes(ctx: Context) -> list[Candidate]:
    """What is found apart from the signature at the head."""
    return [c for c in KIND.find(ctx) if c.family != HEAD]


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
    (found,) = changes(context("R: Eb5/4 | @key0 E5/4; L: r/4 | r/4", fifths=-3))
    assert found.facts["changed"] == "E natural"
    assert found.facts["first_habit"] == "E flat"


def test_a_printed_reminder_makes_it_milder() -> None:
    plain = "R: C5/4 | @key1 F#5/4; L: r/4 | r/4"
    (one,) = KIND.find(context(plain))
    (two,) = KIND.find(context(plain.replace("F#5/4", "F#5/4!acc-sharp")))
    assert two.severity < one.severity


def test_not_found_without_a_change_or_without_its_notes() -> None:
    assert changes(context("R: F#5/4 | F#5/4; L: r/4 | r/4", fifths=1)) == []
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


EASY = "R: G4/1 A4/1 B4/2 | F#4/1 G4/1 F#4/2 | G4/4; L: G3/4 | D3/4 | G3/4"


def test_a_beginner_is_told_of_the_signature_at_the_head() -> None:
    ctx = context(EASY, fifths=1, tempo=60)
    (found,) = KIND.find(ctx)
    assert found.family == "head"
    assert (found.first_bar, found.hand) == (1, "right")
    assert found.numbers["total"] == 2
    words = KIND.describe([found], ctx)
    assert words.title == "F sharp from the signature"
    assert "F natural is played, first in bar 2" in words.goes_wrong


def test_others_are_not() -> None:
    wide = EASY.replace("G3/4", "G1+G2/0.25 D3+B3/0.25 G3+D4/0.25 D3+B3/0.25 G2/3")
    wide = wide.replace("G4/4", "G6/0.25 G6+B6/0.25 G6/0.25 G6/0.25 G6/3")
    ctx = context(wide, fifths=1, tempo=240)
    assert ctx.level.value > 0.4
    assert list(KIND.find(ctx)) == []


def test_a_signature_whose_letters_do_not_come_is_silent() -> None:
    assert list(KIND.find(context("R: G4/1 A4/1 B4/2; L: G3/4", fifths=1, tempo=60))) == []
