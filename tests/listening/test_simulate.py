"""The simulated player: human, deterministic, and truthful about its faults."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from statistics import mean, pstdev

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.listening.midi_take import take_from_midi
from passagework.listening.simulate import faults as f
from passagework.listening.simulate import play
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.score import Piece, Reading
from passagework.spots.context import Context
from tests.spots.build import context

SCALE = context("R: C4/1 D4/1 E4/1 F4/1 | G4/1 A4/1 B4/1 C5/1; L: C3/2 G3/2 | E3/2 C3/2", tempo=60)
CHORDS = context(
    "R: C4+E4+G4/1 D4+F4+A4/1 C4+E4+G4/1 D4+F4+A4/1 | C4+E4+G4/4; L: C3/4 | C3/4", tempo=60
)


def note_id(c: Context, bar: int, place: int, hand: str = "right") -> str:
    return [n.id for n in c.piece.notes if n.bar == bar and n.hand == hand][place]


def onset(c: Context, ident: str, **options: object) -> float:
    made = play(c, seed=1, **options)  # type: ignore[arg-type]
    found = next(m for m in made.truth.alignment.matches if m.note == ident)
    return made.take.notes[found.played].onset


def test_every_written_note_is_played_once_and_nothing_else() -> None:
    made = play(SCALE, seed=4)
    assert {m.note for m in made.truth.alignment.matches} == {n.id for n in SCALE.piece.notes}
    assert len(made.take.notes) == len(SCALE.piece.notes)
    assert made.truth.alignment.fit == 1.0
    assert not made.truth.alignment.missing
    assert not made.truth.alignment.extra


def test_the_same_seed_gives_the_same_take_and_another_another() -> None:
    assert play(SCALE, seed=4).take == play(SCALE, seed=4).take
    assert play(SCALE, seed=4).take != play(SCALE, seed=5).take


def test_without_rubato_the_beat_is_the_metronomes() -> None:
    made = play(SCALE, seed=2, rubato=0.0, expression=0.0)
    ids = [n.id for n in SCALE.piece.notes if n.hand == "right"]
    times = {m.note: made.take.notes[m.played].onset for m in made.truth.alignment.matches}
    gaps = [times[b] - times[a] for a, b in pairwise(ids)]
    assert all(
        0.94 < gap < 1.06 for gap in gaps
    )  # a crotchet at 60 is a second; fingers scatter by 9 ms
    assert pstdev(gaps) > 0.001  # and are not a machine's


def test_half_tempo_takes_twice_as_long() -> None:
    whole = play(SCALE, seed=2, rubato=0.0).take
    slow = play(SCALE, seed=2, rubato=0.0, tempo_scale=0.5).take
    first, second = (t.notes[-1].onset - t.notes[0].onset for t in (whole, slow))
    assert second / first == pytest.approx(2.0, rel=0.02)


@pytest.mark.parametrize("scale", [0.0, 0.05, 9.0])
def test_a_tempo_nobody_plays_is_refused(scale: float) -> None:
    with pytest.raises(ValueError, match="tempo_scale"):
        play(SCALE, seed=1, tempo_scale=scale)


def test_bars_that_are_not_there_are_refused() -> None:
    with pytest.raises(ValueError, match="bars 0 to 1"):
        play(SCALE, seed=1, bars=(0, 2))


def test_the_tune_is_louder_and_earlier(demo: Callable[[str], Reading]) -> None:
    c = Context(demo("evening-ferry").piece)
    made = play(c, seed=3)
    tune = c.tune.melody
    loud: dict[bool, list[int]] = {True: [], False: []}
    lead: list[float] = []
    times = {m.note: made.take.notes[m.played] for m in made.truth.alignment.matches if m.run == 0}
    for note in c.piece.notes:
        if note.id in times and not note.grace:
            loud[note.id in tune].append(times[note.id].velocity)
            if note.id in tune and note.hand == "right" and not note.arpeggio:
                others = [
                    times[n.id].onset
                    for n in c.piece.notes_of_bar[note.bar]
                    if n.onset == note.onset
                    and n.hand == "left"
                    and n.id in times
                    and not n.arpeggio
                ]
                lead += [o - times[note.id].onset for o in others]
    assert 10 <= mean(loud[True]) - mean(loud[False]) <= 20  # Goebl, 2001
    assert 0.015 <= mean(lead) <= 0.04


def test_legato_overlaps_and_staccato_is_short() -> None:
    legato = context("R: C4/1!( D4/1 E4/1 F4/1!) ; L: r/4", tempo=60)
    short = context("R: C4/1!staccato D4/1!staccato E4/1!staccato F4/1!staccato; L: r/4", tempo=60)
    tied = play(legato, seed=1, rubato=0).take.notes
    assert all(a.end > b.onset - 0.02 for a, b in pairwise(tied))
    assert all(0.3 < n.duration < 0.6 for n in play(short, seed=1, rubato=0).take.notes)


def test_a_rolled_chord_opens_upwards() -> None:
    c = context("R: C4+E4+G4/2!arp C4+E4+G4/2; L: r/4", tempo=60)
    notes = play(c, seed=1, expression=0.0).take.notes
    assert [n.pitch for n in notes[:3]] == [60, 64, 67]
    assert 0.06 < notes[2].onset - notes[0].onset < 0.16
    assert notes[5].onset - notes[3].onset < 0.05


def test_ornaments_and_graces_are_played_and_told() -> None:
    c = context("R: C5/4!trill-mark | gs:D5 C5/4; L: C3/4 | C3/4", tempo=60)
    made = play(c, seed=1)
    assert len(made.truth.ornamental) > 20  # ten a second for four seconds
    assert {made.take.notes[k].pitch for k in made.truth.ornamental} == {72, 74}
    assert not made.truth.alignment.extra
    grace = next(n for n in c.piece.notes if n.grace)
    main = next(n for n in c.piece.notes if n.bar == 1 and n.hand == "right" and not n.grace)
    times = {m.note: made.take.notes[m.played].onset for m in made.truth.alignment.matches}
    assert 0.04 < times[main.id] - times[grace.id] < 0.15


def test_a_unison_of_two_voices_is_one_stroke() -> None:
    c = context("R: C4/4; L: C4/4", tempo=60)
    made = play(c, seed=1)
    assert len(made.take.notes) == 1
    assert len(made.truth.unisons) == 1
    assert not made.truth.alignment.missing


def test_a_repeat_is_another_pass(demo: Callable[[str], Reading]) -> None:
    piece = demo("evening-ferry").piece
    made = play(piece, seed=1)
    assert len(piece.playing_order) > len(piece.bars)
    assert len(made.truth.alignment.passes) == 2
    starts = [p.start for p in made.truth.alignment.passes]
    assert starts == sorted(starts)


def test_one_hand_alone() -> None:
    made = play(SCALE, seed=1, hands="left")
    assert {n.pitch for n in made.take.notes} == {48, 55, 52}
    assert made.truth.alignment.passes[0].hand == "left"


def test_a_take_survives_its_midi_file() -> None:
    take = play(CHORDS, seed=1).take
    again = take_from_midi(to_midi_bytes(take))
    assert [(n.pitch, n.velocity) for n in again.notes] == [
        (n.pitch, n.velocity) for n in take.notes
    ]
    assert all(abs(a.onset - b.onset) < 0.001 for a, b in zip(again.notes, take.notes, strict=True))
    assert len(again.pedals) == len(take.pedals)


def test_wrong_missing_and_extra_notes() -> None:
    third, fourth = note_id(SCALE, 0, 2), note_id(SCALE, 0, 3)
    wrong = play(SCALE, seed=1, faults=[f.WrongNote(third, 66)]).truth.alignment
    assert [(s.note, s.played) for s in wrong.substitutions] == [(third, wrong.extra[0])]
    assert [m.note for m in wrong.missing] == [third]
    missing = play(SCALE, seed=1, faults=[f.MissingNote(fourth)])
    assert [m.note for m in missing.truth.alignment.missing] == [fourth]
    assert len(missing.take.notes) == len(SCALE.piece.notes) - 1
    extra = play(SCALE, seed=1, faults=[f.ExtraNote(fourth, 63)])
    assert [extra.take.notes[k].pitch for k in extra.truth.alignment.extra] == [63]


def test_a_wrong_note_is_a_free_neighbour() -> None:
    made = play(CHORDS, seed=7, faults=[f.WrongNote(note_id(CHORDS, 0, 1))])
    played = made.take.notes[made.truth.alignment.extra[0]].pitch
    assert played not in (60, 64, 67)
    assert abs(played - 64) <= 3


def test_the_old_key_and_the_forgotten_accidental() -> None:
    c = context("R: F4/2 F4/2 | @key1 F#4/2 G4/2 | F#4/4; L: C3/4 | C3/4 | C3/4", tempo=60)
    made = play(c, seed=1, faults=[f.OldKey(1, 2)])
    struck = sorted(made.take.notes[k].pitch for k in made.truth.alignment.extra)
    assert struck == [65, 65]
    c = context("R: C#5/1!acc-sharp D5/1 C#5/1 D5/1; L: C3/4", tempo=60)
    made = play(c, seed=1, faults=[f.LapsedAccidental(0, 0)])
    assert [made.take.notes[k].pitch for k in made.truth.alignment.extra] == [72]


def test_a_misreading_keeps_the_signature() -> None:
    c = context("R: D4/1 E4/1 F#4/1 G4/1; L: C3/4", fifths=1, tempo=60)
    row = tuple(n.id for n in c.piece.notes if n.hand == "right")
    made = play(c, seed=1, faults=[f.Misreading(row, 2)])
    assert [n.pitch for n in made.take.notes if n.pitch > 60] == [66, 67, 69, 71]  # F sharp, not F


def test_the_inner_note_is_dropped() -> None:
    made = play(CHORDS, seed=1, faults=[f.DroppedNote(0, 0, "right", "inner")])
    gone = [CHORDS.piece.by_id[m.note].midi for m in made.truth.alignment.missing]
    assert sorted(gone) == [64, 64, 65, 65]


def test_hesitation_rushing_and_slowing_move_time() -> None:
    last = note_id(SCALE, 1, 3)
    plain = onset(SCALE, last, rubato=0.0)
    late = onset(SCALE, last, rubato=0.0, faults=[f.Hesitation(note_id(SCALE, 1, 0), 1.5)])
    assert late - plain == pytest.approx(1.5, abs=1e-6)
    assert onset(SCALE, last, rubato=0.0, faults=[f.Rushing(0, 0, 1.5)]) < plain - 0.5
    assert onset(SCALE, last, rubato=0.0, faults=[f.Slowing(0, 0, 0.7)]) > plain + 0.5


def test_restarts_and_skips_make_passes(demo: Callable[[str], Reading]) -> None:
    piece = demo("lamplighter").piece
    made = play(piece, seed=1, faults=[f.Restart(bar=10, beats=1, back=2, times=2)])
    spans = [(p.first_bar, p.last_bar) for p in made.truth.alignment.passes]
    assert spans == [(0, 10), (8, 10), (8, len(piece.bars) - 1)]
    fault = made.truth.faults[0]
    assert (fault.first_bar, fault.last_bar, fault.runs) == (8, 10, (0, 1, 2))
    made = play(piece, seed=1, faults=[f.Skip(bar=5, to_bar=9)])
    assert [(p.first_bar, p.last_bar) for p in made.truth.alignment.passes] == [
        (0, 5), (9, len(piece.bars) - 1),
    ]  # fmt: skip


def test_a_bent_triplet_has_the_proportions_asked_for() -> None:
    c = context("R: C5/1/3 D5/1/3 E5/1/3 C5/1/3 D5/1/3 E5/1/3 F5/2; L: C3/1 C3/1 C3/2", tempo=60)
    shares: list[list[float]] = []
    for seed in range(10):
        fault = f.Proportion(0, 0, "right", "triplet", 0, 10)
        made = play(c, seed=seed, rubato=0.0, faults=[fault])
        times = {m.note: made.take.notes[m.played].onset for m in made.truth.alignment.matches}
        row = [times[n.id] for n in c.piece.notes if n.hand == "right"]
        shares += [
            [(b - a) / (row[k + 3] - row[k]) for a, b in pairwise(row[k : k + 4])] for k in (0, 3)
        ]
    first, second, third = (mean(x) for x in zip(*shares, strict=True))
    assert first == pytest.approx(0.433, abs=0.015)  # a third and ten points
    assert (second, third) == pytest.approx((0.283, 0.283), abs=0.015)  # and five less each


def test_hands_apart_by_what_was_asked() -> None:
    plain, late = (
        sorted(
            (n.pitch, n.onset) for n in play(SCALE, seed=1, faults=x).take.notes if n.pitch >= 60
        )
        for x in ([], [f.HandsApart(0, 1, 80, "left")])
    )
    assert [b - a for (_, a), (_, b) in zip(plain, late, strict=True)] == pytest.approx([0.08] * 8)


def test_balance_dynamics_and_touch() -> None:
    c = context(
        "R: @p C5/1!( D5/1 E5/1!) r/1 | @f C5/1 D5/1 E5/1 F5/1; L: C3+G3/1 C3+G3/1 C3+G3/1 C3+G3/1 | C3+G3/1 C3+G3/1 C3+G3/1 C3+G3/1",
        tempo=60,
    )

    def force(faults: list[f.Fault], bar: int, hand: str) -> float:
        made = play(c, seed=1, faults=faults)
        rows = [
            made.take.notes[m.played].velocity
            for m in made.truth.alignment.matches
            if c.piece.by_id[m.note].bar == bar and c.piece.by_id[m.note].hand == hand
        ]
        return mean(rows)

    assert force([], 1, "left") - force([], 0, "left") > 15
    flat = [f.Dynamics(0, 1, 0.0)]
    assert abs(force(flat, 1, "left") - force(flat, 0, "left")) < 5
    back = [f.Dynamics(0, 1, -1.0)]
    assert force(back, 1, "left") - force(back, 0, "left") < -15
    assert force([], 1, "right") - force([], 1, "left") > 10
    assert (
        abs(force([f.FlatBalance(0, 1)], 1, "right") - force([f.FlatBalance(0, 1)], 1, "left")) < 5
    )
    cut = play(c, seed=1, faults=[f.LegatoCut(0, 0, "right", 0.5)])
    assert [n.duration < 0.6 for n in cut.take.notes if n.pitch >= 72][:2] == [True, True]


def test_a_fault_that_bites_nothing_is_said_to_be_idle() -> None:
    fault = f.OldKey(1)
    made = play(SCALE, seed=1, faults=[fault])
    assert made.truth.idle == (fault,)
    assert made.truth.faults == ()


FAULTS = st.lists(
    st.sampled_from(
        [
            f.WrongNote("?"),
            f.MissingNote("?"),
            f.ExtraNote("?"),
            f.Hesitation("?", 1.0),
            f.Restart(5, 1, 2),
            f.Skip(3, 8),
            f.Rushing(2, 6),
            f.Slowing(2, 6),
            f.DroppedNote(1, 6, "left", "top"),
            f.HandsApart(1, 6, 70),
            f.Uneven(1, 6, "right"),
            f.FlatBalance(1, 6),
            f.Dynamics(1, 6),
            f.LegatoCut(1, 6, "both"),
            f.PedalHeld(2, 5),
            f.PedalLate(2, 5),
            f.Proportion(0, 12, "both", "pair", 0, 8),
        ]
    ),
    max_size=4,
    unique=True,
)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), chosen=FAULTS, scale=st.sampled_from([0.5, 1.0, 1.3]))
def test_whatever_goes_wrong_the_take_is_playable_and_the_truth_accounts_for_every_stroke(
    demo: Callable[[str], Reading], seed: int, chosen: list[f.Fault], scale: float
) -> None:
    piece = demo("lamplighter").piece
    ids = [n.id for n in piece.notes]
    named = [
        type(x)(ids[(seed + 17 * k) % len(ids)], *((1.0,) if isinstance(x, f.Hesitation) else ()))
        if isinstance(x, f.WrongNote | f.MissingNote | f.ExtraNote | f.Hesitation)
        else x
        for k, x in enumerate(chosen)
    ]
    made = play(piece, seed=seed, faults=named, tempo_scale=scale)
    _playable(piece, made.take.notes)
    a = made.truth.alignment
    told = {m.played for m in a.matches} | set(a.extra) | set(made.truth.ornamental)
    assert told == set(range(len(made.take.notes)))
    assert len({m.played for m in a.matches}) == len(a.matches)
    assert len({(m.note, m.run) for m in a.matches}) == len(a.matches)
    assert {s.played for s in a.substitutions} <= set(a.extra)
    assert all(x.end <= y.start for x, y in pairwise(made.take.pedals))


def _playable(piece: Piece, notes: tuple) -> None:  # type: ignore[type-arg]
    assert [(n.onset, n.pitch) for n in notes] == sorted((n.onset, n.pitch) for n in notes)
    assert all(n.onset >= 0 and n.duration > 0 and 1 <= n.velocity <= 127 for n in notes)
    down: dict[int, float] = {}
    for note in notes:
        assert note.onset >= down.get(note.pitch, 0.0) - 1e-9, "a key is struck while it is down"
        down[note.pitch] = note.end
    assert piece.bars
