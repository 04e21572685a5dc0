"""A pause before an attack, against the player's own beat, and what stands just after it.

Conventions
-----------
* The *pause* is the part of an interval between two attacks that the tempo on neither side accounts for
  (`passagework.listening.beat_steps`): a ritardando has slowed before it and a broader tempo goes on after it, so
  that neither counts.
* Where the music breathes (`passagework.listening.breathing`) a pause is expected: at the start of a phrase it must
  be longer to be named, and after a fermata, at a double bar or a new section it is named only where it stops the music.
* A player with much rubato lets time stand a little everywhere. What is taken for granted grows with it.

The limits were measured on 13 concert performances of seven movements (some 1,000 bars), whose pauses count as music.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from passagework.listening.beat import OwnBeat
from passagework.listening.beat_steps import Step
from passagework.listening.behind import NAMES, kinds_at
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import decimal, listed, seconds, times

SOURCE = "interval less the slower tempo on either side; limits from concert performances"

LEAST_SECONDS = 0.25
"""A shorter pause is heard as phrasing: the longest plain ones of concert players in quick movements."""

LEAST_BEATS, MOST_BEATS = 0.4, 0.6
"""A pause of fewer beats is never named, and one of so many always, where nothing in the music asks for it."""

USUAL_SHARE, USUAL_TIMES = 0.95, 6.0
"""Between the two: so many times the pause that only one interval in twenty of this take exceeds. (Concert takes: their
longest plain pause is 3 to 6 times that.)"""

LONGEST_BEAT = 1.5
"""Seconds: pauses in slower beats are measured in beats of this length, for the ear does not stretch with them."""

AT_PHRASE = 1.4
"""Times as long at the start of a phrase."""

AT_SECTION_BEATS, AT_SECTION_SECONDS = 1.2, 1.0
"""Both of these at the start of a section that the page does not set off."""

AT_REST_BEATS, AT_REST_SECONDS = 3.0, 3.0
"""Both of these after a fermata, a double bar, a rest. (Concert players stood still up to 3 seconds there.)"""

TORN = 3.0
"""Tempos on the two sides that differ so many times mean that the place is not aligned well enough."""

HABIT = 2
"""Passes in which the same pause makes a habit."""


@dataclass(frozen=True, slots=True)
class Pause:
    """A pause worth a word."""

    run: int
    step: Step
    beats: float
    beat: OwnBeat
    limit: float
    grade: str


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each place with a pause, however many passes it was heard in."""
    places: dict[int, list[Pause]] = defaultdict(list)
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        for pause in _pauses(heard, run, beat):
            places[beat.groups[pause.step.index].tick].append(pause)
    for _, pauses in sorted(places.items()):
        yield _finding(heard, pauses)


def _pauses(heard: Heard, run: int, beat: OwnBeat) -> Iterable[Pause]:
    least = _least(beat)
    for step in beat.waits:
        if step.seconds < LEAST_SECONDS or step.beats < LEAST_BEATS / 2:
            continue
        before, late = beat.groups[step.index - 1], beat.groups[step.index]
        length = step.seconds / step.beats
        size = step.seconds / min(length, LONGEST_BEAT)
        paces = sorted((step.before, step.after))
        if paces[1] > TORN * paces[0]:
            continue
        grade = heard.breathing.grade(before.tick, late.tick, late.bar)
        limit, shortest = {
            "": (least, LEAST_SECONDS),
            "phrase": (least * AT_PHRASE, LEAST_SECONDS),
            "section": (AT_SECTION_BEATS, AT_SECTION_SECONDS),
            "free": (AT_REST_BEATS, AT_REST_SECONDS),
        }[grade]
        if size >= limit and step.seconds >= shortest:
            yield Pause(run, step, size, beat, limit, grade)


def _least(beat: OwnBeat) -> float:
    """Beats from which a pause of this pass is worth a word."""
    row = sorted(step.beats for step in beat.waits)
    usual = row[int(USUAL_SHARE * (len(row) - 1))] if row else 0.0
    return min(max(USUAL_TIMES * usual, LEAST_BEATS), MOST_BEATS)


def _finding(heard: Heard, pauses: list[Pause]) -> Finding:
    worst = max(pauses, key=lambda p: p.step.seconds)
    group = worst.beat.groups[worst.step.index]
    ids = tuple(s.note.id for s in group.strokes)
    sides = {s.note.hand for s in group.strokes}
    kinds = kinds_at(heard, ids)
    runs = tuple(dict.fromkeys(p.run for p in pauses))
    often = len(runs)
    beats = worst.step.beats
    again = f" It was heard {times(often)}." if often >= HABIT else ""
    long = f"{decimal(beats)} of a beat" if beats < 0.95 else f"{decimal(beats)} beats"
    size = min(worst.beats / (4.0 * worst.limit), 1.0)
    habit = min(0.15 * (often - 1), 0.3)
    return Finding(
        "hesitation",
        group.bar,
        group.bar,
        sides.pop() if len(sides) == 1 else "both",
        ids,
        (
            Evidence("pause", round(worst.step.seconds, 2), "s", SOURCE),
            Evidence("pause in beats", round(beats, 2), "beats", SOURCE),
            Evidence("passes with it", often),
        ),
        f"A pause of {seconds(worst.step.seconds)} ({long}) before {_place(heard, worst)}. {_stands(kinds)}{again}",
        _advice(kinds),
        min(0.6 + 0.2 * (worst.beats / worst.limit - 1.0) + 0.1 * (often - 1), 0.95),
        min(0.25 + 0.35 * size + habit, 1.0),
        runs,
        tuple(m.played for m in heard.alignment.by_pass[worst.run] if m.note in ids),
        kinds,
    )  # fmt: skip


def _place(heard: Heard, pause: Pause) -> str:
    """Where the late attack stands: ``"bar 12"``, ``"beat 3 of bar 12"``."""
    group = pause.beat.groups[pause.step.index]
    bar = heard.piece.bars[group.bar]
    name = heard.context.bar_names([bar.index])
    offset = (group.position - float(bar.onset)) / float(bar.time.beat)
    if bar.pickup:
        return name
    if offset == 0:
        return f"the start of {name}"
    beat = int(offset) + 1
    return (
        f"beat {beat} of {name}"
        if offset == int(offset)
        else f"the notes after beat {beat} of {name}"
    )


def _stands(kinds: tuple[str, ...]) -> str:
    if not kinds:
        return "Nothing in the notes there is hard by itself: it may be the finger or the memory."
    return f"What stands there: {listed([NAMES[k] for k in kinds[:2]])}."


def _advice(kinds: tuple[str, ...]) -> str:
    if "leap" in kinds[:2] or "stretch" in kinds[:2]:
        return "Play up to the place and stop; move to the keys silently; then make the stop shorter until it is gone."
    if {"accidentals", "key-signature", "harmony", "reading"} & set(kinds[:2]):
        return "Name the notes after the pause aloud, find them before you play, then join the two sides slowly."
    return "Start a beat before the place and stop a beat after it, slowly enough to need no pause, three times in a row."


KIND = FindingKind("hesitation", "hesitations", find)
