"""The forks of near repeats side by side: the same beginning, then one way and the other, by turns."""

from __future__ import annotations

import copy

from lxml import etree

from passagework.analysis.form_forks import Branch, Fork
from passagework.exercises.edit.tempo_mark import without_tempo
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, exercise, hard_at
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.spots.words_of import counted, listed, note_name

NAME, TITLE = "forks", "Both ways, one after the other"

BEFORE, AFTER = 1, 1
"""Bars of the common beginning, and bars after the parting, that are played with it."""


def applies(passage: Passage, study: Study) -> float:
    """Only where the passage holds the parting of two near repeats."""
    fork = find_fork(passage, study)
    if fork is None:
        return 0.0
    return 0.95 if passage.spot and passage.spot.kind == "near-repeats" else 0.4


def find_fork(passage: Passage, study: Study) -> Fork | None:
    """The fork that parts in the passage; that of the spot before others, then the longest."""
    concerned = set(passage.note_ids)
    rows = [
        f
        for f in study.context.form.forks
        if f.earlier.parting_bar in passage.bars or f.later.parting_bar in passage.bars
    ]
    return max(
        rows,
        key=lambda f: (
            len(concerned.intersection((*f.earlier.note_ids, *f.later.note_ids))),
            f.stem_notes,
        ),
        default=None,
    )


def span_of(branch: Branch, study: Study) -> tuple[int, int]:
    """Bars that show one way: the end of the common beginning and where it leads."""
    first = max(branch.parting_bar - BEFORE, min(branch.first_bar, branch.parting_bar))
    return first, min(branch.parting_bar + AFTER, len(study.piece.bars) - 1)


def side_by_side(one: Notation, two: Notation) -> Notation:
    """The bars of `two` after those of `one`, a double line between them; ids as they are.

    Both must be cut from one notation, of bars that they do not share.
    """
    work = one.copy()
    last = work.measures[-1]
    for line in last.findall("barline"):
        if line.get("location", "right") == "right":
            last.remove(line)
    line = etree.SubElement(last, "barline", location="right")
    etree.SubElement(line, "bar-style").text = "light-light"
    before, after = read_piece(one), read_piece(two)
    staves = {clef.staff: clef for clef in before.clefs}
    taken = {str(e.get("id")) for e in work.part.iter() if e.get("id")}
    for index, measure in enumerate(two.measures):
        new = copy.deepcopy(measure)
        if index == 0:
            _only_changes(new, same_time=before.bars[-1].time == after.bars[0].time,
                          same_key=before.bars[-1].fifths == after.bars[0].fifths,
                          clefs={s: (c.sign, c.line, c.octave_change) for s, c in staves.items()})  # fmt: skip
        for (
            element
        ) in new.iter():  # what each cut had to begin anew (a pedal line) has one name in both
            if element.get("id") in taken:
                element.set("id", f"{element.get('id')}-2")
        work.part.append(new)
    return work


def _only_changes(
    measure: etree._Element,
    *,
    same_time: bool,
    same_key: bool,
    clefs: dict[int, tuple[str, int, int]],
) -> None:
    """Take what is in force already off the head of a bar."""
    head = measure.find("attributes")
    if head is None:
        return
    for node in list(head):
        number = int(node.get("number") or 1)
        clef = (
            (node.findtext("sign") or "").strip(),
            int(node.findtext("line") or 0),
            int(node.findtext("clef-octave-change") or 0),
        )
        idle = node.tag in {"divisions", "staves", "part-symbol"}
        idle = idle or (node.tag == "time" and same_time) or (node.tag == "key" and same_key)
        if idle or (node.tag == "clef" and clefs.get(number) == clef):
            head.remove(node)
    if len(head) == 0:
        measure.remove(head)


def build(passage: Passage, study: Study) -> Exercise:
    """Each way by itself, then both in a row, slowly and quicker, then as written."""
    fork = find_fork(passage, study)
    if fork is None:
        raise DoesNotFitError("nothing here parts from a passage like it")
    spans = [span_of(b, study) for b in (fork.earlier, fork.later)]
    if spans[0][1] >= spans[1][0]:
        spans[0] = spans[0][0], max(spans[1][0] - 1, fork.earlier.parting_bar)
    if spans[0][1] >= spans[1][0]:
        raise DoesNotFitError("the two ways share their bars")
    cuts = [without_tempo(study.cut(*span)) for span in spans]
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    names = [_goes(b, study) for b in (fork.earlier, fork.later)]
    labels = [study.context.bar_names([b.parting_bar]) for b in (fork.earlier, fork.later)]
    both = side_by_side(*cuts)
    steps = [
        Step(
            title=f"The way of {label}",
            instruction=f"Into {label} and stop; say aloud what makes this way: {name}.",
            notation=cut,
            tempo=slow,
            done_when=f"Three times in a row at {tempo_name(slow)}, the name said before the note is struck.",
            repeat=3,
        )
        for label, name, cut in zip(labels, names, cuts, strict=True)
    ]
    steps += [
        Step(
            title=f"One after the other at {tempo_name(tempo)}",
            instruction=f"First {names[0]}, then {names[1]}; stop for a breath at the double line and say which way comes next.",
            notation=both,
            tempo=tempo,
            done_when=done,
            repeat=4,
        )
        for tempo, done in (
            (slow, f"Four times round at {tempo_name(slow)} without taking the wrong way."),
            (middle, f"Toss a coin before each start, heads the first way, tails the second: six tosses, six right ways at {tempo_name(middle)}, from memory."),
        )
    ]  # fmt: skip
    stem = counted(fork.stem_bars, "bar") if fork.stem_bars else counted(fork.stem_notes, "note")
    why = (
        f"{hard_at(passage, study)}: the music before {labels[0]} and before {labels[1]} is the same for {stem}, then it goes {names[0]} or {names[1]}. "
        "Apart, each of them sounds right, and memory takes either; side by side the difference itself is learned."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _goes(branch: Branch, study: Study) -> str:
    """Where a branch goes: ``"to C5 and E4"``."""
    notes = sorted((study.piece.by_id[i] for i in branch.note_ids), key=lambda n: -n.midi)
    names = list(dict.fromkeys(note_name(n.pitch) for n in notes))[:3]
    return f"to {listed(names)}"


TECHNIQUE = Technique(NAME, TITLE, applies, build)
