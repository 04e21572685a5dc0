"""Write a laid-out demo piece as MusicXML 4.0 (partwise, one part, two staves)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import count

from lxml import etree

from demo_music.shorthand import Bar, Event, Score

DIVISIONS = 12  # a sixteenth is 3 and a triplet eighth 4: the least number that holds both
DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)
ARTICULATIONS = {"st": "staccato", "ten": "tenuto", "acc": "accent", "port": "detached-legato"}
ORNAMENTS = {"tr": "trill-mark", "turn": "turn", "mor": "mordent", "imor": "inverted-mordent"}
CLEFS = {"G": ("G", "2"), "F": ("F", "4")}
GRACE_SLUR = 6  # the voices use the numbers 1 to 4


def add(parent: etree._Element, tag: str, text: object = None, **attributes: str) -> etree._Element:
    """Append an element; underscores in attribute names stand for hyphens."""
    child = etree.SubElement(parent, tag, {k.replace("_", "-"): v for k, v in attributes.items()})
    if text is not None:
        child.text = str(text)
    return child


def write(score: Score) -> bytes:
    """The whole document."""
    root = etree.Element("score-partwise", version="4.0")
    _head(root, score.header)
    part = add(root, "part", id="P1")
    ids = (f"n{i}" for i in count(1))
    for index, bar in enumerate(score.bars):
        number = index if "implicit" in score.bars[0].marks else index + 1
        _measure(part, score, bar, number, index == 0, ids)
    etree.indent(root, " ")
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE) + b"\n"


def _head(root: etree._Element, header: dict[str, str]) -> None:
    add(add(root, "work"), "work-title", header["title"])
    identification = add(root, "identification")
    add(identification, "creator", header["composer"], type="composer")
    add(identification, "rights", header["rights"])
    encoding = add(identification, "encoding")
    add(encoding, "software", "Passagework, tools/compose_demo.py")
    for element in ("accidental", "beam", "stem"):
        add(encoding, "supports", element=element, type="yes")
    part_list = add(root, "part-list")
    part = add(part_list, "score-part", id="P1")
    add(part, "part-name", "Piano", print_object="no")
    add(add(part, "score-instrument", id="P1-I1"), "instrument-name", "Piano")
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", 1)


def _measure(
    part: etree._Element, score: Score, bar: Bar, number: int, first: bool, ids: Iterator[str]
) -> None:
    measure = add(part, "measure", number=str(number))
    if "implicit" in bar.marks:
        measure.set("implicit", "yes")
    _left_barline(measure, bar)
    if first:
        _attributes(measure, score.header)
    elif bar.mark("key"):
        _key(add(measure, "attributes"), bar.mark("key"))
    for i, voice in enumerate(sorted(bar.voices)):
        if i:
            add(add(measure, "backup"), "duration", _ticks(bar.length))
        _voice(measure, voice, bar.voices[voice], ids)
    _right_barline(measure, bar)


def _attributes(measure: etree._Element, header: dict[str, str]) -> None:
    attributes = add(measure, "attributes")
    add(attributes, "divisions", DIVISIONS)
    _key(attributes, header["fifths"])
    time = add(attributes, "time")
    beats, unit = header["time"].split("/")
    add(time, "beats", beats)
    add(time, "beat-type", unit)
    add(attributes, "staves", 2)
    for staff, clef in ((1, "G"), (2, header.get("left-clef", "F"))):
        _clef(attributes, staff, clef)


def _key(attributes: etree._Element, fifths: str | None) -> None:
    key = add(attributes, "key")
    add(key, "fifths", fifths)
    add(key, "mode", "major")  # all the demo pieces change from major to major


def _clef(attributes: etree._Element, staff: int, name: str) -> None:
    clef = add(attributes, "clef", number=str(staff))
    sign, line = CLEFS[name]
    add(clef, "sign", sign)
    add(clef, "line", line)


def _left_barline(measure: etree._Element, bar: Bar) -> None:
    ending = bar.mark("ending")
    if "|:" not in bar.marks and not ending:
        return
    barline = add(measure, "barline", location="left")
    if "|:" in bar.marks:
        add(barline, "bar-style", "heavy-light")
    if ending:
        add(barline, "ending", f"{ending}.", number=ending, type="start")
    if "|:" in bar.marks:
        add(barline, "repeat", direction="forward")


def _right_barline(measure: etree._Element, bar: Bar) -> None:
    ending = bar.mark("ending-stop")
    style = (
        "light-heavy"
        if {":|", "final"} & set(bar.marks)
        else "light-light"
        if "double" in bar.marks
        else ""
    )
    if not style and not ending:
        return
    barline = add(measure, "barline", location="right")
    if style:
        add(barline, "bar-style", style)
    if ending:
        # The last ending stays open: the music goes on.
        add(barline, "ending", number=ending, type="stop" if ":|" in bar.marks else "discontinue")
    if ":|" in bar.marks:
        add(barline, "repeat", direction="backward")


def _ticks(length: Fraction) -> int:
    ticks = length * DIVISIONS
    if ticks.denominator != 1:
        raise ValueError(f"a length of {length} quarters does not fit {DIVISIONS} divisions")
    return int(ticks)


def _voice(measure: etree._Element, voice: int, events: list[Event], ids: Iterator[str]) -> None:
    graces: list[Event] = []
    for event in events:
        if event.kind == "mark":
            _mark(measure, event)
        elif event.kind == "silence":
            add(add(measure, "forward"), "duration", _ticks(event.duration))
        else:
            slur = ""
            if event.grace and "after" not in event.marks:
                slur = "" if graces else "start"
                graces.append(event)
            elif graces:
                slur, graces = "stop", []
            _note(measure, voice, event, slur, ids)


def _note(
    measure: etree._Element, voice: int, event: Event, grace_slur: str, ids: Iterator[str]
) -> None:
    fingers = [m[1:] for m in event.marks if m[0] == "f" and m[1:].isdigit()]
    for i in range(len(event.pitches) or 1):
        note = add(measure, "note", id=next(ids))
        if event.grace:
            add(note, "grace", **({"slash": "yes"} if event.grace == "gs" else {}))
        if i:
            add(note, "chord")
        _what(note, event, i)
        if not event.grace:
            add(note, "duration", _ticks(event.duration))
        for name, tied in (("stop", i in event.tied_from), ("start", i in event.ties)):
            if tied:
                add(note, "tie", type=name)
        add(note, "voice", voice)
        if event.value != "measure":
            add(note, "type", event.type)
        for _ in range(event.dots):
            add(note, "dot")
        if i in event.accidentals:
            name, courtesy = event.accidentals[i]
            add(note, "accidental", name, **({"cautionary": "yes"} if courtesy else {}))
        if event.tuplet:
            modification = add(note, "time-modification")
            add(modification, "actual-notes", event.tuplet[0])
            add(modification, "normal-notes", event.tuplet[1])
        if event.stem:
            add(note, "stem", event.stem)
        add(note, "staff", event.staff)
        if not i:
            for level, beam in enumerate(event.beams, 1):
                add(note, "beam", beam, number=str(level))
        _notations(note, voice, event, i, fingers[0] if fingers else "", grace_slur)


def _what(note: etree._Element, event: Event, i: int) -> None:
    if event.kind == "rest":
        add(note, "rest", **({"measure": "yes"} if event.value == "measure" else {}))
        return
    pitch = add(note, "pitch")
    add(pitch, "step", event.pitches[i].step)
    if event.pitches[i].alter:
        add(pitch, "alter", event.pitches[i].alter)
    add(pitch, "octave", event.pitches[i].octave)


def _notations(
    note: etree._Element, voice: int, event: Event, i: int, fingers: str, grace_slur: str
) -> None:
    notations = etree.Element("notations")
    for name, tied in (("stop", i in event.tied_from), ("start", i in event.ties)):
        if tied:
            add(notations, "tied", type=name)
    if not i:
        _slurs(notations, voice, event, grace_slur)
        for edge in event.tuplet_edges:
            tuplet = add(notations, "tuplet", type=edge, number="1")
            if edge == "start":
                tuplet.set("bracket", "no")
                tuplet.set("show-number", "actual" if event.tuplet_number else "none")
        _ornaments(notations, event)
    if i < len(fingers):
        add(
            add(notations, "technical"),
            "fingering",
            fingers[i],
            placement="below" if voice in (2, 6) else "above",
        )
    if not i:
        articulations = [ARTICULATIONS[m] for m in event.marks if m in ARTICULATIONS]
        if articulations:
            holder = add(notations, "articulations")
            for name in articulations:
                add(holder, name)
        if "ferm" in event.marks:
            add(notations, "fermata", type="upright")
    if "arp" in event.marks:
        add(notations, "arpeggiate")
    if len(notations):
        note.append(notations)


def _slurs(notations: etree._Element, voice: int, event: Event, grace_slur: str) -> None:
    number = str(voice if voice < 5 else voice - 2)
    for sign in sorted(event.slurs, reverse=True):
        add(notations, "slur", type="start" if sign == "(" else "stop", number=number)
    if grace_slur:
        add(notations, "slur", type=grace_slur, number=str(GRACE_SLUR))


def _ornaments(notations: etree._Element, event: Event) -> None:
    names = [m for m in event.marks if m in ORNAMENTS or m.startswith("tremolo")]
    if not names:
        return
    ornaments = add(notations, "ornaments")
    for name in names:
        if name in ORNAMENTS:
            add(ornaments, ORNAMENTS[name])
        else:
            add(ornaments, "tremolo", 3, type="start" if name.endswith("a") else "stop")


def _mark(measure: etree._Element, event: Event) -> None:
    sign, value = event.value[0], event.value[1:].strip('"')
    if sign == "=":
        _clef(add(measure, "attributes"), event.staff, value)
    elif sign == "&":
        _pedal(measure, event.staff, {"P": "start", "*": "stop"}[value])
    elif sign == "T":
        _tempo(measure, event.staff, value)
    else:
        kind = _direction(measure, "above" if sign == "^" else "below", event.staff)
        if sign in "^_":
            add(kind, "words", value, font_style="italic")
        elif value in "<>.":
            add(
                kind,
                "wedge",
                type={"<": "crescendo", ">": "diminuendo", ".": "stop"}[value],
                number="1",
            )
        else:
            add(add(kind, "dynamics"), value)


def _direction(measure: etree._Element, placement: str, staff: int) -> etree._Element:
    """A direction with one empty type in it; give back the type, to be filled."""
    direction = add(measure, "direction", placement=placement)
    kind = add(direction, "direction-type")
    add(direction, "staff", staff)
    return kind


def _pedal(measure: etree._Element, staff: int, kind: str) -> None:
    add(_direction(measure, "below", staff), "pedal", type=kind, line="yes", sign="no")


def _tempo(measure: etree._Element, staff: int, value: str) -> None:
    """Write ``words|quarters per minute``."""
    words, _, quarters = value.partition("|")
    direction = add(measure, "direction", placement="above")
    add(add(direction, "direction-type"), "words", words, font_weight="bold")
    metronome = add(add(direction, "direction-type"), "metronome")
    add(metronome, "beat-unit", "quarter")
    add(metronome, "per-minute", quarters)
    add(direction, "staff", staff)
    add(direction, "sound", tempo=quarters)
