"""A row of notes off by the same number of staff steps: a clef, a ledger line or an ottava misread, or a hand that sits wrong.

Conventions
-----------
* The notes of one staff and hand are walked in order. A wrong note *fits* a number of steps where the key struck is the one that
  the note would be so many lines and spaces higher (lower: negative), with the signature's alteration or the note's own.
* A stretch is found that gathers most fitting notes against those played right (`FEWEST` of them, most of the stretch).
  A single step off is also what a slipping finger does, and needs one more.
* The reason is named where it can be computed: a clef whose change was overlooked is the old clef's reading, octaves apart.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.losses import Losses
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
from passagework.score.piece import Clef, Note, Side, sort_key
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted

SOURCE = "keys struck are the written ones moved by one number of staff steps"

FEWEST, FEWEST_BESIDE = 3, 4
"""Fitting notes of a misreading, and of one by a single step."""
SHARE = 0.6
"""Share of the notes of the stretch that fit."""
RIGHT, LOST = -1.0, -0.3
"""What a note played right, and one that is lost otherwise, takes from a stretch: keys of a misread row may be other notes of
the page by chance, and are then taken for them."""
LOST_SHARE = 0.4
"""Share of the fitting notes that were not struck at all, and of the strokes that are no written note's."""
ILL_TIMED, ILL_TIMED_S = 0.4, 0.08
"""Share of the time to its neighbours, and seconds, by which a stroke must be off to be doubted."""
SURE = 0.9
"""How sure such a note is: the whole row speaks for it."""
MOST_STEPS = 16
"""Staff steps, at most: two octaves and a step cover every clef for another."""
LEDGER = 5
"""Steps from the middle line beyond which a note stands on ledger lines."""

_INTERVALS = ("a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh", "an octave", "a ninth", "a tenth",
              "an eleventh", "a twelfth", "a thirteenth", "a fourteenth", "two octaves")  # fmt: skip


def pick(heard: Heard, losses: Sequence[Losses]) -> list[Pattern]:
    """The losses that a misreading explains; those of several passes together."""
    found: list[Pattern] = []
    for loss in losses:
        if len(loss.missing) < FEWEST:
            continue
        dues = _dues(heard, loss)
        doubtful = _doubtful(heard, loss, dues)
        lines: dict[tuple[int, Side], list[Note]] = defaultdict(list)
        for note in loss.missing:
            if not note.grace:
                lines[note.staff, note.hand].append(note)
        strokes = [*loss.extras, *doubtful.values()]
        for (staff, hand), lost in lines.items():
            if len(lost) >= FEWEST:
                found += _of_line(heard, loss, _Row(staff, hand, lost, doubtful), strokes, dues)
    return over_passes(found)


@dataclass(frozen=True)
class _Row:
    """The notes of one staff and hand that were lost in a pass."""

    staff: int
    hand: Side
    lost: Sequence[Note]
    doubtful: Mapping[str, int]
    """Notes of the pass whose stroke may have been meant for another."""


Dues = tuple[Callable[[float], float], ...]
"""Ways to say when a position was due, in seconds."""


def _dues(heard: Heard, loss: Losses) -> Dues:
    """By the player's own beat, and straight across the bars with losses: where a row is misread, chance matches of its keys may
    have bent the beat.
    """
    beat = heard.beats[loss.run]
    calm = loss.line.without({n.bar for n in loss.missing})
    return (calm,) if beat is None else (beat.seconds, calm)


def _doubtful(heard: Heard, loss: Losses, dues: Dues) -> dict[str, int]:
    """Matched notes whose stroke may have been meant for another: far from their time near a lost note, or in the chord of one (a misread
    key can be one that is written close by).
    """
    bars = {b for n in loss.missing for b in (n.bar - 1, n.bar, n.bar + 1)}
    chords = {(n.hand, n.onset) for n in loss.missing}
    found: dict[str, int] = {}
    for match in loss.line.matches:
        note = heard.note(match)
        if note.bar not in bars or note.grace:
            continue
        place = sort_key(note.onset)
        off = max(abs(heard.stroke(match).onset - due(place)) for due in dues)
        late = off > max(ILL_TIMED * loss.line.gap(place), ILL_TIMED_S)
        if late or (note.hand, note.onset) in chords:
            found[note.id] = match.played
    return found


Offers = dict[int, list[tuple[float, str, int]]]
"""For each number of steps what it would explain: (seconds off, note id, index of the stroke)."""


def _offers(
    heard: Heard,
    loss: Losses,
    notes: Sequence[Note],
    strange: Sequence[int],
    dues: Dues,
) -> Offers:
    """Strokes near the time of each lost note, by the number of steps that would turn the note into them."""
    strokes = sorted(strange, key=lambda k: heard.take.notes[k].onset)
    onsets = [heard.take.notes[k].onset for k in strokes]
    found: Offers = defaultdict(list)
    for note in notes:
        place = sort_key(note.onset)
        within = loss.line.tolerance(place)
        for when in {due(place) for due in dues}:
            for at in range(
                bisect_left(onsets, when - within), bisect_right(onsets, when + within)
            ):
                key = heard.take.notes[strokes[at]].pitch
                for step in _steps(heard, note, key):
                    found[step].append((abs(onsets[at] - when), note.id, strokes[at]))
    return found


def _of_line(
    heard: Heard, loss: Losses, row: _Row, strokes: Sequence[int], dues: Dues
) -> list[Pattern]:
    struck = heard.struck[loss.run]
    lost = {n.id for n in row.lost}
    near = {b for n in row.lost for b in (n.bar - 1, n.bar, n.bar + 1)}
    notes = [
        n
        for bar in sorted(b for b in near if 0 <= b < len(heard.piece.bars))
        for n in heard.piece.notes_of_bar[bar]
        if n.staff == row.staff
        and n.hand == row.hand
        and (n.id in struck or n.id in lost)
        and not n.grace
    ]
    open_ = [n for n in notes if n.id in lost or n.id in row.doubtful]
    doubted = {n.id for n in open_}
    extras = frozenset(loss.extras)
    found: list[Pattern] = []
    told: set[str] = set()
    used: set[int] = set()
    offers = _offers(heard, loss, open_, strokes, dues)
    for step, choices in sorted(offers.items(), key=lambda item: (-len(item[1]), abs(item[0]))):
        fits = _fits(choices, told, used)
        scores = [1.0 if n.id in fits else LOST if n.id in doubted else RIGHT for n in notes]
        for first, last in heaviest_runs(scores):
            stretch = notes[first : last + 1]
            mine = [n for n in stretch if n.id in fits]
            strange = sum(fits[n.id] in extras for n in mine)
            if _enough(step, len(mine), len(stretch), sum(n.id in lost for n in mine), strange):
                found.append(
                    Pattern(
                        f"{row.staff}:{step}",
                        tuple(Slip(loss.run, n, fits[n.id], n.bar, n.hand, SURE) for n in mine),
                        len(stretch),
                    )
                )
                told.update(n.id for n in mine)
                used.update(fits[n.id] for n in mine)
    return found


def _fits(
    choices: Sequence[tuple[float, str, int]], told: set[str], used: set[int]
) -> dict[str, int]:
    """Each note with the stroke nearest to its time, each stroke once."""
    found: dict[str, int] = {}
    taken = set(used)
    for _, ident, stroke in sorted(choices):
        if ident not in told and ident not in found and stroke not in taken:
            found[ident] = stroke
            taken.add(stroke)
    return found


def _enough(step: int, fitting: int, of: int, lost: int, strange: int) -> bool:
    """Whether so many fitting notes make a misreading of a stretch of `of` notes; `lost` of them were not struck at all, and
    `strange` of the strokes are no written note's.
    """
    fewest = FEWEST_BESIDE if abs(step) == 1 else FEWEST
    least = max(2, LOST_SHARE * fitting)
    return fitting >= fewest and fitting >= SHARE * of and min(lost, strange) >= least


def _steps(heard: Heard, note: Note, key: int) -> list[int]:
    """Numbers of staff steps that turn the note into the key struck."""
    middle = round((key - note.midi) * 7 / 12)
    found = []
    for step in range(middle - 2, middle + 3):
        if step == 0 or abs(step) > MOST_STEPS:
            continue
        plain = moved(heard.piece, note, step)
        own = replace(plain, alter=note.pitch.alter)
        if plain.midi == key or (note.accidental and own.midi == key):
            found.append(step)
    return found


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
        fifths = heard.piece.bars[first.note.bar].fifths
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
            f"{'high' if step > 0 else 'low'}{how_often(len(pattern.runs), passes)}, from {key_name(struck, fifths, first.note.pitch)} "
            f"instead of {key_name(first.note.pitch, fifths, struck)} on.{cause}",
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
