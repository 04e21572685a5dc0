"""Which hand plays a note: staves, words, voices that cross, middle staves, and notes alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.score import Piece, read_score
from passagework.score.hand_links import Heard
from passagework.score.hand_search import FORBIDDEN, share_notes
from passagework.score.hand_words import hand_named
from tests.score.small import attributes, backup, note, score


def hands_of(*measures: str) -> list[tuple[int, str, float]]:
    piece = read_score(score(*measures).encode(), "a.musicxml").piece
    return [(n.midi, n.hand, n.hand_sure) for n in piece.notes]


def words(text: str, *, staff: int = 1, placement: str = "above") -> str:
    return (
        f'<direction placement="{placement}"><direction-type><words>{text}</words></direction-type>'
        f"<staff>{staff}</staff></direction>"
    )


@pytest.mark.parametrize(
    ("text", "hand"),
    [
        ("m.d.", "right"), ("m. s.", "left"), ("M.G.", "left"), ("m.g", "left"), ("R.H.", "right"),
        ("l.h.", "left"), ("L. H.", "left"), ("mano destra", "right"), ("mano sinistra", "left"),
        ("main droite", "right"), ("main gauche", "left"), ("rechte Hand", "right"),
        ("linke Hand", "left"), ("(l.h.)", "left"), ("md", "right"), ("simile", None),
        ("dim.", None), ("m.d. m.s.", None), ("sempre legato", None), ("agitato", None),
    ],
)  # fmt: skip
def test_words_name_a_hand(text: str, hand: str | None) -> None:
    assert hand_named(text) == hand


def test_words_give_the_beamed_notes_to_their_hand() -> None:
    def eighth(pitch: str, beam: str) -> str:
        return note(pitch, 2, kind="eighth", end=f'<beam number="1">{beam}</beam>')

    first = "".join(map(eighth, ("C4", "E4", "G4", "E4"), ("begin", "continue", "continue", "end")))
    then = "".join(map(eighth, ("C5", "E5", "G5", "E5"), ("begin", "continue", "continue", "end")))
    found = hands_of(attributes() + words("m.s.") + first + then)
    assert [hand for _, hand, _ in found] == ["left"] * 4 + ["right"] * 4
    assert all(0.9 < sure < 1 for _, _, sure in found[:4])


def test_words_hold_until_the_staff_is_given_back() -> None:
    found = hands_of(
        attributes() + words("l.h.") + note("C4") + note("E4") + words("r.h.") + note("G5", 8)
    )
    assert [hand for _, hand, _ in found] == ["left", "left", "right"]


def test_words_at_two_voices_mean_the_one_they_stand_by() -> None:
    found = hands_of(
        attributes()
        + words("m.g.", placement="below")
        + note("C5", 16, kind="whole")
        + backup(16)
        + note("C4", 16, kind="whole", voice="2")
    )
    assert {midi: hand for midi, hand, _ in found} == {60: "left", 72: "right"}


def test_a_beamed_arpeggio_that_climbs_into_the_upper_staff_stays_in_the_left_hand() -> None:
    pitches = ("F2", "C3", "A3", "C4", "F4", "A4", "F4", "C4")
    staves = ("2", "2", "2", "1", "1", "1", "1", "1")
    beams = ("begin", *["continue"] * 6, "end")
    figure = "".join(
        note(p, 2, kind="eighth", voice="5", staff=s, end=f'<beam number="1">{b}</beam>')
        for p, s, b in zip(pitches, staves, beams, strict=True)
    )
    found = hands_of(attributes() + note("A5", 16, kind="whole") + backup(16) + figure)
    assert [hand for midi, hand, _ in found if midi != 81] == ["left"] * 8
    assert [hand for midi, hand, _ in found if midi == 81] == ["right"]


def test_a_middle_staff_goes_to_the_hand_that_reaches_it() -> None:
    # The outer hands hold octaves two octaves apart; what the middle staff has lies under the right.
    top = note("C5", 16, kind="whole") + note("C6", 16, kind="whole", before="<chord/>")
    middle = "".join(note(p, 4, voice="2", staff="2") for p in ("D4", "E4", "F4", "E4"))
    low = note("C2", 16, kind="whole", voice="3", staff="3")
    low += note("C3", 16, kind="whole", voice="3", staff="3", before="<chord/>")
    found = hands_of(attributes(staves=3) + top + backup(16) + middle + backup(16) + low)
    hand = {midi: side for midi, side, _ in found}
    assert {hand[m] for m in (72, 84)} == {"right"}
    assert {hand[m] for m in (36, 48)} == {"left"}
    assert len({hand[m] for m in (62, 64, 65)}) == 1
    assert all(sure < 1 for midi, _, sure in found if midi in {62, 64, 65})


def test_both_hands_on_one_staff() -> None:
    right = "".join(note(p) for p in ("C5", "D5", "E5", "F5"))
    left = "".join(note(p, voice="2") for p in ("C3", "B2", "C3", "A2"))
    found = hands_of(attributes(staves=1) + right + backup(16) + left)
    assert {hand for midi, hand, _ in found if midi >= 72} == {"right"}
    assert {hand for midi, hand, _ in found if midi <= 60} == {"left"}
    one = hands_of(attributes(staves=1) + right)
    assert {hand for _, hand, _ in one} == {"right"}


def test_broken_chords_share_their_lowest_notes_out() -> None:
    # A broken chord whose two lowest notes are held on: the held ones are the left hand's.
    figure = [(0, 2, 60), (0.25, 2, 64)]
    figure += [(0.5 + i / 4, 0.75 + i / 4, p) for i, p in enumerate((67, 72, 76, 67, 72, 76))]
    notes = [Heard(a + 2 * k, b + 2 * k, m) for k in range(6) for a, b, m in figure]
    found = [side for side, _ in share_notes(notes)]
    assert found == (["left"] * 2 + ["right"] * 6) * 6


@given(
    st.lists(
        st.tuples(st.integers(0, 64), st.integers(1, 16), st.integers(21, 108), st.booleans()),
        min_size=1,
        max_size=40,
    )
)
def test_what_is_known_beforehand_is_kept(rows: list[tuple[int, int, int, bool]]) -> None:
    notes = [Heard(a / 4, (a + d) / 4, m, FORBIDDEN if right else 0.0, 0.0 if right else FORBIDDEN)
             for a, d, m, right in rows]  # fmt: skip
    found = share_notes(notes)
    assert [side for side, _ in found] == ["right" if row[3] else "left" for row in rows]


@given(
    st.lists(st.tuples(st.integers(0, 64), st.integers(1, 16), st.integers(21, 108)), max_size=40),
    st.integers(0, 1000),
)
def test_the_search_does_not_care_when_a_piece_begins(
    rows: list[tuple[int, int, int]], later: int
) -> None:
    rows = sorted(set(rows))
    first = share_notes([Heard(a / 4, (a + d) / 4, m) for a, d, m in rows])
    second = share_notes([Heard(a / 4 + later, (a + d) / 4 + later, m) for a, d, m in rows])
    assert first == second
    assert all(0 < sure <= 1 for _, sure in first)


def agreement(piece: Piece, limit: int = 400) -> float:
    """Share of the first notes whose hand is found from pitch and time alone, the staves being the truth."""
    staves: dict[tuple[int, str], set[int]] = {}
    for n in piece.notes:
        staves.setdefault((n.bar, n.voice), set()).add(n.staff)
    plain = {(n.onset, n.midi): n for n in piece.notes if not n.grace}
    notes = list(plain.values())[:limit]
    found = share_notes([Heard(float(n.onset), float(n.end), n.midi) for n in notes])
    judged = [(n.staff == 1) == (side == "right")
              for n, (side, _) in zip(notes, found, strict=True)
              if len(staves[n.bar, n.voice]) == 1]  # fmt: skip
    return sum(judged) / len(judged)


def test_demo_pieces_are_shared_as_they_are_written(demo: Callable[..., object]) -> None:
    for name in ("paper-boat", "lamplighter", "evening-ferry"):
        assert agreement(demo(name).piece) > 0.96  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("name", "least"),
    [
        ("bach-prelude-846", 0.99),
        ("beethoven-sonata-8-2", 0.95),
        ("mozart-sonata-12-2", 0.97),
        ("chopin-etude-25-1", 0.95),
        ("schubert-moment-3", 0.93),
        ("chopin-berceuse-57", 0.84),
    ],
)
def test_real_scores_are_shared_as_they_are_written(
    real: Callable[[str], Piece], name: str, least: float
) -> None:
    assert agreement(real(name)) >= least
