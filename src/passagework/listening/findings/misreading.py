"""A row of notes off by the same number of staff steps: a clef, a ledger line or an ottava misread, or a hand that sits wrong.

Conventions
-----------
* The notes of one staff and hand are walked in order. A wrong note *fits* a number of steps where the key struck is the one that
  the note would be so many lines and spaces higher (lower: negative), with the signature's alteration or the note's own.
* A stretch is found that gathers most fitting notes against those played right (`FEWEST` of them, two thirds of the stretch).
  A single step off is also what a slipping finger does, and needs one more.
* The reason is named where it can be computed: a clef whose change was overlooked is the old clef's reading, octaves apart.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.patterns import Pattern, heaviest_runs, over_passes
from passagework.listening.findings.slip_words import (
    how_often,
    key_name,
    passes_over,
    spelled_like,
    the_hand,
)
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.listening.misreadings import moved
from passagework.score.piece import Clef, Note
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted

SOURCE = "keys struck are the written ones moved by one number of staff steps"

FEWEST, FEWEST_BESIDE = 3, 4
"""Fitting notes of a misreading, and of one by a single step."""
SHARE = 2 / 3
"""Share of the notes of the stretch that fit."""
MOST_STEPS = 16
"""Staff steps, at most: two octaves and a step cover every clef for another."""
LEDGER = 5
"""Steps from the middle line beyond which a note stands on ledger lines."""

_INTERVALS = ("a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh", "an octave", "a ninth", "a tenth",
              "an eleventh", "a twelfth", "a thirteenth", "a fourteenth", "two octaves")  # fmt: skip


def pick(heard: Heard, slips: Sequence[Slip]) -> list[Pattern]:
    """The slips that a misreading explains; those of several passes together."""
    rows: dict[tuple[int, int, str], dict[str, Slip]] = defaultdict(dict)
    for slip in slips:
        if slip.note is not None and slip.played is not None:
            rows[slip.run, slip.note.staff, slip.note.hand][slip.note.id] = slip
    found: list[Pattern] = []
    for (run, staff, hand), wrong in rows.items():
        if len(wrong) >= FEWEST:
            found += _of_line(heard, run, staff, hand, wrong)
    return over_passes(found)


def _of_line(
    heard: Heard, run: int, staff: int, hand: str, wrong: dict[str, Slip]
) -> list[Pattern]:
    steps = {ident: _steps(heard, slip) for ident, slip in wrong.items()}
    votes = Counter(s for row in steps.values() for s in row)
    struck = heard.struck[run]
    bars = {s.bar for s in wrong.values()}
    near = sorted(
        {b for bar in bars for b in (bar - 1, bar, bar + 1) if 0 <= b < len(heard.piece.bars)}
    )
    notes = [
        n
        for bar in near
        for n in heard.piece.notes_of_bar[bar]
        if n.staff == staff and n.hand == hand and (n.id in struck or n.id in wrong) and not n.grace
    ]
    found: list[Pattern] = []
    told: set[str] = set()
    for step, count in sorted(votes.items(), key=lambda item: (-item[1], abs(item[0]))):
        fewest = FEWEST_BESIDE if abs(step) == 1 else FEWEST
        if count < fewest:
            continue
        fits = {i for i, row in steps.items() if step in row and i not in told}
        for first, last in heaviest_runs([1.0 if n.id in fits else -1.0 for n in notes]):
            stretch = notes[first : last + 1]
            mine = [n for n in stretch if n.id in fits]
            if len(mine) >= fewest and len(mine) >= SHARE * len(stretch):
                slips = tuple(wrong[n.id] for n in mine)
                found.append(Pattern(f"{staff}:{step}", slips, len(stretch)))
                told.update(n.id for n in mine)
    return found


def _steps(heard: Heard, slip: Slip) -> frozenset[int]:
    """Numbers of staff steps that turn the note into the key struck."""
    assert slip.note is not None
    assert slip.played is not None
    note, key = slip.note, heard.take.notes[slip.played].pitch
    off = key - note.midi
    found = set()
    for step in range(-MOST_STEPS, MOST_STEPS + 1):
        if step and abs(off - 12 * step / 7) <= 3:
            plain = moved(heard.piece, note, step)
            own = replace(plain, alter=note.pitch.alter)
            if plain.midi == key or (note.accidental and own.midi == key):
                found.add(step)
    return frozenset(found)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each stretch that was misread."""
    for pattern in heard.slips.misread:
        staff, step = (int(x) for x in pattern.key.split(":"))
        first = min(
            (s for s in pattern.slips if s.note),
            key=lambda s: (s.note.onset, s.note.midi) if s.note else (0, 0),
        )
        if first.note is None or first.played is None:
            continue
        bars = heard.context.bar_names(range(pattern.first_bar, pattern.last_bar + 1))
        passes = passes_over(heard, pattern.first_bar, pattern.last_bar, pattern.hand)
        count = len(pattern.slips)
        struck = spelled_like(heard, first.note, heard.take.notes[first.played].pitch)
        cause, advice = _cause(heard, pattern, staff, step)
        yield Finding(
            "misreading",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("notes off by the same distance", count, "", SOURCE),
                Evidence("notes in that stretch", pattern.of),
                Evidence("distance", step, "staff steps"),
                Evidence("passes with it", len(pattern.runs)),
            ),
            f"{capital(counted(count, 'note'))} of {the_hand(pattern.hand)} in {bars} {_interval(step)} too "
            f"{'high' if step > 0 else 'low'}{how_often(len(pattern.runs), passes)}, from {key_name(struck, first.note.pitch)} "
            f"instead of {key_name(first.note.pitch, struck)} on.{cause}",
            advice,
            min(0.55 + 0.08 * count, 0.95) * pattern.sure,
            min(0.5 + 0.04 * count + 0.1 * (len(pattern.runs) - 1), 0.95),
            pattern.runs,
            pattern.played,
            ("reading", "leap") if abs(step) != 7 else ("reading", "octaves"),
        )


def _interval(step: int) -> str:
    size = abs(step)
    return _INTERVALS[size - 1] if size <= len(_INTERVALS) else f"{size} steps"


def _cause(heard: Heard, pattern: Pattern, staff: int, step: int) -> tuple[str, str]:
    """Where it comes from, as far as the page tells, and what to do."""
    notes = [s.note for s in pattern.slips if s.note is not None]
    first = min(notes, key=lambda n: n.onset)
    bar = heard.context.bar_names([first.bar])
    clefs = [c for c in heard.piece.clefs if c.staff == staff]
    here = [c for c in clefs if c.onset <= first.onset]
    if len(here) > 1 and (_middle(here[-2]) - _middle(here[-1]) - step) % 7 == 0:
        return (
            f" The clef changes at {heard.context.bar_names([here[-1].bar])}, and this is how the clef before it reads.",
            f"Say the new clef's lines aloud at {heard.context.bar_names([here[-1].bar])}, name the first notes after it, then play.",
        )
    other = [c for c in heard.piece.clefs if c.staff != staff and c.onset <= first.onset]
    if here and other and _middle(here[-1]) != _middle(other[-1]):
        read_so = (_middle(other[-1]) - _middle(here[-1]) - step) % 7 == 0
        if read_so and step % 7:
            return (
                " This is how the other staff's clef reads.",
                f"Look at the clef of this staff first, name the notes of {bar} aloud, then play.",
            )
    if step % 7 == 0:
        shifted = any(n.written_octave_shift for n in notes)
        return (
            " An ottava line stands there." if shifted else "",
            f"Find the first note of {bar} on the keyboard from middle C, in silence, then play from there.",
        )
    if here and sum(_on_ledger(n, here[-1]) for n in notes) > len(notes) / 2:
        return (
            " Most of them stand on ledger lines.",
            f"Count the ledger lines of the first note of {bar} from the staff outwards, write its name in, then play.",
        )
    return (
        " Their distances from each other are right, so the hand sat in the wrong place.",
        f"Name the first note of {bar}, place the hand on it in silence, look, then play.",
    )


def _middle(clef: Clef) -> int:
    """Diatonic place of the staff's middle line, as it sounds."""
    sign = {"G": 32, "F": 24, "C": 28}.get(clef.sign, 32)
    return sign + 2 * (3 - clef.line) + 7 * clef.octave_change


def _on_ledger(note: Note, clef: Clef) -> bool:
    written = note.pitch.diatonic - 7 * note.written_octave_shift
    return abs(written - _middle(clef)) > LEDGER


KIND = FindingKind("misreading", "a row of notes misread", find)
