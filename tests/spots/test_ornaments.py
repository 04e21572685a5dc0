"""Ornaments: what the signs add, how much time there is, terminations and grace notes."""

import pytest

from passagework.spots import ornament_notes, ornaments
from passagework.spots.find import find_spots
from tests.spots.build import context


def found(text: str, **options: object) -> list[ornaments.Candidate]:
    return list(ornaments.find(context(text, **options)))


def test_a_trill_of_one_second_has_eight_notes() -> None:
    (one,) = found("R: D5/1!trill-mark C5/3; L: C3/4", tempo=60)
    assert (one.family, one.facts["name"], one.facts["auxiliary"]) == ("trills", "trill", "E")
    assert one.numbers["strikes"] == 8
    assert one.numbers["seconds"] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("letter", "fifths", "alter"),
    [
        ("F", 0, 0), ("F", 1, 1), ("C", 1, 0), ("C", 2, 1), ("B", 7, 1),
        ("B", -1, -1), ("E", -1, 0), ("E", -2, -1), ("F", -7, -1), ("F", -6, 0),
    ],
)  # fmt: skip
def test_signature(letter: str, fifths: int, alter: int) -> None:
    assert ornament_notes.signature_alter(letter, fifths) == alter


@pytest.mark.parametrize(
    ("text", "fifths", "auxiliary"),
    [
        ("R: D5/1!trill-mark C5/3; L: C3/4", -3, "E flat"),
        ("R: D5/1!trill-mark!acc2-natural C5/3; L: C3/4", -3, "E"),
        ("R: E5/1 D5/1!trill-mark C5/2; L: C3/4", -3, "E"),  # the bar's last E was natural
        ("R: G5/1!mordent F5/3; L: C3/4", 1, "F sharp"),
        ("R: G5/1!inverted-mordent F5/3; L: C3/4", 0, "A"),
        ("R: G5/1!turn F5/3; L: C3/4", 1, "A and F sharp"),
        ("R: B4/1!trill-mark C5/3; L: C3/4", 0, "C"),  # over the octave's number
    ],
)
def test_auxiliary(text: str, fifths: int, auxiliary: str) -> None:
    assert found(text, fifths=fifths)[0].facts["auxiliary"] == auxiliary


def test_termination_belongs_to_the_trill() -> None:
    (one,) = found("R: D5/2!trill-mark g:C5 g:D5 C5/2; L: C3/4")
    assert one.numbers["termination"] == 2
    assert one.facts["graces"] == "C5 and D5"
    assert len(one.note_ids) == 3


def test_grace_notes() -> None:
    (short,) = found("R: gs:D5 C5/4; L: C3/4")
    assert (short.family, short.facts["name"], short.numbers["strikes"]) == ("grace notes", "short grace note", 1)  # fmt: skip
    (group,) = found("R: g:E5 g:D5 g:B4 C5/4; L: C3/4")
    assert group.numbers["strikes"] == 3
    assert group.severity > short.severity


def test_the_other_hand_and_a_second_voice_make_it_harder() -> None:
    plain = found("R: D5/2!trill-mark C5/2; L: C3/4")[0]
    busy = found("R: D5/2!trill-mark C5/2; L: C3/1/2 D3/1/2 E3/1/2 F3/1/2 G3/2")[0]
    double = found("R: D5/2!trill-mark C5/2; R2: G4/1 A4/1 G4/2; L: C3/4")[0]
    assert busy.numbers["others"] == 4
    assert busy.numbers["points"] > plain.numbers["points"]
    assert double.numbers["second"] == 1
    assert double.numbers["points"] == pytest.approx(
        plain.numbers["points"] + ornaments.SECOND_VOICE_POINTS
    )


def test_hidden_notes_that_play_an_ornament_out_are_no_ornament() -> None:
    assert found("R: D5/1/4!hidden E5/1/4!hidden D5/1/4!hidden E5/1/4!hidden C5/3; L: C3/4") == []
    assert found("R: C5/4!trem2; L: C3/4") == []


def test_words() -> None:
    text = "R: D5/2!trill-mark g:C5 g:D5 C5/2; L: C3/1/2 D3/1/2 E3/1/2 F3/1/2 G3/2"
    words = next(s for s in find_spots(context(text)) if s.kind == "ornaments").wording
    assert words.title == "Trill on D5"
    assert "with an ending of two grace notes (C5 and D5)" in words.reason
    assert "The other hand strikes four times" in words.reason
