"""What holds for every score, made up or real."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.score import Piece, read_score
from passagework.score.markup import parse_markup
from passagework.score.musicxml import read_piece
from passagework.score.normalise import normalise
from passagework.score.notation import Notation
from tests.score.promises import check_piece, check_reading
from tests.score.small import attributes, backup, note, score

PITCHES = st.sampled_from(["C4", "F#4", "Bb3", "G5", "E2", "r"])
VALUES = st.sampled_from([(12, "quarter"), (6, "eighth"), (3, "16th"), (24, "half")])
VOICES = st.lists(st.tuples(PITCHES, VALUES), min_size=1, max_size=6)


def bar(right: list[tuple[str, tuple[int, str]]], left: list[tuple[str, tuple[int, str]]]) -> str:
    upper = "".join(note(p, d, kind=k) for p, (d, k) in right)
    lower = "".join(note(p, d, kind=k, voice="5", staff="2") for p, (d, k) in left)
    return upper + backup(sum(d for _, (d, _) in right)) + lower


SCORES = st.lists(st.tuples(VOICES, VOICES), min_size=1, max_size=4).map(
    lambda bars: score(
        *(
            (attributes(12) if index == 0 else "") + bar(right, left)
            for index, (right, left) in enumerate(
                [([("C4", (12, "quarter"))], bars[0][1]), *bars[1:]]
            )
        )
    )
)


@settings(max_examples=60, deadline=None)
@given(SCORES)
def test_every_made_up_score_keeps_the_promises(text: str) -> None:
    check_reading(read_score(text.encode()))


@settings(max_examples=40, deadline=None)
@given(SCORES, st.sampled_from([-1, 1]))
def test_an_octave_away_everything_is_in_its_place(text: str, octaves: int) -> None:
    notation = normalise(parse_markup(text.encode()))
    plain = read_piece(notation)
    moved = Notation(notation.copy().root)
    for node in moved.root.iter("octave"):
        node.text = str(int(node.text or 0) + octaves)
    other = read_piece(moved)
    assert [(n.id, n.onset, n.duration, n.midi + 12 * octaves) for n in plain.notes] == [
        (n.id, n.onset, n.duration, n.midi) for n in other.notes
    ]
    assert plain.bars == other.bars


def test_real_scores_keep_the_promises(real: Callable[[str], Piece]) -> None:
    for name in ("mozart-sonata-12-2", "schubert-moment-3", "bach-prelude-846"):
        check_piece(real(name))
