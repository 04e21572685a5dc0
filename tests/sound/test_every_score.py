"""What holds for every score: the project's own, and real ones where they are at hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction
from io import BytesIO
from itertools import pairwise

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from passagework.score import Piece, Reading, read_score
from passagework.sound.midi import to_midi
from passagework.sound.perform import perform
from passagework.sound.performance import Performance
from tests.score.small import SMALL_SCORES
from tests.spots.build import piece

DEMOS = ("evening-ferry", "lamplighter", "paper-boat")
REAL = (
    "mozart-sonata-12-2",
    "schumann-kreisleriana-2",
    "rachmaninoff-prelude-32-5",
    "bach-fugue-848",
)


def holds(music: Piece, done: Performance) -> None:
    known = music.by_id
    keys: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for note in done.notes:
        assert 0 <= note.start < note.end <= done.duration + 1e-6
        assert 1 <= note.velocity <= 127
        assert note.id in known
        keys[note.pitch].append((note.start, note.end))
    for row in keys.values():
        assert all(end < start for (_, end), (start, _) in pairwise(row))
    assert [n.start for n in done.notes] == sorted(n.start for n in done.notes)
    for before, after in pairwise(done.beats):
        assert before.start < after.start
    for before, after in pairwise(done.pedals):
        assert before.start < before.end <= after.start
    assert sum((b.length for b in done.bars), Fraction(0)) == pytest.approx(
        done.quarters(done.duration), abs=1e-6
    )
    file = mido.MidiFile(file=BytesIO(to_midi(done)))
    assert file.length == pytest.approx(done.duration, abs=0.003 + 1e-5 * done.duration)


def every_note_sounds(music: Piece, done: Performance) -> None:
    heard = {i for n in done.notes for i in (n.id, *n.unison)}
    quiet = [n for n in music.notes if n.id not in heard and n.printed]
    assert len(quiet) <= 0.02 * len(music.notes), quiet[:3]


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("unfold", [False, True])
def test_demo(name: str, unfold: bool, demo: Callable[[str], Reading]) -> None:
    music = demo(name).piece
    done = perform(music, unfold=unfold, count_in=1, click=True)
    holds(music, done)
    every_note_sounds(music, done)
    steady = perform(music, tempo=66, unfold=unfold)
    order = music.playing_order if unfold else range(len(music.bars))
    length = sum((music.bars[i].length for i in order), Fraction(0))
    assert steady.duration == pytest.approx(float(length) * 60 / 66, abs=1e-6)


@pytest.mark.parametrize("name", SMALL_SCORES)
def test_small(name: str) -> None:
    music = read_score(SMALL_SCORES[name].encode()).piece
    for options in ({}, {"unfold": True, "count_in": 2}):
        holds(music, perform(music, **options))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", REAL)
def test_real(name: str, real: Callable[[str], Piece]) -> None:
    music = real(name)
    done = perform(music, unfold=True, click=True)
    holds(music, done)
    every_note_sounds(music, done)


SIGNS = [
    "",
    "!staccato",
    "!tenuto",
    "!arp",
    "!trill-mark",
    "!mordent",
    "!turn",
    "!trem3",
    "!fermata",
    "!accent",
]
TOKENS = st.builds(
    lambda pitch, length, sign, grace: f"{grace} {pitch}/{length}{sign}",
    st.sampled_from(["C4", "E4", "G4+C5", "F#4", "Bb3+D4+F4"]),
    st.sampled_from(["1/4", "1/2", "1", "3/2", "2"]),
    st.sampled_from(SIGNS),
    st.sampled_from(["", "", "g:D5", "gs:B4", "g:A4 g:B4", "gs:A4 gs:B4 gs:C5 gs:D5"]),
)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    right=st.lists(TOKENS, min_size=1, max_size=8),
    left=st.lists(TOKENS, min_size=1, max_size=8),
    tempo=st.sampled_from([None, 24.0, 60.0, 240.0]),
    count_in=st.integers(0, 1),
)
def test_any_signs_together(
    right: list[str], left: list[str], tempo: float | None, count_in: int
) -> None:
    music = piece(f"R: {' '.join(right)}; L: {' '.join(left)}")
    done = perform(music, tempo=tempo, count_in=count_in)
    holds(music, done)
    full = perform(music, tempo=tempo, count_in=count_in, bring_out=())
    assert [n.pitch for n in full.notes] == [n.pitch for n in done.notes]
    apart = [
        n for side in ("left", "right") for n in perform(music, tempo=tempo, count_in=count_in, mute=(side,)).notes
    ]  # fmt: skip
    heard = {i for n in done.notes for i in (n.id, *n.unison)}
    assert {i for n in apart for i in (n.id, *n.unison)} >= heard


def test_a_notation_is_performed_as_its_piece(demo: Callable[[str], Reading]) -> None:
    reading = demo("lamplighter")
    assert perform(reading.notation, tempo=50) == perform(reading.piece, tempo=50)
