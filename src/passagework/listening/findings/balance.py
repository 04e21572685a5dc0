"""The tune against what accompanies it: is it heard above?

Conventions
-----------
* A note of the tune (`passagework.analysis.melody`) stands *above* its accompaniment by its key velocity less the mean velocity of the
  other notes struck within half a beat of it, in MIDI velocity steps.
* What goes along as a line of its own (the other part of an invention, the voices of a fugue) is no accompaniment: there each voice
  has its turn, and nothing is measured.
* One note is no balance: a stretch counts, several bars long, in which the tune hardly stands above.

Experts bring a melody out by 10 to 20 velocity steps (Goebl, 2001). Over stretches of four bars the concert takes
that this was measured on never fell below 7 where the tune was accompanied.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import habits
from passagework.listening.heard import Heard
from passagework.score.piece import Note, Side, sort_key
from passagework.spots.context import is_plain
from passagework.spots.spot import Evidence, SpotHand

SOURCE = "a tune stands 10 to 20 velocity steps above its accompaniment (Goebl, 2001)"

ENOUGH = 7.0
"""Velocity steps above at which a tune is heard well enough: the lowest mean of four bars in the concert takes."""
TOLERANCE = 2.5
"""Steps by which a single note may fall short of that before it speaks for a stretch."""
SHORT_BY = 5.0
"""Steps by which a stretch must fall short of `ENOUGH` on the mean."""
FEWEST = 8
"""Notes of the tune in a stretch, with something under each."""
LINES = frozenset({"single line", "unison", "polyphonic", "rest"})
"""Textures that may be a voice of their own."""
AROUND = 3
"""Bars on either side in which a hand that has the tune as well plays a voice rather than an accompaniment."""
FAR = 8
"""Bars on either side without the tune after which even a single line accompanies."""
OWN_LINE = 0.5
"""A hand of single notes that strikes more than this share as often as the tune goes along as a line of its own."""


@dataclass(frozen=True, slots=True)
class _Above:
    """A note of the tune with its distance."""

    note: Note
    played: int
    steps: float


def find(heard: Heard) -> Iterable[Finding]:
    """Yield a finding for each stretch in which the tune is not brought out."""
    accompanied = accompanied_bars(heard)
    for run in range(len(heard.alignment.passes)):
        row = above(heard, run, accompanied)
        departures = [ENOUGH - a.steps for a in row]
        for stretch in habits(departures, TOLERANCE, FEWEST, SHORT_BY):
            if stretch.mean > 0:
                yield _finding(heard, run, row[stretch.first : stretch.last + 1])


def accompanied_bars(heard: Heard) -> frozenset[int]:
    """Indices of the bars in which the tune has an accompaniment rather than other lines beside it."""
    tune = heard.context.tune.melody
    sung: list[set[Side]] = [set() for _ in heard.piece.bars]
    for ident in tune:
        note = heard.piece.by_id[ident]
        sung[note.bar].add(note.hand)
    split = {i for s in heard.context.tune.split_hands for i in range(s.first_bar, s.last_bar + 1)}
    found = set()
    for index, notes in enumerate(heard.piece.notes_of_bar):
        onsets = {n.onset for n in notes if n.id in tune and is_plain(n)}
        rest = [n for n in notes if n.id not in tune and is_plain(n)]
        if not onsets or not rest:
            continue
        around = set().union(*sung[max(index - AROUND, 0) : index + AROUND + 1])
        hands = {n.hand for n in rest}
        textures = {t.texture for t in heard.textures_of[index] if t.hand in hands}
        few = len({n.onset for n in rest}) <= OWN_LINE * len(onsets)
        figures = bool(textures - LINES)
        chords = bool(textures & {"block", "chordal", "Alberti"})
        far = set().union(*sung[max(index - FAR, 0) : index + FAR + 1])
        if chords or len(far) == 1 or (len(around) == 1 and (few or figures or index in split)):
            found.add(index)
    return frozenset(found)


def above(heard: Heard, run: int, bars: frozenset[int]) -> list[_Above]:
    """The tune's notes of a pass in these bars, in order, with how far each stands above what is struck with it."""
    tune = heard.context.tune.melody
    rows = sorted(
        (
            (sort_key(n.onset), n, m.played)
            for m in heard.alignment.by_pass[run]
            if is_plain(n := heard.note(m))
        ),
        key=lambda row: row[0],
    )
    under = [(at, heard.take.notes[k].velocity) for at, n, k in rows if n.id not in tune]
    places = [at for at, _ in under]
    found = []
    for at, note, played in rows:
        if note.id not in tune or note.bar not in bars:
            continue
        reach = float(heard.piece.bars[note.bar].time.beat) / 2
        near = under[bisect_left(places, at - reach) : bisect_right(places, at + reach)]
        if near:
            steps = heard.take.notes[played].velocity - fmean(v for _, v in near)
            found.append(_Above(note, played, steps))
    return found


def _finding(heard: Heard, run: int, row: list[_Above]) -> Finding:
    first, last = min(a.note.bar for a in row), max(a.note.bar for a in row)
    steps = fmean(a.steps for a in row)
    bars = heard.context.bar_names(range(first, last + 1))
    hands = {a.note.hand for a in row}
    hand: SpotHand = hands.pop() if len(hands) == 1 else "both"
    if steps < -0.5:
        how = f"{-steps:.0f} velocity {'step' if steps > -1.5 else 'steps'} softer than what accompanies it"
    elif steps < 0.5:
        how = "as loud as what accompanies it"
    else:
        how = f"only {steps:.0f} velocity {'step' if steps < 1.5 else 'steps'} above what accompanies it"
    return Finding(
        "balance",
        first,
        last,
        hand,
        tuple(a.note.id for a in row),
        (
            Evidence("tune above accompaniment", round(steps, 1), "velocity steps", SOURCE),
            Evidence("notes of the tune measured", len(row)),
        ),
        f"In {bars} the tune is {how}: it carries when it stands 10 to 20 above.",
        "Play the tune alone as you want to hear it, then with the rest so soft that it hardly sounds, then let the rest come up a little.",
        min(0.55 + 0.03 * (ENOUGH - SHORT_BY - steps) + 0.01 * len(row), 0.95),
        min(0.35 + 0.02 * (ENOUGH - steps) + 0.01 * (last - first), 0.85),
        (run,),
        tuple(a.played for a in row),
        ("balance",),
    )


KIND = FindingKind("balance", "balance of the tune", find, needs_sound=True)
