"""Reading: what slows the first weeks, whatever the hands can do.

Three causes, each a family: ``ledger lines`` (a note three or more lines outside its staff, as written under the
clef in force, an ottava line taken into account), ``clef changes``, and ``cross-staff`` notation (a voice that
walks from one staff to the other within a bar).

The reading load of a bar and staff is the sum over its causes: a written place with `FROM_LINES` ledger lines
counts 1, each further line `PER_LINE` more, every different place of a bar once and its
repetitions `AGAIN`; a clef change counts `CLEF`, and 1 more if notes of the same bar stand on both sides of it; a
change of staff within a voice counts `CROSSING`. Notes with accidentals among the ledger notes count double.
The load is judged per bar against what a piece of that level takes for granted.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from passagework.score.piece import Clef, Note, Position, Side
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, SpotHand, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    note_name,
    number,
    tempo_words,
    times,
)

FROM_LINES = 3
"""Ledger lines from which a note is counted out rather than recognised (the rule of this kind)."""

PER_LINE = 0.5
AGAIN = 0.15
CLEF = 1.5
CROSSING = 0.5

ORDINARY = (0.6, 3.0)
"""Load of a bar and staff that nobody of the level minds: less than one high note for a beginner."""

HARD = (2.0, 12.0)
"""Load that must be read on purpose: two far notes for a beginner, a passage written outside the staff."""

BELIEVABLE_LINES = 6
"""Ledger lines beyond which engravers change the clef or write an ottava."""

BOTTOM_LINE = {"G": (32, 2), "F": (24, 4), "C": (28, 3)}
"""For each clef the staff step (`Pitch.diatonic`) that it names and the line on which it usually stands."""

STEPS_OF_STAFF = 8
"""Staff steps from the bottom line to the top line."""

LEDGER, CLEFS, CROSS = "ledger lines", "clef changes", "cross-staff"


@dataclass
class _Load:
    """The load of one bar and staff, by cause."""

    by_cause: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    notes: dict[str, dict[str, Note]] = field(default_factory=lambda: defaultdict(dict))
    places: set[int] = field(default_factory=set)
    far: Note | None = None
    most_lines: int = 0
    above: bool = True
    clefs: list[tuple[Clef, Clef]] = field(default_factory=list)
    crossings: int = 0


class Clefs:
    """The clef in force on every staff at every position."""

    def __init__(self, clefs: Iterable[Clef]) -> None:
        """Take the clefs of a piece in any order."""
        self._rows: dict[int, list[Clef]] = defaultdict(list)
        for clef in sorted(clefs, key=lambda c: c.onset):
            row = self._rows[clef.staff]
            if row and row[-1].onset == clef.onset:
                row.pop()  # replaced where it stands: no change to read
            row.append(clef)
        self._onsets = {staff: [c.onset for c in row] for staff, row in self._rows.items()}

    def at(self, staff: int, position: Position) -> Clef | None:
        """The clef at `position`, None where the file gives none for the staff."""
        row = self._rows.get(staff, [])
        if len(row) == 1 and row[0].onset == 0:
            return row[0]
        at = bisect_right(self._onsets.get(staff, []), position) - 1
        return row[at] if at >= 0 else None

    def changes(self) -> Iterable[tuple[Clef, Clef]]:
        """(before, after) of every change that changes something."""
        for row in self._rows.values():
            for before, after in pairwise(row):
                if _bottom(before) != _bottom(after):
                    yield before, after


def _bottom(clef: Clef) -> int | None:
    """Staff step of the bottom line of the staff, as it sounds; None for a clef without pitch."""
    if clef.sign not in BOTTOM_LINE:
        return None
    step, usual = BOTTOM_LINE[clef.sign]
    return step - 2 * ((clef.line or usual) - 1) + 7 * clef.octave_change


def ledger_lines(note: Note, clef: Clef) -> int:
    """Ledger lines that `note` needs as written: positive above the staff, negative below."""
    bottom = _bottom(clef)
    if bottom is None:
        return 0
    step = note.pitch.diatonic - 7 * note.written_octave_shift - bottom
    if step > STEPS_OF_STAFF:
        return (step - STEPS_OF_STAFF) // 2
    return -(-step // 2) if step < 0 else 0


def find(context: Context) -> Iterable[Candidate]:
    """Every bar and staff with a reading load, by its causes."""
    clefs = Clefs(context.piece.clefs)
    loads: dict[tuple[int, int], _Load] = defaultdict(_Load)
    _ledger(context, clefs, loads)
    _clef_changes(context, clefs, loads)
    _cross_staff(context, loads)
    for (bar, staff), load in sorted(loads.items()):
        yield from _candidates(context, bar, staff, load)


def _ledger(context: Context, clefs: Clefs, loads: dict[tuple[int, int], _Load]) -> None:
    for note in context.piece.notes:
        clef = clefs.at(note.staff, note.onset)
        if clef is None or not note.printed:
            continue
        lines = ledger_lines(note, clef)
        if abs(lines) < FROM_LINES:
            continue
        load = loads[note.bar, note.staff]
        place = note.pitch.diatonic - 7 * note.written_octave_shift
        cost = (
            AGAIN
            if place in load.places
            else 1.0 + PER_LINE * (min(abs(lines), BELIEVABLE_LINES) - FROM_LINES)
        )
        load.by_cause[LEDGER] += cost * (
            2.0 if note.accidental and place not in load.places else 1.0
        )
        load.places.add(place)
        load.notes[LEDGER][note.id] = note
        if abs(lines) > load.most_lines:
            load.most_lines, load.far, load.above = abs(lines), note, lines > 0


def _clef_changes(context: Context, clefs: Clefs, loads: dict[tuple[int, int], _Load]) -> None:
    for old, clef in clefs.changes():
        bar = context.piece.bar_at(clef.onset).index
        row = [n for n in context.piece.notes_of_bar[bar] if n.staff == clef.staff and n.printed]
        after = [n for n in row if n.onset >= clef.onset]
        if not after:
            continue
        load = loads[bar, clef.staff]
        within = any(n.onset < clef.onset for n in row)
        load.by_cause[CLEFS] += CLEF + within
        load.clefs.append((old, clef))
        first = after[0].onset
        load.notes[CLEFS] |= {n.id: n for n in after if n.onset == first}


def _cross_staff(context: Context, loads: dict[tuple[int, int], _Load]) -> None:
    for bar, row in enumerate(context.piece.notes_of_bar):
        voices: dict[str, list[Note]] = defaultdict(list)
        for note in row:
            if note.printed and not note.grace:
                voices[note.voice].append(note)
        for notes in voices.values():
            if len({n.staff for n in notes}) > 1 and not _reused(notes):
                _walk(notes, loads, bar)


def _reused(notes: Sequence[Note]) -> bool:
    """Whether a file uses one voice number for two lines at once: then it does not walk."""
    ends: dict[int, Position] = {}
    for note in notes:
        for staff, end in ends.items():
            if staff != note.staff and end > note.onset:
                return True
        ends[note.staff] = max(note.end, ends.get(note.staff, note.end))
    return False


def _walk(notes: Sequence[Note], loads: dict[tuple[int, int], _Load], bar: int) -> None:
    home = max((1, 2), key=lambda staff: sum(n.staff == staff for n in notes))
    load = loads[bar, home]
    before = notes[0]
    for note in notes[1:]:
        if note.staff != before.staff:
            load.by_cause[CROSS] += CROSSING
            load.crossings += 1
            load.notes[CROSS] |= {before.id: before, note.id: note}
        before = note


def _candidates(context: Context, bar: int, staff: int, load: _Load) -> Iterable[Candidate]:
    total = sum(load.by_cause.values())
    for cause, own in load.by_cause.items():
        # The causes of one bar come on top of each other; each is told where it stands.
        demand = own + 0.5 * (total - own)
        notes = sorted(load.notes[cause].values(), key=lambda n: (n.onset, n.midi))
        numbers = {"load": demand, "notes": float(len(notes)), "staff": float(staff)}
        facts: dict[str, str] = {}
        if cause == LEDGER and load.far is not None:
            numbers |= {"lines": float(load.most_lines), "places": float(len(load.places))}
            facts = {"far": note_name(load.far.pitch), "side": "above" if load.above else "below"}
        elif cause == CLEFS:
            numbers |= {"clefs": float(len(load.clefs))}
            facts = {
                "clef": _clef_name(load.clefs[0][1]),
                "old": _clef_name(load.clefs[0][0]),
                "lowest": note_name(notes[0].pitch),
                "misread": _misread(notes[0], *load.clefs[0]),
                "first": " and ".join(note_name(n.pitch) for n in notes[:2]),
            }
        elif cause == CROSS:
            numbers |= {"crossings": float(load.crossings)}
            facts = {"from": note_name(notes[0].pitch), "to": note_name(notes[1].pitch)}
        yield Candidate(
            first_bar=bar,
            last_bar=bar,
            hand=_hand(notes),
            note_ids=tuple(n.id for n in notes),
            severity=severity_by_ratio(
                demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
            ),
            family=cause,
            numbers=numbers,
            facts=facts,
        )


def _misread(note: Note, old: Clef, new: Clef) -> str:
    """What the letter and octave of `note` would be if the old clef still held; ``""`` if nothing."""
    before, after = _bottom(old), _bottom(new)
    if before is None or after is None:
        return ""
    octave, step = divmod(note.pitch.diatonic - after + before, 7)
    return f"{'CDEFGAB'[step]}{octave}"


def _hand(notes: Sequence[Note]) -> SpotHand:
    hands: set[Side] = {n.hand for n in notes}
    return next(iter(hands)) if len(hands) == 1 else "both"


def _clef_name(clef: Clef) -> str:
    names = {"G": "treble", "F": "bass", "C": "C"}
    return f"{names.get(clef.sign, clef.sign)} clef"


def _staff(worst: Candidate) -> str:
    return {1: "upper staff", 2: "lower staff"}.get(int(worst.numbers["staff"]), "staff")


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for a place that is slow to read."""
    worst = worst_first[0]
    makers = {LEDGER: _ledger_words, CLEFS: _clef_words, CROSS: _cross_words}
    return makers[worst.family](worst, worst_first, context)


def _evidence(worst: Candidate, *own: Evidence) -> tuple[Evidence, ...]:
    load = decimal(worst.numbers["load"], 1)
    return (
        *own,
        Evidence(
            "reading load of the bar",
            load,
            "places",
            "far ledger notes, changes of clef and staff, added up",
        ),
    )


def _ledger_words(worst: Candidate, members: Sequence[Candidate], context: Context) -> Wording:
    n, far, side = worst.numbers, worst.facts["far"], worst.facts["side"]
    bar = context.bar_names([worst.first_bar])
    everywhere = context.bar_names([c.first_bar for c in members])
    start = context.bar(worst.first_bar).onset
    hand = "both hands" if worst.hand == "both" else f"the {worst.hand} hand"
    landmark = _landmark(int(n["staff"]), side)
    doubt = (
        " So many are hardly ever printed: the file may lack a clef or an ottava line here; look at the page."
        if n["lines"] > BELIEVABLE_LINES
        else ""
    )
    return Wording(
        title=f"Ledger lines: {far}",
        reason=(
            f"{capital(bar)} takes {hand} {number(int(n['lines']))} ledger lines {side} the {_staff(worst)}, to {far}: "
            f"{counted(int(n['notes']), 'note')} of the bar {'lies' if n['notes'] == 1 else 'lie'} three lines out or more.{doubt}"
        ),
        goes_wrong=f"{far} is counted line by line, and the tempo stops for it; or it is read a third off and learned so.",
        try_=(
            f"Find {landmark} first and read {far} and its neighbours by intervals from there; write no letters over the notes.",
            f"Name and touch the notes of {bar} without playing, twice, then play {hand} alone at {tempo_words(context, start, 0.4)}.",
            f"Look only for the shape: in {everywhere} say up, down or same, and by how much, before each note.",
        ),
        done_when=f"{capital(bar)} named aloud in time at {tempo_words(context, start, 0.5)}, then played so three times in a row without a stop.",
        evidence=_evidence(
            worst,
            Evidence("most ledger lines", int(n["lines"])),
            Evidence(f"notes with {FROM_LINES} ledger lines or more", int(n["notes"])),
        ),
    )


def _landmark(staff: int, side: str) -> str:
    """The note from which a far place is found: a C that is read at sight."""
    if (staff == 1) == (side == "below"):
        return "middle C"
    return f"the C two octaves {side} middle C"


def _clef_words(worst: Candidate, members: Sequence[Candidate], context: Context) -> Wording:
    clef, first = worst.facts["clef"], worst.facts["first"]
    verb = "are" if " and " in first else "is"
    notes = "notes" if " and " in first else "note"
    bar = context.bar_names([worst.first_bar])
    start = context.bar(worst.first_bar).onset
    total = sum(int(c.numbers["clefs"]) for c in members)
    before = context.bar_names([max(worst.first_bar - 1, 0)])
    everywhere = context.bar_names([c.first_bar for c in members])
    many = f" There are {number(total)} changes in {everywhere}." if total > 1 else ""
    return Wording(
        title=f"Change to the {clef}" if total == 1 else "Changes of clef",
        reason=f"In {bar} the {_staff(worst)} changes to the {clef}; the first {notes} after it {verb} {first}.{many}",
        goes_wrong=(
            f"The sign is overlooked and {worst.facts['lowest']} is played as {worst.facts['misread']}, which it would be in the "
            f"{worst.facts['old']}; or the hand waits before it."
            if worst.facts["misread"]
            else f"The sign is overlooked, or the hand waits before {first}."
        ),
        try_=(
            f"Colour the clef in {bar} and write in nothing else; say '{clef}' aloud when the eye passes it.",
            f"Jump in at {first} from nowhere, hand in the lap, five times; then from {before} up to it.",
            f"{capital(before)} and {bar} without a stop at {tempo_words(context, start, 0.5)}, eyes one beat ahead.",
        ),
        done_when=f"From {before} through {bar} three times in a row at {tempo_words(context, start, 0.6)} with no wait at the clef.",
        evidence=_evidence(worst, Evidence("changes of clef", total)),
    )


def _cross_words(worst: Candidate, members: Sequence[Candidate], context: Context) -> Wording:
    n = worst.numbers
    bar = context.bar_names([worst.first_bar])
    everywhere = context.bar_names([c.first_bar for c in members])
    start = context.bar(worst.first_bar).onset
    who = "both hands share it" if worst.hand == "both" else f"the {worst.hand} hand plays it"
    return Wording(
        title="A line across both staves",
        reason=(
            f"In {bar} one line changes staff {times(int(n['crossings']))}, "
            f"as from {worst.facts['from']} to {worst.facts['to']}; {who}."
        ),
        goes_wrong=f"The note on the other staff, {worst.facts['to']}, is given to the wrong hand or read in the wrong clef.",
        try_=(
            f"Write the hand over each note of {bar} that stands on the other staff.",
            "Play the line alone with "
            + ("the hands taking turns" if worst.hand == "both" else f"the {worst.hand} hand")
            + f", listening that {worst.facts['from']} and {worst.facts['to']} sound like neighbours.",
            f"Then with everything else at {tempo_words(context, start, 0.5)}.",
        ),
        done_when=f"{capital(everywhere)} three times in a row at {tempo_words(context, start, 0.75)}, the line unbroken where it changes staff.",
        evidence=_evidence(
            worst, Evidence("changes of staff within the line", int(n["crossings"]))
        ),
    )


KIND = Kind("reading", "slow to read", find, describe, most=2, moves=False)
