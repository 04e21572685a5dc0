"""A polyrhythm counted, tapped, each hand against a pulse, and only then played together."""

from __future__ import annotations

from math import lcm

from passagework.exercises import counting
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique, Tempo
from passagework.exercises.lines_of import Meeting, find_meeting
from passagework.exercises.passage import Passage
from passagework.exercises.pulse import against_pulse
from passagework.exercises.study import Study
from passagework.exercises.taps import tap
from passagework.exercises.tempos import middle_tempo, notch, start_tempo, tempo_at, tempo_name
from passagework.exercises.words import as_written, bars, capital, exercise, hard_at, three_times
from passagework.score.piece import Side
from passagework.spots.words_of import SLOWEST_PRACTICE, counted, listed, number

NAME, TITLE = "polyrhythm", "Counted, tapped, then played"


def applies(passage: Passage, study: Study) -> float:
    """Only where two lines divide the same time into different numbers."""
    meeting = find_meeting(passage, study)
    if meeting is None:
        return 0.0
    return 0.95 if passage.spot and passage.spot.kind == "polyrhythm" else 0.5


def build(passage: Passage, study: Study) -> Exercise:
    """The count, the rhythm tapped, each line against a pulse, both slowly, then as written."""
    meeting = find_meeting(passage, study)
    if meeting is None:
        raise DoesNotFitError("no two lines have different numbers here")
    slow, where = start_tempo(passage, study), bars(passage, study)
    steps: list[Step] = []
    if counting.countable(meeting.more, meeting.fewer):
        steps.append(_count(meeting, passage, study))
    steps.append(_tapped(meeting, passage, study))
    if meeting.hand == "both":
        steps += _each_against_a_pulse(meeting, passage, study)
    steps.append(
        Step(
            title="Together, slowly",
            instruction=f"{capital(where)} at {tempo_name(slow)}: {_lead(meeting)} keeps its even notes, the other fits in as you tapped it.",
            notation=study.practice(passage),
            tempo=slow,
            done_when=three_times(where, slow, f"with {counted(meeting.fewer, 'note')} in each group as even as when they were alone"),
            repeat=3,
        )
    )  # fmt: skip
    strokes = len(counting.strokes(meeting.more, meeting.fewer))
    hidden = " Ties or rests hide some of the places where they meet." if meeting.hidden else ""
    why = (
        f"{hard_at(passage, study)}: {number(meeting.more)} notes against {number(meeting.fewer)} make one rhythm of {counted(strokes, 'stroke')}. "
        f"Known as one rhythm, neither line can bend to the other.{hidden}"
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _lead(meeting: Meeting) -> str:
    if meeting.hand == "both":
        return f"the {meeting.fewer_side} hand"
    return f"the voice in {number(meeting.fewer)}"


def _count(meeting: Meeting, passage: Passage, study: Study) -> Step:
    """The ratio on its grid, at the tempo of the passage's own slow practice where that can be counted."""
    more, fewer = meeting.more, meeting.fewer
    units = lcm(more, fewer)
    _, unit = counting.metre_of(units // fewer, fewer)
    slow = tempo_at(study, study.context.bar(passage.first_bar).onset, 0.5)
    groups = slow.quarters_per_minute / float(meeting.span)
    tempo = Tempo(unit * (units // fewer), float(notch(max(groups * fewer, SLOWEST_PRACTICE))))
    said = [w for w in counting.words(more, fewer) if w]
    both = "Both hands begin together on 1"
    aloud = (
        f"count to {number(units)} aloud and tap at {listed(said)}"
        if units <= counting.SPOKEN
        else f"count to {number(fewer)} aloud with the slower hand"
    )
    return Step(
        title=f"The count of {number(more)} against {number(fewer)}",
        instruction=f"Tap the upper notes with the right hand and the lower ones with the left; {aloud}.",
        notation=counting.counting_line(more, fewer, meeting.side_of_more, 2),
        tempo=tempo,
        done_when=f"Eight times round at {tempo_name(tempo)} without a stop, then with the count only thought. {both} every time.",
        repeat=4,
    )


def _tapped(meeting: Meeting, passage: Passage, study: Study) -> Step:
    upper, lower = meeting.more_heads, meeting.fewer_heads
    if meeting.side_of_more == "left":
        upper, lower = lower, upper
    tempo = middle_tempo(passage, study)
    where = bars(passage, study)
    return Step(
        title="Tapped",
        instruction=f"The rhythm of {where} on one key for each hand, the right hand above and the left below; say its strokes as one rhythm.",
        notation=tap(study.practice(passage), upper, lower),
        tempo=tempo,
        done_when=three_times("the tapped rhythm", tempo, "and once with the hands changed over"),
        repeat=3,
    )


def _each_against_a_pulse(meeting: Meeting, passage: Passage, study: Study) -> list[Step]:
    tempo = middle_tempo(passage, study)
    rows: list[tuple[Side, int, frozenset[str]]] = [
        (meeting.fewer_side, meeting.fewer, meeting.fewer_heads),
        (meeting.more_side, meeting.more, meeting.more_heads),
    ]
    steps = []
    for side, count, heads in rows:
        tapping = "left" if side == "right" else "right"
        try:
            notation = against_pulse(passage, study, heads, side, meeting.span)
        except DoesNotFitError:
            continue
        steps.append(
            Step(
                title=f"{side.capitalize()} hand against the pulse",
                instruction=f"The {tapping} hand taps once to each group; the {side} plays its {number(count)} to it, all {number(count)} equal.",
                notation=notation,
                tempo=tempo,
                done_when=three_times(f"the {side} hand", tempo, "every tap exactly with the first note of its group"),
                repeat=3,
            )
        )  # fmt: skip
    return steps


TECHNIQUE = Technique(NAME, TITLE, applies, build)
