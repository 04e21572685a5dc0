"""Any MusicXML tree to the normal form of `passagework.score.notation`, repairing as it goes."""

from __future__ import annotations

import re
from typing import cast

from lxml import etree

from passagework.score.durations import exact_durations
from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_BARS, MAX_NOTES, MAX_STAVES
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.numbers import number, whole
from passagework.score.parts import (
    choose_parts,
    partwise,
    place_of_staff,
    place_of_voice,
    single_part,
)
from passagework.score.piece import STEP_SEMITONES, Pitch
from passagework.score.warnings import Warnings

_WITH_ID = {"note": "n", "measure": "m", "direction": "d"}
"""Elements that get an id, and the letter it begins with."""

_KEEPS_ID = frozenset({"part", "score-part", "instrument", "score-instrument", "midi-device",
                       "midi-instrument", "player"})  # fmt: skip
"""Elements whose id is a reference within the document, or is referred to."""

_PLAIN_ALTERS = frozenset({None, "1", "-1", "2", "-2"})
_PLAIN_OCTAVES = frozenset("012345678")

_STAVES = frozenset(str(staff) for staff in range(1, MAX_STAVES + 1))

_MANY = frozenset({"dot", "tie", "beam", "notations", "lyric", "play", "listen"})
"""Children that a note can have more than once."""

LOWEST, HIGHEST = 0, 9
"""Octaves of MusicXML."""

HIGHEST_MIDI = 127

MOST_ALTERED = 3
"""Semitones of the largest alteration that is printed (a triple sharp)."""

LONGEST_VOICE = 16
"""Characters of a voice's name that are kept."""

_XML_NAME = re.compile(r"^[A-Za-z_][\w.-]{0,63}$", re.ASCII)


def normalise(root: Element, warnings: Warnings | None = None) -> Notation:
    """Bring `root` into normal form, in place. Raises `ScoreError` where there is no music to read."""
    warnings = warnings or Warnings()
    root = partwise(root)
    chosen = choose_parts(root, warnings)
    _check_size(chosen)
    for part in chosen:
        _repair_notes(part, warnings)
    if all(next(part.iter("pitch"), None) is None for part in chosen):
        raise ScoreError("the score has no notes in it", do="export it again with its parts")
    divisions = exact_durations(chosen, warnings)
    single_part(root, chosen, divisions)
    part = chosen[0]
    _give_voices_and_staves(part, warnings)
    _give_ids(root, part, warnings)
    return Notation(root, warnings.sentences())


def _check_size(parts: list[Element]) -> None:
    notes = sum(1 for part in parts for _ in part.iter("note"))
    bars = max(len(part.findall("measure")) for part in parts)
    if notes > MAX_NOTES or bars > MAX_BARS:
        raise ScoreError(
            f"the score has {notes:,} notes in {bars:,} bars, more than can be read at once",
            do=f"export one movement at a time (at most {MAX_NOTES:,} notes)",
        )


def _repair_notes(part: Element, warnings: Warnings) -> None:
    """Make every note a pitched note or a rest with believable numbers."""
    good: dict[tuple[str | None, ...], bool] = {}
    for measure in part.iterchildren("measure"):
        bar = measure.get("number", "")
        for note in measure.findall("note"):
            _single(note)
            pitch = note.find("pitch")
            if pitch is None:
                if note.find("rest") is None:
                    _make_rest(note)
                    warnings.add("a note without a pitch is read as a rest", bar)
                continue
            key = tuple([part for child in pitch for part in (child.tag, child.text)])
            if good.get(key):
                continue
            plain, fits = _is_plain(pitch), _repair_pitch(pitch, bar, warnings)
            good[key] = plain and fits
            if not fits:
                _make_rest(note)
                warnings.add("a pitch that is none is read as a rest", bar)


def _single(note: Element) -> None:
    """Leave one of each child that a note has once, and one of pitch, unpitched and rest."""
    seen: set[str] = set()
    for child in list(note):
        tag = str(child.tag)
        kind = "pitch" if tag in {"rest", "unpitched"} else tag
        if kind in seen and kind not in _MANY:
            note.remove(child)
        seen.add(kind)


def _is_plain(pitch: Element) -> bool:
    """Whether a pitch is written as most are, so that its like need not be looked at again."""
    alter = pitch.findtext("alter")
    order = ["step", "octave"] if alter is None else ["step", "alter", "octave"]
    return (
        [child.tag for child in pitch] == order
        and alter in _PLAIN_ALTERS
        and pitch.findtext("step") in STEP_SEMITONES
        and pitch.findtext("octave") in _PLAIN_OCTAVES
    )


def _repair_pitch(pitch: Element, bar: str, warnings: Warnings) -> bool:
    """Whether the pitch can be used, after its alteration was made a whole number of semitones."""
    step = (pitch.findtext("step") or "").strip()
    octave = whole(pitch.findtext("octave"))
    if step not in STEP_SEMITONES or octave is None or not LOWEST <= octave <= HIGHEST:
        return False
    alter = _alteration(pitch.find("alter"), bar, warnings)
    if not 0 <= Pitch(step, alter, octave).midi <= HIGHEST_MIDI:
        return False
    for child in list(pitch):
        pitch.remove(child)
    etree.SubElement(pitch, "step").text = step
    if alter:
        etree.SubElement(pitch, "alter").text = str(alter)
    etree.SubElement(pitch, "octave").text = str(octave)
    return True


def _alteration(node: Element | None, bar: str, warnings: Warnings) -> int:
    """Semitones of an ``alter`` element, a whole number of them."""
    if node is None:
        return 0
    value = number(node.text)
    if value is None or abs(value) > MOST_ALTERED:
        warnings.add("an alteration is not a number of semitones; read as natural", bar)
        return 0
    if value.denominator != 1:
        warnings.add("a quarter tone is read as the nearest semitone", bar)
    return round(value)


def _make_rest(note: Element) -> None:
    """Turn what cannot be sounded into a rest; in a chord or as a grace note it goes altogether."""
    parent = note.getparent()
    assert parent is not None
    if note.find("chord") is not None or note.find("grace") is not None:
        parent.remove(note)
        return
    for tag in ("pitch", "unpitched", "tie", "notations", "stem", "notehead", "accidental", "beam"):
        for node in note.findall(tag):
            note.remove(node)
    note.insert(0, etree.Element("rest"))
    following = note.getnext()
    if following is not None and following.tag == "note":
        chord = following.find("chord")
        if chord is not None:
            following.remove(chord)
            parent.remove(note)


def _give_voices_and_staves(part: Element, warnings: Warnings) -> None:
    """Every note gets a voice and a staff of the part, and none hangs on a chord that is not there."""
    declared = [whole(node.text) for node in part.iter("staves")]
    staves = max([1, *(n for n in declared if n is not None and n <= MAX_STAVES)])
    for measure in part.iterchildren("measure"):
        bar = measure.get("number", "")
        last_staff, last_voice, last_grace = "1", "1", False
        for note in measure.iterchildren("note"):
            kids = {child.tag: child for child in note}
            chord = "chord" in kids
            grace = "grace" in kids
            if chord and grace and not last_grace:
                note.remove(kids["chord"])
                chord = False
            last_staff = _staff(
                note, kids.get("staff"), last_staff if chord else "1", bar, warnings
            )
            staves = max(staves, int(last_staff))
            own = last_voice if chord else str(4 * (int(last_staff) - 1) + 1)
            last_voice, missing = _voice(note, kids.get("voice"), own)
            if missing and staves > 1:
                warnings.add("a voice is missing and taken from the staff", bar)
            last_grace = grace
    _declare_staves(part, staves)


def _staff(note: Element, node: Element | None, default: str, bar: str, warnings: Warnings) -> str:
    """Make sure that `note` is on a staff; gives its number as text."""
    if node is None:
        node = etree.Element("staff")
        note.insert(place_of_staff(note), node)
        node.text = default
        return default
    if node.text in _STAVES:
        return node.text
    staff = whole(node.text)
    if staff is None or not 1 <= staff <= MAX_STAVES:
        warnings.add("a staff that is none is read as the upper one", bar)
        staff = 1
    node.text = str(staff)
    return node.text


def _voice(note: Element, node: Element | None, default: str) -> tuple[str, bool]:
    """Make sure that `note` has a voice; gives its name and whether it was missing."""
    text = "" if node is None else (node.text or "").strip()[:LONGEST_VOICE]
    missing = not text
    if node is None:
        node = etree.Element("voice")
        note.insert(place_of_voice(note), node)
    node.text = text or default
    return node.text, missing


def _declare_staves(part: Element, staves: int) -> None:
    first = part.find("measure/attributes")
    if first is None:
        return
    node = first.find("staves")
    if node is None and staves > 1:
        node = etree.Element("staves")
        place = sum(1 for c in first if c.tag in {"footnote", "level", "divisions", "key", "time"})
        first.insert(place, node)
    if node is not None:
        node.text = str(staves)


def _give_ids(root: Element, part: Element, warnings: Warnings) -> None:
    """Unique ids: those of the file are kept, and the missing ones are counted from the start."""
    taken: set[str] = set()
    for element in cast("list[Element]", root.xpath("//*[@id]")):
        own = element.get("id", "")
        if element.tag in _WITH_ID:
            if own in taken:
                warnings.add("an id is used twice; the second note got a new one")
            if own not in taken and _XML_NAME.match(own):
                taken.add(own)
                continue
        if element.tag not in _KEEPS_ID:
            del element.attrib["id"]
    for tag, prefix in _WITH_ID.items():
        for count, element in enumerate(part.iter(tag), start=1):
            if element.get("id") is None:
                own = f"{prefix}{count}"
                while own in taken:
                    own += "x"
                taken.add(own)
                element.set("id", own)
