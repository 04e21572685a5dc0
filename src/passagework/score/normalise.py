"""Any MusicXML tree to the normal form of `passagework.score.notation`, repairing as it goes."""

from __future__ import annotations

import re

from lxml import etree

from passagework.score.durations import exact_durations
from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_BARS, MAX_NOTES
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.numbers import number
from passagework.score.parts import (
    MOST_STAVES,
    _place_of_staff,
    _place_of_voice,
    choose_parts,
    partwise,
    single_part,
)
from passagework.score.warnings import Warnings

_XML_NAME = re.compile(r"^[A-Za-z_][\w.-]{0,63}$", re.ASCII)


def normalise(root: Element, warnings: Warnings | None = None) -> Notation:
    """Bring `root` into normal form, in place. Raises `ScoreError` where there is no music to read."""
    warnings = warnings or Warnings()
    root = partwise(root)
    chosen = choose_parts(root, warnings)
    _check_size(chosen)
    for part in chosen:
        _repair_notes(part, warnings)
    divisions = exact_durations(chosen, warnings)
    single_part(root, chosen, divisions)
    part = chosen[0]
    _give_voices_and_staves(part, warnings)
    _give_ids(root, part, warnings)
    return Notation(root, warnings.sentences())


def _check_size(parts: list[Element]) -> None:
    notes = sum(1 for part in parts for _ in part.iter("note"))
    bars = max(len(part.findall("measure")) for part in parts)
    if notes == 0:
        raise ScoreError("the score has no notes in it", do="export it again with its parts")
    if notes > MAX_NOTES or bars > MAX_BARS:
        raise ScoreError(
            f"the score has {notes:,} notes in {bars:,} bars, more than can be read at once",
            do=f"export one movement at a time (at most {MAX_NOTES:,} notes)",
        )


def _repair_notes(part: Element, warnings: Warnings) -> None:
    """Make every note a pitched note or a rest with believable numbers."""
    for measure in part.findall("measure"):
        bar = measure.get("number", "")
        for note in measure.findall("note"):
            pitch = note.find("pitch")
            if pitch is None:
                if note.find("rest") is None:
                    _make_rest(note)
                    warnings.add("a note without a pitch is read as a rest", bar)
            elif not _repair_pitch(pitch, bar, warnings):
                _make_rest(note)
                warnings.add("a pitch that is none is read as a rest", bar)


def _repair_pitch(pitch: Element, bar: str, warnings: Warnings) -> bool:
    """Whether the pitch can be used, after its alteration was made a whole number of semitones."""
    step = (pitch.findtext("step") or "").strip()
    octave = number(pitch.findtext("octave"))
    if step not in set("ABCDEFG") or octave is None or octave.denominator != 1:
        return False
    if not 0 <= octave <= 9:
        return False
    for child, text in (("step", step), ("octave", str(octave))):
        node = pitch.find(child)
        assert node is not None
        node.text = text
    alter = pitch.find("alter")
    if alter is None:
        return True
    value = number(alter.text)
    if value is None or abs(value) > 3:
        warnings.add("an alteration is not a number of semitones; read as natural", bar)
        pitch.remove(alter)
    elif value.denominator != 1:
        warnings.add("a quarter tone is read as the nearest semitone", bar)
        alter.text = str(round(value))
    elif value == 0:
        pitch.remove(alter)
    else:
        alter.text = str(value)
    return True


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
    """Every note gets a voice and a staff of the part."""
    staves = 1
    declared = [number(node.text) for node in part.iter("staves")]
    staves = max([1, *(int(v) for v in declared if v is not None and v <= MOST_STAVES)])
    for measure in part.findall("measure"):
        bar = measure.get("number", "")
        last_staff, last_voice = "1", "1"
        for note in measure.findall("note"):
            in_chord = note.find("chord") is not None
            staff = note.find("staff")
            if staff is None or not 1 <= (number(staff.text) or 0) <= MOST_STAVES:
                if staff is None:
                    staff = etree.Element("staff")
                    note.insert(_place_of_staff(note), staff)
                else:
                    warnings.add("a staff that is none is read as the upper one", bar)
                staff.text = last_staff if in_chord else "1"
            staff.text = str(int(number(staff.text) or 1))
            staves = max(staves, int(staff.text))
            voice = note.find("voice")
            if voice is None or not (voice.text or "").strip():
                if voice is None:
                    voice = etree.Element("voice")
                    note.insert(_place_of_voice(note), voice)
                    if staves > 1:
                        warnings.add("a voice is missing and taken from the staff", bar)
                voice.text = last_voice if in_chord else str(4 * (int(staff.text) - 1) + 1)
            voice.text = (voice.text or "1").strip()[:16]
            last_staff, last_voice = staff.text, voice.text
    _declare_staves(part, staves)


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
    for element in root.iter("note", "measure", "direction"):
        own = element.get("id")
        if own is not None:
            if not _XML_NAME.match(own) or own in taken:
                if own in taken:
                    warnings.add("an id is used twice; the second note got a new one")
                del element.attrib["id"]
            else:
                taken.add(own)
    for element in part.iter():
        if element.tag not in {"note", "measure", "direction", "part", "instrument"}:
            element.attrib.pop("id", None)
    for tag, prefix in (("note", "n"), ("measure", "m"), ("direction", "d")):
        count = 0
        for element in part.iter(tag):
            count += 1
            if element.get("id") is None:
                own = f"{prefix}{count}"
                while own in taken:
                    own = f"{own}x"
                taken.add(own)
                element.set("id", own)
