"""Alignment: small pieces worked out by hand, what holds for every take, and practice takes with known truth."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import mean

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from passagework.listening.align import align
from passagework.listening.alignment import Alignment, Match
from passagework.listening.midi_take import take_from_midi
from passagework.listening.take import PlayedNote, Take
from passagework.score import Piece, Reading, read_score
from tests.listening import messy
from tests.score.small import attributes, backup, note, score

STEPS = "CDEFGAB"
DEMOS = ("paper-boat", "lamplighter", "evening-ferry")


def piece_of(*measures: str) -> Piece:
    return read_score(score(*measures).encode(), "small.musicxml").piece


def take_of(*rows: tuple[float, int]) -> Take:
    """A take of (second, key), each key down for 0.3 s."""
    return Take(tuple(PlayedNote(at, 0.3, key, 64) for at, key in sorted(rows)))


def names(piece: Piece, alignment: Alignment) -> list[tuple[int, str, int]]:
    """(stroke, spelled note and position, pass) of every match."""
    return [
        (m.played, f"{piece.by_id[m.note].pitch}@{float(piece.by_id[m.note].onset):g}", m.run)
        for m in alignment.matches
    ]


def line(*pitches: str) -> str:
    return "".join(note(p) for p in pitches)


SCALE = (
    attributes() + line("C4", "D4", "E4", "F4"),
    line("G4", "A4", "B4", "C5"),
    line("D5", "C5", "A4", "F4"),
    line("E4", "G4", "D4", "C4"),
)
KEYS = (60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 69, 65, 64, 67, 62, 60)


def test_a_line_played_as_written() -> None:
    piece = piece_of(*SCALE)
    found = align(piece, take_of(*((0.5 * i, key) for i, key in enumerate(KEYS))))
    assert [m.note for m in found.matches] == [n.id for n in piece.notes]
    assert [(p.first_bar, p.last_bar, p.start, p.end) for p in found.passes] == [(0, 3, 0.0, 7.8)]
    assert (found.missing, found.extra, found.substitutions, found.fit) == ((), (), (), 1.0)


def test_a_wrong_a_left_out_and_an_added_note() -> None:
    piece = piece_of(*SCALE)
    keys: list[tuple[float, int]] = [(0.5 * i, key) for i, key in enumerate(KEYS)]
    keys[5] = (2.5, 70)  # a B flat for the A
    del keys[9]  # the second C5 is left out
    keys.append((5.8, 47))  # a key that nothing near asks for
    found = align(piece, take_of(*keys))
    ids = [n.id for n in piece.notes]
    assert {m.note for m in found.missing} == {ids[5], ids[9]}
    assert len(found.extra) == 2
    assert [(s.note, s.played) for s in found.substitutions] == [(ids[5], 5)]


def test_a_restart_is_a_second_pass() -> None:
    piece = piece_of(*SCALE)
    once = [(0.5 * i, key) for i, key in enumerate(KEYS[:11])]
    again = [(8 + 0.5 * i, key) for i, key in enumerate(KEYS[4:])]
    found = align(piece, take_of(*once, *again))
    assert [(p.first_bar, p.last_bar) for p in found.passes] == [(0, 2), (1, 3)]
    assert len(found.matches) == 23
    assert found.missing == ()


REPEAT = '<barline location="right"><repeat direction="backward"/></barline>'


@pytest.mark.parametrize("taken", [False, True])
def test_a_repeat_taken_or_not(taken: bool) -> None:
    piece = piece_of(SCALE[0], SCALE[1] + REPEAT, SCALE[2], SCALE[3])
    keys = [*KEYS[:8], *KEYS] if taken else list(KEYS)
    found = align(piece, take_of(*((0.5 * i, key) for i, key in enumerate(keys))))
    expected = [(0, 1), (0, 3)] if taken else [(0, 3)]
    assert [(p.first_bar, p.last_bar) for p in found.passes] == expected
    assert len(found.matches) == len(keys)


TWO_HANDS = tuple(
    (attributes() if i == 0 else "")
    + line(*upper)
    + backup(16)
    + "".join(note(p, 8, kind="half", voice="5", staff="2") for p in lower)
    for i, (upper, lower) in enumerate(
        [
            (("E5", "D5", "C5", "G4"), ("C3", "E3")),
            (("A4", "C5", "F5", "A5"), ("F3", "A2")),
            (("G5", "E5", "D5", "B4"), ("G3", "G2")),
            (("C5", "G4", "E4", "C4"), ("C3", "C2")),
        ]
    )
)


@pytest.mark.parametrize("side", ["left", "right"])
def test_one_hand_alone_misses_nothing_of_the_other(side: str) -> None:
    piece = piece_of(*TWO_HANDS)
    mine = [n for n in piece.notes if n.hand == side]
    found = align(piece, take_of(*((float(n.onset) * 0.6, n.midi) for n in mine)))
    assert [m.note for m in found.matches] == [n.id for n in mine]
    assert [p.hand for p in found.passes] == [side]
    assert found.missing == ()


def test_a_unison_of_two_voices_is_one_stroke_and_nothing_is_missing() -> None:
    piece = piece_of(
        attributes()
        + line("C5", "A4", "F4", "D4")
        + backup(16)
        + note("C5", 16, kind="whole", voice="2"),
        line("G4", "B4", "D5", "G5"),
    )
    keys = (72, 69, 65, 62, 67, 71, 74, 79)
    found = align(piece, take_of(*((0.5 * i, key) for i, key in enumerate(keys))))
    assert len(found.matches) == 8
    assert piece.by_id[found.matches[0].note].duration == 4  # the longer note
    assert found.extra == ()
    assert found.missing == ()


def test_the_strokes_of_a_trill_are_not_extra() -> None:
    sign = "<notations><ornaments><trill-mark/></ornaments></notations>"
    piece = piece_of(
        attributes() + line("C5", "D5", "E5", "F5"),
        note("E5", 16, kind="whole", end=sign),
        line("D5", "B4", "G4", "C5"),
    )
    trill = [(2.0 + 0.12 * i, 77 if i % 2 else 76) for i in range(16)]
    rows = [(0.5 * i, key) for i, key in enumerate((72, 74, 76, 77))]
    rows += [(4.0 + 0.5 * i, key) for i, key in enumerate((74, 71, 67, 72))]
    found = align(piece, take_of(*rows, *trill))
    assert names(piece, found)[4] == (4, "E5@4", 0)
    assert len(found.matches) == 9
    assert len(found.ornamental) == 15
    assert (found.extra, found.missing, found.fit) == ((), (), 1.0)


def test_nothing_and_something_else() -> None:
    piece = piece_of(*TWO_HANDS)
    assert align(piece, Take(())) == Alignment((), (), (), (), (), 0.0)
    rng = random.Random(4)
    noise = take_of(*((0.13 * i, rng.randrange(22, 108)) for i in range(400)))
    found = align(piece, noise)
    assert found.fit < 0.3
    assert align(piece, take_of((1.0, 23))).extra == (0,)


hands = st.lists(
    st.tuples(
        st.lists(st.sampled_from([f"{s}{o}" for s in STEPS for o in (4, 5)]), min_size=4, max_size=4),
        st.lists(st.sampled_from([f"{s}{o}" for s in STEPS for o in (2, 3)]), min_size=2, max_size=2),
    ),
    min_size=3,
    max_size=9,
)  # fmt: skip


def random_piece(bars: list[tuple[list[str], list[str]]]) -> Piece:
    return piece_of(
        *(
            (attributes() if i == 0 else "")
            + line(*upper)
            + backup(16)
            + "".join(note(p, 8, kind="half", voice="5", staff="2") for p in lower)
            for i, (upper, lower) in enumerate(bars)
        )
    )


def holds(alignment: Alignment, take: Take) -> None:
    """What is true of every alignment."""
    played = [m.played for m in alignment.matches]
    assert played == sorted(set(played))
    assert len({(m.note, m.run) for m in alignment.matches}) == len(played)
    assert {*played, *alignment.extra, *alignment.ornamental} == set(range(len(take.notes)))
    assert len(played) + len(alignment.extra) + len(alignment.ornamental) == len(take.notes)
    starts = [p.start for p in alignment.passes]
    assert starts == sorted(starts)
    assert all(p.first_bar <= p.last_bar and p.start <= p.end for p in alignment.passes)
    assert all(alignment.by_pass)
    struck = {(m.note, m.run) for m in alignment.matches}
    assert not struck & {(m.note, m.run) for m in alignment.missing}
    assert {s.played for s in alignment.substitutions} <= set(alignment.extra)
    lost = {(m.note, m.run) for m in alignment.missing}
    assert {(s.note, s.run) for s in alignment.substitutions} <= lost
    assert len({s.played for s in alignment.substitutions}) == len(alignment.substitutions)


slow = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@slow
@given(hands, st.floats(0.3, 1.5))
def test_every_piece_played_as_written_is_matched_whole(
    bars: list[tuple[list[str], list[str]]], quarter: float
) -> None:
    piece = random_piece(bars)
    take = Take(
        tuple(
            PlayedNote(float(n.onset) * quarter, float(n.duration) * quarter, n.midi, 64)
            for n in piece.notes
        )
    )
    found = align(piece, take)
    holds(found, take)
    assert [m.note for m in found.matches] == [n.id for n in piece.notes]
    assert found.missing == ()


@slow
@given(hands, st.integers(0, 10_000), st.floats(0.0, 60.0))
def test_what_holds_for_every_take_and_when_it_begins_does_not_matter(
    bars: list[tuple[list[str], list[str]]], seed: int, later: float
) -> None:
    piece = random_piece(bars)
    rng = random.Random(seed)
    row = messy.KINDS["all at once"](messy.played(piece), rng)
    take, _ = messy.as_take(row)
    found = align(piece, take)
    holds(found, take)
    late = Take(tuple(replace(n, onset=n.onset + round(later, 3)) for n in take.notes))
    assert align(piece, late).matches == found.matches


@pytest.mark.parametrize("name", DEMOS)
def test_twice_as_fast_or_half_as_fast_is_the_same(
    demo: Callable[[str], Reading], name: str
) -> None:
    piece = demo(name).piece
    take, truth = messy.as_take(messy.unsteady(messy.played(piece), random.Random(1)))
    for pace in (0.5, 1.0, 2.0):
        paced = tuple(
            replace(n, onset=n.onset * pace, duration=n.duration * pace) for n in take.notes
        )
        assert messy.f1(piece, align(piece, Take(paced)), truth) > 0.985


@pytest.mark.parametrize("name", DEMOS)
def test_added_notes_cost_only_what_is_near(demo: Callable[[str], Reading], name: str) -> None:
    piece = demo(name).piece
    take, _ = messy.as_take(messy.played(piece))
    before = align(piece, take)
    rng = random.Random(3)
    added = sorted(rng.uniform(0, take.length) for _ in range(12))
    noise = [PlayedNote(at, 0.1, rng.randrange(30, 96), 50) for at in added]
    rows = sorted([*take.notes, *noise], key=lambda n: (n.onset, n.pitch))
    after = align(piece, Take(tuple(rows)))

    def by_stroke(
        matches: tuple[Match, ...], notes: tuple[PlayedNote, ...]
    ) -> set[tuple[str, float]]:
        return {(m.note, notes[m.played].onset) for m in matches}

    lost = by_stroke(before.matches, take.notes) - by_stroke(after.matches, tuple(rows))
    assert all(min(abs(at - onset) for at in added) < 1.5 for _, onset in lost)
    assert len(lost) <= len(added)


@pytest.mark.parametrize("kind", messy.KINDS)
def test_practice_takes_of_the_demo_pieces(demo: Callable[[str], Reading], kind: str) -> None:
    figures = []
    for name in DEMOS:
        piece = demo(name).piece
        whole = messy.played(piece)
        for seed in range(2):
            take, truth = messy.as_take(messy.KINDS[kind](whole, random.Random(seed)))
            found = align(piece, take)
            holds(found, take)
            figures.append(messy.f1(piece, found, truth, alike=True))
    assert mean(figures) >= 0.97, figures


@pytest.mark.parametrize("name", ["bach-fugue-848", "beethoven-sonata-8-2", "mozart-sonata-12-2"])
def test_concert_takes(data: Path, real: Callable[[str], Piece], name: str) -> None:
    pytest.importorskip("partitura")
    take = take_from_midi((data / "takes" / name / "take-1.mid").read_bytes())
    truth = messy.load_truth(data / "takes" / name / "take-1.match", take)
    found = align(real(name), take)
    holds(found, take)
    assert messy.f1(real(name), found, truth) >= 0.985
    assert len(found.passes) == 1


@pytest.mark.parametrize("kind", ["restarts", "one hand alone", "all at once"])
def test_practice_takes_of_a_real_piece(real: Callable[[str], Piece], kind: str) -> None:
    piece = real("bach-prelude-846")
    whole = messy.played(piece)
    take, truth = messy.as_take(messy.KINDS[kind](whole, random.Random(5)))
    assert messy.f1(piece, align(piece, take), truth, alike=True) >= 0.95
