"""Near repeats: two passages begin alike and go on differently, and memory slips into the other one.

Both places of a fork (see `passagework.analysis.form_forks`) are candidates of one family, so that they
make one spot with two places. The danger grows with how long the two have gone together and with
how alike they still are in the bar where they part: the demand is the notes in common before the parting, times
one half to one by the likeness of that bar. In retrieval, cues shared by several memories call up the wrong
one the more, the more of them are shared (cue overload: Watkins and Watkins, 1975); expert
pianists prepare such switches as cues of their own (Chaffin, Imreh and Crawford, 2002).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.analysis.form_forks import Branch, Fork
from passagework.spots.context import Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import counted, listed, note_name, start_of, tempo_words

ORDINARY = (10.0, 28.0)
"""Demand (notes in common, weighted) that nobody of the level minds: two bars of an easy piece, and
as many of a dense one."""

HARD = (22.0, 75.0)
"""The same where both ways must be practised on purpose: a phrase of an easy piece, and of a dense one."""

SOURCE = "cue overload (Watkins and Watkins, 1975)"


def find(context: Context) -> Iterable[Candidate]:
    """Both places of every fork."""
    for at, fork in enumerate(context.form.forks):
        demand = fork.stem_notes * (0.5 + 0.5 * fork.likeness)
        severity = severity_by_ratio(
            demand, by_level(context.level, *ORDINARY), by_level(context.level, *HARD)
        )
        for here, there in ((fork.earlier, fork.later), (fork.later, fork.earlier)):
            yield _candidate(context, fork, at, here, there, severity)


def _candidate(
    context: Context, fork: Fork, at: int, here: Branch, there: Branch, severity: float
) -> Candidate:
    first = min(max(here.first_bar, here.parting_bar - 1), here.parting_bar)
    by_id = context.piece.by_id
    ids = [i for i in (here.last_common, *here.note_ids) if by_id[i].bar >= first]
    return Candidate(
        first_bar=first,
        last_bar=here.parting_bar,
        hand="both",
        note_ids=tuple(ids),
        severity=severity,
        family=f"fork {at}",
        numbers={
            "bars": float(fork.stem_bars),
            "notes": float(fork.stem_notes),
            "likeness": fork.likeness,
            "parting": float(here.parting_bar),
            "other_parting": float(there.parting_bar),
        },
        facts={
            "here": _names(context, here),
            "there": _names(context, there),
            "last": note_name(by_id[here.last_common].pitch),
        },
    )


def _names(context: Context, branch: Branch) -> str:
    notes = [context.piece.by_id[i] for i in branch.note_ids]
    return listed([note_name(n.pitch) for n in sorted(notes, key=lambda n: -n.midi)[:3]])


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for two passages that part."""
    one = min(worst_first, key=lambda c: c.first_bar)
    n, f = one.numbers, one.facts
    first = context.bar_names([int(n["parting"])])
    second = context.bar_names([int(n["other_parting"])])
    start = start_of(one, context)
    whole = int(n["bars"])
    stem = counted(whole, "bar") if whole else counted(int(n["notes"]), "note")
    return Wording(
        title=f"Two ways on: {first} and {second}",
        reason=(
            f"The music before {first} and {second} is the same for {stem}, "
            f"and then parts: {f['here']} the first time, {f['there']} the second."
        ),
        goes_wrong=(
            "Played by heart, the hands go on as they did the other time: bars are left out, or the music "
            "goes round and does not find its end."
        ),
        try_=(
            f"Put the two bars side by side and say aloud what changes: {f['here']}, {f['there']}.",
            f"From the bar before: into {first}, stop; the same beginning into {second}, stop. By turns, "
            "six times.",
            "Let somebody call one or two while the common bar is being played, and go where it was called.",
            f"Start from memory at {f['here']} and at {f['there']}, without what comes before.",
        ),
        done_when=(
            f"Both ways from memory, called by somebody else in any order, five times without a slip at "
            f"{tempo_words(context, start, 0.8)}."
        ),
        evidence=(
            Evidence("bars that are the same before the parting", whole),
            Evidence("notes that are the same before the parting", int(n["notes"]), "", SOURCE),
            Evidence("likeness of the two bars that part", round(n["likeness"], 2), "0 to 1"),
        ),
    )


KIND = Kind("near-repeats", "near repeats", find, describe, most=2, by_family=True)
