"""Tempo worked out by hand: metronome marks, words, rit. and a tempo, playback data, fermatas."""

from __future__ import annotations

import itertools
import time as clock
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.analysis.tempo import ASSUMED_BEATS_PER_MINUTE, TempoMap, TempoSpan, tempo_map
from passagework.analysis.tempo_words import beat_range
from passagework.analysis.terms import parse_terms
from tests.analysis.terms_piece import piece


def test_nothing_said_is_assumed_and_says_so() -> None:
    tempo = tempo_map(piece())
    span = tempo.span_at(Fraction(0))
    assert span.source == "assumed"
    assert span.quarters_per_minute == ASSUMED_BEATS_PER_MINUTE
    assert span.low is not None
    assert span.high is not None
    assert span.low < span.quarters_per_minute < span.high


def test_a_metronome_mark_is_exact() -> None:
    tempo = tempo_map(piece(metronomes=[(1, 0, 120)]))
    assert tempo.spans == (
        TempoSpan(Fraction(0), 120.0, "marked", 0.0, 120.0, 120.0, "m0", Fraction(0)),
    )
    assert tempo.seconds(Fraction(8)) == 4.0


def test_two_marks_add_up() -> None:
    tempo = tempo_map(piece(metronomes=[(1, 0, 120), (3, 0, 60)]))
    assert tempo.seconds(Fraction(8)) == 4.0
    assert tempo.seconds(Fraction(12)) == 8.0


def test_a_mark_outweighs_words_and_playback() -> None:
    tempo = tempo_map(piece(words=[(1, 0, "Largo")], metronomes=[(1, 0, 150), (1, 0, 120, False)]))
    assert tempo.spans[0].source == "marked"
    assert tempo.quarters_per_minute(Fraction(5)) == 150


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("Largo", 38, 62), ("Adagio", 45, 80), ("Andante", 60, 108), ("Moderato", 80, 125), ("Allegretto", 96, 135),
        ("Allegro", 108, 170), ("Vivace", 125, 180), ("Presto", 155, 212), ("Langsam", 40, 75), ("Lebhaft", 112, 165),
        ("Lent", 40, 70), ("Vif", 125, 175),
    ],
)  # fmt: skip
def test_tempo_words_lie_in_their_usual_ranges(text: str, low: float, high: float) -> None:
    span = tempo_map(piece(words=[(1, 0, text)], value=Fraction(1, 2), time=(4, 4))).spans[0]
    assert span.source == "words"
    assert low <= span.quarters_per_minute <= high


def test_degree_moves_the_range() -> None:
    def middle(text: str) -> float:
        found = beat_range(parse_terms(text))
        assert found is not None
        return (found[0] * found[1]) ** 0.5

    assert middle("Allegro ma non troppo") < middle("Allegro") < middle("Allegro molto")
    assert middle("Molto lento") < middle("Lento") < middle("Poco lento")
    assert middle("Moderato") < middle("Allegro moderato") < middle("Allegro")
    assert middle("Andante") < middle("Andante, con spirito")
    assert middle("Nicht schnell") < middle("Schnell")
    assert middle("Ruhig, nicht zu schnell") == middle("Ruhig")


def test_words_count_the_beat_of_the_metre() -> None:
    simple = tempo_map(piece(words=[(1, 0, "Andante")], time=(2, 4), value=Fraction(1, 3)))
    compound = tempo_map(piece(words=[(1, 0, "Andante")], time=(6, 8), value=Fraction(1, 2)))
    ratio = compound.spans[0].quarters_per_minute / simple.spans[0].quarters_per_minute
    assert ratio == pytest.approx(1.5)


def test_an_adagio_of_short_notes_is_counted_in_half_beats() -> None:
    plain = tempo_map(piece(words=[(1, 0, "Adagio")], value=Fraction(1, 2)))
    short = tempo_map(piece(words=[(1, 0, "Adagio")], value=Fraction(1, 8)))
    assert short.spans[0].quarters_per_minute == pytest.approx(
        plain.spans[0].quarters_per_minute / 2
    )


def test_a_playback_tempo_is_believed_where_it_agrees_with_the_words() -> None:
    good = tempo_map(piece(words=[(1, 0, "Andante")], metronomes=[(1, 0, 76, False)]))
    assert (good.spans[0].source, good.spans[0].quarters_per_minute) == ("file", 76)
    bad = tempo_map(piece(words=[(1, 0, "Largo")], metronomes=[(1, 0, 120, False)]))
    assert bad.spans[0].source == "words"
    assert "120" in bad.warnings[0]
    idle = tempo_map(piece(metronomes=[(1, 0, 120, False)]))
    assert idle.spans[0].source == "assumed"
    chosen = tempo_map(piece(metronomes=[(1, 0, 92, False)]))
    assert (chosen.spans[0].source, chosen.spans[0].quarters_per_minute) == ("file", 92)


def test_rit_slows_step_by_step_and_a_tempo_restores() -> None:
    tempo = tempo_map(piece(words=[(5, 0, "rit."), (7, 0, "a tempo")], metronomes=[(1, 0, 100)]))
    speeds = [tempo.quarters_per_minute(Fraction(b)) for b in range(16, 24)]
    assert all(b < a for a, b in zip([100, *speeds], speeds, strict=False))
    assert 70 < speeds[-1] < 80
    assert tempo.quarters_per_minute(Fraction(24)) == 100
    assert tempo.span_at(Fraction(18)).changing == -1
    assert tempo.steady_at(Fraction(18)).quarters_per_minute == 100


def test_poco_rit_slows_less_than_molto_rit() -> None:
    ends = []
    for text in ("poco rit.", "rit.", "molto rit."):
        tempo = tempo_map(piece(words=[(5, 0, text), (6, 0, "a tempo")], metronomes=[(1, 0, 100)]))
        ends.append(tempo.quarters_per_minute(Fraction(19)))
    assert ends[0] > ends[1] > ends[2]


def test_accelerando_quickens_and_comparatives_step() -> None:
    tempo = tempo_map(
        piece(words=[(3, 0, "accel."), (5, 0, "Più mosso"), (9, 0, "Tempo I")], metronomes=[(1, 0, 100)])
    )  # fmt: skip
    assert tempo.quarters_per_minute(Fraction(15)) > 110
    assert tempo.quarters_per_minute(Fraction(20)) == pytest.approx(118)
    assert tempo.quarters_per_minute(Fraction(40)) == 100


def test_a_rit_without_end_is_over_after_its_bars() -> None:
    tempo = tempo_map(piece(bars=30, words=[(5, 0, "rit.")], metronomes=[(1, 0, 100)]))
    assert tempo.quarters_per_minute(Fraction(20)) < 100
    assert tempo.quarters_per_minute(Fraction(60)) == 100


def test_the_same_beat_through_a_change_of_metre_word() -> None:
    tempo = tempo_map(piece(words=[(5, 0, "doppio movimento")], metronomes=[(1, 0, 60)]))
    assert tempo.quarters_per_minute(Fraction(16)) == 120


def test_a_fermata_takes_more_time_than_is_written() -> None:
    plain = tempo_map(piece(metronomes=[(1, 0, 60)]))
    held = tempo_map(piece(metronomes=[(1, 0, 60)], fermata=(4, 0)))
    assert plain.seconds(Fraction(64)) == pytest.approx(64)
    assert held.seconds(Fraction(64)) == pytest.approx(64.5)
    assert held.quarters_per_minute(Fraction(16)) == 60


def test_a_mark_typed_a_bar_late_is_the_first_speed() -> None:
    tempo = tempo_map(piece(words=[(6, 0, "rit."), (8, 0, "Tempo I")], metronomes=[(2, 0, 126)]))
    assert tempo.quarters_per_minute(Fraction(0)) == 126
    assert tempo.quarters_per_minute(Fraction(28)) == 126


def test_looking_up_is_quick() -> None:
    spans = tuple(TempoSpan(Fraction(k), 60.0 + k % 7, "marked", float(k)) for k in range(5000))
    tempo = TempoMap(spans)
    tempo.seconds(Fraction(1))
    start = clock.process_time()
    for k in range(5000):
        tempo.seconds(Fraction(k))
    assert clock.process_time() - start < 0.25


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(1, 16),
            st.sampled_from([0, 1, 2.5]),
            st.sampled_from(
                ["rit.", "a tempo", "Tempo I", "accel.", "Allegro", "Largo", "meno mosso", "più mosso",
                 "poco a poco accel.", "l'istesso tempo", "doppio movimento", "ritenuto", "calando"]
            ),
        ),
        max_size=8,
    ),
    st.lists(st.tuples(st.integers(1, 16), st.just(0), st.floats(40, 200), st.booleans()), max_size=3),
)  # fmt: skip
def test_time_never_stands_still_or_runs_backwards(
    words: list[tuple[int, float, str]], metronomes: list[tuple[int, float, float, bool]]
) -> None:
    score = piece(words=sorted(words), metronomes=sorted(metronomes))
    tempo = tempo_map(score)
    assert tempo.spans[0].onset == 0
    onsets = [s.onset for s in tempo.spans]
    assert onsets == sorted(set(onsets))
    for span in tempo.spans:
        assert span.quarters_per_minute > 0
        assert span.low is not None
        assert span.high is not None
        assert span.low <= span.high
    times = [tempo.seconds(Fraction(k, 2)) for k in range(128)]
    assert all(b > a for a, b in itertools.pairwise(times))
