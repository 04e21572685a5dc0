"""Who has the tune, on small scores whose answer is known."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from passagework.analysis.melody import Tune, find_tune
from passagework.score import Piece
from tests.analysis.altered import real
from tests.spots.build import piece


def sung(piece: Piece, tune: Tune) -> list[str]:
    return [str(piece.by_id[i].pitch) for i in tune.sequence]


def test_tune_above_alberti() -> None:
    p = piece(
        "R: C5/1 D5/1 E5/1 F5/1 | G5/2 E5/2 | D5/1 E5/1 F5/1 D5/1 | C5/4;"
        "L: C4/1/2 G4/1/2 E4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2 |"
        " C4/1/2 G4/1/2 E4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2 |"
        " B3/1/2 G4/1/2 D4/1/2 G4/1/2 B3/1/2 G4/1/2 D4/1/2 G4/1/2 | C4/4"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["C5", "D5", "E5", "F5", "G5", "E5", "D5", "E5", "F5", "D5", "C5"]
    assert not tune.handovers
    assert not tune.split_hands
    assert [s.hand for s in tune.line] == ["right"]
    lowest = {str(p.by_id[i].pitch) for i in tune.bass}
    assert {"C4", "B3"} <= lowest
    assert "G4" not in lowest


def test_tune_in_the_left_hand_under_repeated_chords() -> None:
    chords = "r/1/2 C5+E5/1/2 C5+E5/1/2 C5+E5/1/2 r/1/2 C5+E5/1/2 C5+E5/1/2 C5+E5/1/2"
    p = piece(
        f"R: {chords} | {chords} | {chords} | {chords};"
        "L: C3/2 D3/1 E3/1 | F3/2 E3/2 | D3/1 E3/1 F3/1 G3/1 | E3/4"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["C3", "D3", "E3", "F3", "E3", "D3", "E3", "F3", "G3", "E3"]
    assert {s.hand for s in tune.line} == {"left"}


def test_tune_on_top_of_a_figure_in_the_same_hand() -> None:
    p = piece(
        "R: G5/2 F5/2 | E5/2 D5/2 | C5/4;"
        "R2: E4/1/2 C4/1/2 E4/1/2 C4/1/2 D4/1/2 B3/1/2 D4/1/2 B3/1/2 |"
        " C4/1/2 A3/1/2 C4/1/2 A3/1/2 B3/1/2 G3/1/2 B3/1/2 G3/1/2 | C4/1/2 E4/1/2 C4/1/2 E4/1/2 C4/2;"
        "L: C3/2 G2/2 | A2/2 G2/2 | C3/4"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["G5", "F5", "E5", "D5", "C5"]
    (split,) = tune.split_hands
    assert split.hand == "right"
    assert (split.first_bar, split.last_bar) == (0, 2)
    assert set(split.tune) == set(tune.melody)
    assert len(split.accompaniment) == 21
    assert split.below == 1.0
    assert split.chordal == 0.0
    assert [str(p.by_id[i].pitch) for i in sorted(tune.bass, key=lambda i: p.by_id[i].onset)] == [
        "C3", "G2", "A2", "G2", "C3",
    ]  # fmt: skip


def test_tune_of_short_notes_on_top_of_a_broken_chord() -> None:
    """Peaks of a figure, written no longer than its other notes: the ear joins them."""

    def group(top: str) -> str:
        return f"{top}/1/4 C5/1/4 E4/1/4 C5/1/4"

    tops = ("G5", "G5", "A5", "G5", "F5", "E5", "F5", "G5")
    first, second = (" ".join(group(t) for t in part) for part in (tops[:4], tops[4:]))
    p = piece(f"R: {first} | {second} | G5/4; L: C3/4 | C3/4 | C3/4")
    assert sung(p, find_tune(p)) == [*tops, "G5"]


def test_tune_passes_between_the_hands() -> None:
    p = piece(
        "R: C5/1 B4/1 A4/1 G4/1 | r/4 | C4/1 D4/1 E4/1 F4/1 | r/4;"
        "L: r/4 | F4/1 E4/1 D4/1 B3/1 | r/4 | E4/1 D4/1 C4/2"
    )
    tune = find_tune(p)
    names = sung(p, tune)
    assert len(names) == 15
    assert [(h.from_hand, h.to_hand, h.bar, h.gap, h.interval) for h in tune.handovers] == [
        ("right", "left", 1, Fraction(0), -2),
        ("left", "right", 2, Fraction(0), 1),
        ("right", "left", 3, Fraction(0), -1),
    ]
    assert [h.position for h in tune.handovers] == [4, 8, 12]
    assert p.by_id[tune.handovers[0].before].pitch.midi == 67
    assert p.by_id[tune.handovers[0].after].pitch.midi == 65


def test_an_answer_after_more_than_a_bar_takes_nothing_over() -> None:
    p = piece("R: C5/1 D5/1 E5/2 | r/4 | r/4 | r/4; L: r/4 | r/4 | r/4 | C3/1 D3/1 E3/2")
    assert find_tune(p).handovers == ()


def test_a_rest_in_the_tune_is_a_rest() -> None:
    p = piece(
        "R: C5/1 E5/1 G5/2 | r/4 | A5/1 G5/1 E5/2 | C5/4;"
        "L: C3/1 E3+G3/1 E3+G3/1 E3+G3/1 | C3/1 E3+G3/1 E3+G3/1 E3+G3/1 |"
        " C3/1 E3+G3/1 E3+G3/1 E3+G3/1 | C3/4"
    )
    tune = find_tune(p)
    assert {p.by_id[i].hand for i in tune.sequence} == {"right"}
    assert [(s.onset, s.end) for s in tune.line] == [(0, 4), (8, 16)]


def test_octaves_are_doublings() -> None:
    p = piece(
        "R: C4+C5/1 D4+D5/1 E4+E5/1 F4+F5/1 | G4+G5/2 C4+C5/2;"
        "L: C3/1 G3/1 E3/1 G3/1 | C3/1 G3/1 C3/2"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["C5", "D5", "E5", "F5", "G5", "C5"]
    assert sorted(str(p.by_id[i].pitch) for i in tune.doublings) == sorted(
        ["C4", "D4", "E4", "F4", "G4", "C4"]
    )
    assert not tune.doublings & tune.melody


def test_grace_notes_belong_to_the_note_they_lean_on() -> None:
    p = piece("R: g:D5 C5/1 D5/1 E5/2; L: C3/1 g:F3 G3/1 C3/2")
    tune = find_tune(p)
    graces = {n.hand: n.id for n in p.notes if n.grace}
    assert graces["right"] in tune.melody
    assert graces["left"] not in tune.melody


def test_subject_is_followed_into_the_lower_voice() -> None:
    upper = "C4/1/2 D4/1/2 E4/1/2 C4/1/2 F4/1/2 E4/1/2 D4/1/2 G4/1/2"
    lower = "F3/1/2 G3/1/2 A3/1/2 F3/1/2 B3/1/2 A3/1/2 G3/1/2 C4/1/2"
    counter = "E5/1 D5/1 C5/1 B4/1"
    p = piece(f"R: {upper} | {counter} | C5/4; L: r/4 | {lower} | C3/4")
    tune = find_tune(p)
    second_bar = [str(p.by_id[i].pitch) for i in tune.sequence if p.by_id[i].bar == 1]
    assert second_bar == ["F3", "G3", "A3", "F3", "B3", "A3", "G3", "C4"]
    assert tune.handovers[0].bar == 1


ALBERTI = "C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2"


def test_an_introduction_of_accompaniment_is_no_tune() -> None:
    left = " | ".join([ALBERTI] * 6)
    p = piece(
        f"R: r/4 | r/4 | G4/2 E4/1 F4/1 | G4/2 C5/2 | A4/1 G4/1 F4/1 E4/1 | D4/2 C4/2; L: {left}"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["G4", "E4", "F4", "G4", "C5", "A4", "G4", "F4", "E4", "D4", "C4"]
    assert tune.handovers == ()


def test_call_and_answer_keep_all_their_notes() -> None:
    p = piece(
        "R: C5/1/2 D5/1/2 E5/1 r/2 | r/4 | D5/1/2 E5/1/2 F5/1 r/2 | C5/4;"
        "L: C3/4 | C4/1/2 B3/1/2 A3/1 G3/2 | G3/4 | C3/4"
    )
    tune = find_tune(p)
    assert sung(p, tune) == ["C5", "D5", "E5", "C4", "B3", "A3", "G3", "D5", "E5", "F5", "C5"]
    assert [(h.bar, h.to_hand) for h in tune.handovers] == [(1, "left"), (2, "right")]


def test_tune_in_the_left_hand_under_offbeat_chords() -> None:
    after = "r/1/2 A4+C5/1/2 A4+C5/1/2 r/1/2 r/1/2 A4+C5/1/2 A4+C5/1/2 r/1/2"
    p = piece(
        f"R: {after} | {after} | r/1/2 Bb4+D5/1/2 Bb4+D5/1/2 r/1/2 r/1/2 A4+C5/1/2 A4+C5/1/2 r/1/2;"
        "L: F3/1 A3/1/2 C4/1/2 F4/1 C4/1 | A3/1 C4/1/2 A3/1/2 F3/1 F3/1 | Bb3/1 D4/1 C4/1 A3/1"
    )
    assert {p.by_id[i].hand for i in find_tune(p).sequence} == {"left"}


def test_a_hand_that_never_plays() -> None:
    p = piece("R: C5/1 D5/1 E5/2; L: r/4")
    assert sung(p, find_tune(p)) == ["C5", "D5", "E5"]


def test_empty_piece_has_no_tune() -> None:
    tune = find_tune(replace(piece("R: C4/4; L: C3/4"), notes=()))
    assert tune.melody == frozenset()
    assert tune.line == ()
    assert tune.confidence == 0.0


def test_schubert_impromptu_keeps_its_long_top_line() -> None:
    """The top line is a voice of its own in the file; reading voices is not how it is found."""
    p = real("schubert-impromptu-90-3")
    tops = {}
    for note in p.notes:
        if note.staff == 1 and note.voice == "1" and not note.grace:
            tops[note.onset] = max(tops.get(note.onset, note), note, key=lambda n: n.midi)
    truth = {n.id for n in tops.values()}
    found = find_tune(p).melody
    assert len(found & truth) >= 0.97 * len(truth)
    assert len(found & truth) >= 0.97 * len(found)


def test_chopin_etude_finds_the_large_notes() -> None:
    """The composer's large notes against the small ones are the tune of the right hand."""
    p = real("chopin-etude-25-1")
    truth = {n.id for n in p.notes if n.hand == "right" and not n.cue and not n.grace}
    found = find_tune(p).melody
    common = len(found & truth)
    assert 2 * common / (len(found) + len(truth)) >= 0.82
