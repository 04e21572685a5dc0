from __future__ import annotations

import pytest

from passagework.score import read_score
from passagework.sound.errors import SoundError
from passagework.sound.perform import perform
from passagework.sound.performance import Performance
from tests.score.small import attributes, note, score
from tests.spots.build import piece


def keys(done: Performance, hand: str = "right") -> list[tuple[int, float, float]]:
    return [(n.pitch, round(n.start, 4), round(n.end, 4)) for n in done.notes if n.hand == hand]


def starts(done: Performance, hand: str = "right") -> list[tuple[int, float]]:
    return [(pitch, start) for pitch, start, _ in keys(done, hand)]


def test_touch_at_sixty() -> None:
    """Legato reaches 30 ms over, an ordinary note ends 60 ms early, staccato has half, tenuto all."""
    music = piece(
        "R: C4/1!( D4/1 E4/1!) F4/1!staccato | G4/1!tenuto A4/1/2!staccatissimo r/1/2 "
        "B4/1!staccato!tenuto C5/1",
        tempo=60,
    )
    assert keys(perform(music)) == [
        (60, 0.0, 1.03),
        (62, 1.0, 2.03),
        (64, 2.0, 2.94),
        (65, 3.0, 3.5),
        (67, 4.0, 5.0),
        (69, 5.0, 5.125),
        (71, 6.0, 6.75),
        (72, 7.0, 7.94),
    ]


def test_words_set_the_touch_until_other_words() -> None:
    music = piece(
        'R: C4/1 @"legato" D4/1 E4/1 @"staccato" F4/1 | G4/1 @"non_legato" A4/3', tempo=60
    )
    assert [end for _, _, end in keys(perform(music))] == [0.94, 2.03, 3.03, 3.5, 4.5, 7.25]


def test_dynamics_as_marked_and_none_brought_out() -> None:
    """p 48, f 96, crescendo in equal steps between; accent three quarters of a sign."""
    music = piece("R: @p C4/1 D4/1 @< E4/1 F4/1 | @. @f G4/1 A4/1!accent @pp B4/1 C5/1", tempo=60)
    assert [n.velocity for n in perform(music, bring_out=()).notes] == [
        48, 48, 48, 72, 96, 108, 32, 32,
    ]  # fmt: skip


def test_the_tune_is_fifteen_steps_above_the_rest() -> None:
    music = piece(
        "R: @mf E5/1 F5/1 G5/2; L: C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2"
    )
    right = {n.velocity for n in perform(music).notes if n.hand == "right"}
    left = {n.velocity for n in perform(music).notes if n.hand == "left"}
    assert (right, left) == ({85}, {70})
    low = {m.id for m in music.notes if m.hand == "left"}
    told = perform(music, bring_out=low).notes
    assert {n.velocity for n in told if n.hand == "left"} == {85}
    assert {n.velocity for n in told if n.hand == "right"} == {70}


@pytest.mark.parametrize(("sign", "above"), [("ppp", 27), ("fff", 127)])
def test_the_distance_is_kept_at_the_ends_of_the_scale(sign: str, above: int) -> None:
    music = piece(f"R: @{sign} C5/1; L: C3/1")
    right = next(n.id for n in music.notes if n.hand == "right")
    done = perform(music, bring_out={right})
    assert sorted(n.velocity for n in done.notes) == [above - 15, above]


def test_muted_hands_and_chosen_notes() -> None:
    music = piece("R: C5/1 D5/1; L: C3/1 D3/1")
    assert {n.hand for n in perform(music, mute=("left",)).notes} == {"right"}
    second = music.notes[-1].id
    assert [n.id for n in perform(music, only={second}).notes] == [second]
    assert perform(music, mute=("left", "right")).notes == ()
    assert perform(music, mute=("left",)).duration == perform(music).duration


def test_a_tied_note_is_chosen_by_any_of_its_heads() -> None:
    music = piece("R: C5/4~ | C5/4", tempo=60)
    (tied,) = music.notes
    assert keys(perform(music, only={tied.tied_ids[0]})) == [(72, 0.0, 7.94)]


def test_slashed_grace_is_before_the_beat_and_an_appoggiatura_on_it() -> None:
    music = piece("R: C5/2 gs:D5 E5/2 | g:F5 E5/2 D5/2", tempo=60)
    assert keys(perform(music)) == [
        (72, 0.0, 1.915),
        (74, 1.915, 2.0),
        (76, 2.0, 3.94),
        (77, 4.0, 4.5),  # an eighth, its printed value
        (76, 4.5, 5.94),
        (74, 6.0, 7.94),
    ]


def test_a_grace_with_nothing_before_is_on_the_beat_but_before_it_after_a_count_in() -> None:
    music = piece("R: gs:D5 C5/4", tempo=60)
    assert starts(perform(music)) == [(74, 0.0), (72, 0.085)]
    assert starts(perform(music, count_in=1)) == [(74, 3.915), (72, 4.0)]


def test_an_appoggiatura_takes_two_thirds_of_a_dotted_note_at_most() -> None:
    music = piece("R: g:D5 C5/3/4 r/1/4 r/3", tempo=60)
    assert starts(perform(music)) == [(74, 0.0), (72, 0.5)]


def test_the_music_waits_for_a_long_run_of_graces_but_a_metronome_does_not() -> None:
    """Twelve quick notes are 1.02 s, four fifths of the 1.275 s that the crotchet before them then takes."""
    run = " ".join(f"g:{name}5" for name in "CDEFGABAGFED")
    music = piece(f"R: C5/1 {run} C5/1 r/2", tempo=60)
    free = starts(perform(music))
    assert [s for _, s in free[:3]] == [0.0, 0.255, 0.34]
    assert free[13] == (72, 1.275)
    steady = starts(perform(music, tempo=60))
    assert steady[13] == (72, 1.0)
    assert steady[1][1] == 0.2


def test_a_tight_group_falls_on_the_beat() -> None:
    """No room for three notes after a semiquaver at 240 (62.5 ms): they are played on the beat."""
    music = piece("R: C5/1/4 gs:D5 gs:E5 gs:F5 G5/2 r/7/4", tempo=240)
    done = starts(perform(music))
    assert [p for p, _ in done] == [72, 74, 76, 77, 79]
    assert [s for _, s in done] == pytest.approx([0, 0.0625, 0.1458, 0.2292, 0.3125], abs=0.001)


def test_arpeggio_sign_rolls_upwards_from_the_beat_and_holds() -> None:
    music = piece("R: C5+E5+G5/2!arp C5+E5+G5/2; L: C3/4", tempo=60)
    assert keys(perform(music))[:3] == [(72, 0.0, 1.94), (76, 0.045, 1.94), (79, 0.09, 1.94)]
    assert [s for _, s in starts(perform(music))[3:]] == [2.0, 2.0, 2.0]


def test_trill_has_an_odd_number_of_notes_and_ends_on_its_own() -> None:
    """One second at nine notes: D E D E D E D E D; half as fast the same notes twice as long."""
    music = piece("R: D5/1!trill-mark r/3", tempo=60)
    done = starts(perform(music))
    assert [p for p, _ in done] == [74, 76] * 4 + [74]
    assert [s for _, s in done] == pytest.approx([k / 9 for k in range(9)], abs=1e-3)
    slow = starts(perform(music, tempo=30))
    assert [p for p, _ in slow] == [p for p, _ in done]
    assert slow[1][1] == pytest.approx(2 / 9, abs=1e-3)
    assert [p for p, _ in starts(perform(music, upper_trills=True))] == [76, 74] * 5


def test_trill_runs_into_the_graces_that_end_it() -> None:
    music = piece("R: D5/2!trill-mark g:C5 g:D5 E5/2", tempo=60)
    done = keys(perform(music))
    assert [p for p, _, _ in done[-3:]] == [72, 74, 76]
    assert [s for _, s, _ in done[-3:]] == [1.83, 1.915, 2.0]
    assert max(e for p, s, e in done if s < 1.8) <= 1.83


@pytest.mark.parametrize(
    ("sign", "pitches"),
    [
        ("mordent", [72, 71, 72]),
        ("inverted-mordent", [72, 74, 72]),
        ("turn", [74, 72, 71, 72]),
        ("inverted-turn", [71, 72, 74, 72]),
    ],
)
def test_short_ornaments_begin_on_the_beat(sign: str, pitches: list[int]) -> None:
    done = keys(perform(piece(f"R: C5/2!{sign} r/2", tempo=60)))
    assert [p for p, _, _ in done] == pitches
    quick = [k * 0.085 for k in range(len(pitches))]
    assert [s for _, s, _ in done] == pytest.approx(quick, abs=1e-4)
    assert done[-1][2] == 1.94


def test_delayed_turn_follows_its_note() -> None:
    done = starts(perform(piece("R: C5/2!delayed-turn r/2", tempo=60)))
    assert [p for p, _ in done] == [72, 74, 72, 71, 72]
    assert [s for _, s in done] == pytest.approx([0, 1.66, 1.745, 1.83, 1.915], abs=1e-4)


def test_neighbours_follow_signature_bar_and_sign() -> None:
    flats = piece("R: D5/2!trill-mark r/2", fifths=-3, tempo=60)
    assert [n.pitch for n in perform(flats).notes][1] == 75
    earlier = piece("R: E5/1 D5/1!trill-mark r/2", fifths=-3, tempo=60)
    assert [n.pitch for n in perform(earlier).notes][2] == 76
    marked = piece("R: D5/1!trill-mark!acc2-sharp r/3", tempo=60)
    assert [n.pitch for n in perform(marked).notes][1] == 77


def test_measured_and_unmeasured_tremolo() -> None:
    """Three strokes on a minim: 16 demisemiquavers, 8 a second at 60; at 240 no more than 12 a second."""
    slow = starts(perform(piece("R: C5/2!trem3 r/2", tempo=60)))
    assert slow == [(72, round(k / 8, 4)) for k in range(16)]
    fast = starts(perform(piece("R: C5/2!trem3 r/2", tempo=240)))
    assert len(fast) == 6
    assert fast[1][1] == pytest.approx(0.5 / 6, abs=1e-4)
    quaver = starts(perform(piece("R: C5/1/2!trem1 r/1/2 r/3", tempo=60)))
    assert quaver == [(72, 0.0), (72, 0.25)]


def test_tremolo_of_two_notes_takes_turns() -> None:
    music = piece("R: C5/1!trem2a E5/1!trem2b r/2", tempo=60)
    assert starts(perform(music)) == [(72 if k % 2 == 0 else 76, k / 4) for k in range(8)]


def test_an_ornament_that_the_file_plays_out_is_played_once() -> None:
    text = "R: D5/1!trill-mark r/3; R2: D5/1/4!hidden E5/1/4!hidden D5/1/4!hidden E5/1/4!hidden r/3"
    assert starts(perform(piece(text, tempo=60))) == [
        (74, 0.0), (76, 0.25), (74, 0.5), (76, 0.75),
    ]  # fmt: skip


def test_a_trill_that_is_only_played_out_takes_its_notes_place() -> None:
    hidden = " ".join(f"{p}5/1/4!hidden" for p in "DEDE")
    music = piece(f"R: D5/1 r/3; R2: {hidden} r/3", tempo=60)
    assert starts(perform(music)) == [(74, 0.0), (76, 0.25), (74, 0.5), (76, 0.75)]


def test_a_key_that_a_rolled_chord_shares_is_struck_once() -> None:
    music = piece("R: C5+E5/4; R2: C5+E5/4!arp", tempo=60)
    assert keys(perform(music)) == [(72, 0.0, 3.94), (76, 0.045, 3.94)]


def test_unison_of_two_voices_is_one_stroke_and_a_held_key_is_struck_again() -> None:
    unison = perform(piece("R: C5/4; R2: C5/1 r/3", tempo=60))
    assert keys(unison) == [(72, 0.0, 3.94)]
    assert len({unison.notes[0].id, *unison.notes[0].unison}) == 2
    held = perform(piece("R: C5/4; R2: r/1 C5/1 r/2", tempo=60))
    assert keys(held) == [(72, 0.0, 0.97), (72, 1.0, 3.94)]


def test_repeated_legato_keys_are_let_go() -> None:
    music = piece("R: C5/1!( C5/1 C5/2!)", tempo=60)
    assert keys(perform(music)) == [(72, 0.0, 0.97), (72, 1.0, 1.97), (72, 2.0, 3.94)]


def test_pedal_as_marked_changes_late() -> None:
    music = piece("R: @& C5/2 @* @& D5/2 @* ; L: C3/4", tempo=60)
    assert [(p.start, p.end) for p in perform(music).pedals] == [(0.0, 2.0), (2.1, 4.0)]
    assert perform(music, pedal=False).pedals == ()


def test_own_tempo_follows_a_fermata_and_a_metronome_does_not() -> None:
    music = piece("R: C5/1 D5/1!fermata E5/2", tempo=60)
    assert [s for _, s in starts(perform(music))] == [0.0, 1.0, 3.0]
    assert perform(music).duration == pytest.approx(5.0)
    assert perform(music, tempo_scale=0.5).duration == pytest.approx(10.0)
    assert [s for _, s in starts(perform(music, tempo=60))] == [0.0, 1.0, 2.0]
    assert perform(music, tempo=60).duration == pytest.approx(4.0)


def test_count_in_before_a_pickup() -> None:
    """3/4 with a pickup of one beat: 1 2 3, 1 2, and the pickup is three."""
    text = score(
        attributes(4, "3/4", staves=1) + note("C4", 4, staff=""),
        note("D4", 12, kind="half", after="<dot/>", staff=""),
    )
    music = read_score(text.encode()).piece
    done = perform(music, tempo=60, count_in=1)
    assert [(c.start, c.accent) for c in done.clicks] == [
        (0.0, 2), (1.0, 0), (2.0, 0), (3.0, 2), (4.0, 0),
    ]  # fmt: skip
    assert [(n.pitch, n.start) for n in done.notes] == [(60, 5.0), (62, 6.0)]
    assert [(b.start, b.bar, b.count, b.accent) for b in done.beats[5:]] == [
        (5.0, 0, 3, 0), (6.0, 1, 1, 2), (7.0, 1, 2, 0), (8.0, 1, 3, 0),
    ]  # fmt: skip
    assert (done.count_in, done.duration) == (5.0, 9.0)
    assert len(perform(music, tempo=60, click=True).clicks) == 4


def test_repeats_are_unfolded_on_request() -> None:
    text = score(
        attributes(4, "2/4", staves=1) + note("C4", 8, kind="half", staff=""),
        note("D4", 8, kind="half", staff="")
        + '<barline location="right"><repeat direction="backward"/></barline>',
        note("E4", 8, kind="half", staff=""),
    )
    music = read_score(text.encode()).piece
    done = perform(music, tempo=60, unfold=True)
    assert [(n.pitch, n.start, n.pass_) for n in done.notes] == [
        (60, 0.0, 0), (62, 2.0, 0), (60, 4.0, 1), (62, 6.0, 1), (64, 8.0, 0),
    ]  # fmt: skip
    assert [b.index for b in done.bars] == [0, 1, 0, 1, 2]
    assert done.duration == 10.0
    assert perform(music, tempo=60).duration == 6.0


@pytest.mark.parametrize(
    ("options", "word"),
    [
        ({"tempo": 1.0}, "1 crotchets"),
        ({"tempo_scale": 0.0}, "0 times"),
        ({"count_in": 9}, "9 bars"),
    ],
)
def test_what_cannot_be_played_is_refused(options: dict[str, float], word: str) -> None:
    with pytest.raises(SoundError, match=word):
        perform(piece("R: C5/4"), **options)  # type: ignore[arg-type]
