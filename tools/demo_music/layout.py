"""What an engraver adds to the bare notes: beams, stems and accidentals."""

from __future__ import annotations

from fractions import Fraction

from demo_music.shorthand import Bar, Event, Pitch, Score, staff_of

FLAGS = {"eighth": 1, "16th": 2, "32nd": 3}
MIDDLE_LINE = {"G": 4 * 7 + 6, "F": 3 * 7 + 1}  # B4 and D3, in steps above C0
SHARPS, FLATS = "FCGDAEB", "BEADGCF"
ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def lay_out(score: Score) -> None:
    """Give every event of ``score`` its beams, stem and accidentals, in place."""
    beats, unit = (int(n) for n in score.header["time"].split("/"))
    full = Fraction(4 * beats, unit)
    beat = Fraction(3, 2) if unit == 8 else Fraction(1)
    clefs = {1: "G", 2: score.header.get("left-clef", "F")}
    fifths = int(score.header["fifths"])
    before: dict[tuple[str, int], int] = {}
    for bar in score.bars:
        fifths = int(bar.mark("key") or fifths)
        for voice in sorted(bar.voices):
            groups = _beam(bar.voices[voice], full - bar.length, full, beat)
            _stem(bar, voice, groups, clefs)
        before = _spell(bar, fifths, before)


def _beam(
    events: list[Event], offset: Fraction, full: Fraction, beat: Fraction
) -> list[list[Event]]:
    """Group the notes under beams, write the beams, and give back all groups (single notes too)."""
    notes = [e for e in events if e.kind in ("note", "rest", "silence")]
    sounding = [n for n in notes if not n.grace]
    # Six even eighths of a 3/4 bar stand under one beam; what is beamed by hand stays as it is.
    whole = (
        beat == 1
        and full == 3
        and len(sounding) == 6
        and all(n.sounds and n.type == "eighth" for n in sounding)
    )
    groups: list[list[Event]] = []
    last: object = None
    grace_group: list[Event] = []
    main_group: list[Event] = []
    for note in notes:
        if note.grace:
            # Grace notes have a beam of their own and do not cut the beam of the notes around them.
            if not grace_group:
                groups.append(grace_group)
            grace_group.append(note)
            continue
        grace_group = []
        key: object = None
        if note.sounds and note.type in FLAGS and "tremolo_a" not in note.marks:
            key = ("hand", note.group)
            if note.group is None:
                key = ("beat", 0 if whole else (note.onset + offset) // beat)
        if key is not None and key == last:
            main_group.append(note)
        else:
            main_group = [note]
            groups.append(main_group)
        last = key
    for group in groups:
        if len(group) > 1 and group[0].type in FLAGS:
            _write_beams(group)
    return groups


def _write_beams(group: list[Event]) -> None:
    flags = [FLAGS[n.type] for n in group]
    for i, note in enumerate(group):
        for level in range(1, flags[i] + 1):
            back = i > 0 and flags[i - 1] >= level
            on = i + 1 < len(group) and flags[i + 1] >= level
            if back or on:
                note.beams.append("continue" if back and on else "end" if back else "begin")
            else:
                note.beams.append("forward hook" if i == 0 else "backward hook")


def _stem(bar: Bar, voice: int, groups: list[list[Event]], clefs: dict[int, str]) -> None:
    shared = sum(staff_of(v) == staff_of(voice) for v in bar.voices) > 1
    changes = [e for e in bar.voices[voice] if e.kind == "mark" and e.value[0] == "="]
    for group in groups:
        while changes and changes[0].onset <= group[0].onset:
            clefs[changes[0].staff] = changes.pop(0).value[1]
        if not group[0].sounds:
            continue
        forced = {m for n in group for m in n.marks} & {"up", "down"}
        if group[0].grace:
            stem = "down" if shared and voice in (2, 6) else "up"
        elif forced:
            stem = forced.pop()
        elif shared:
            stem = "up" if voice in (1, 5) else "down"
        else:
            away = [p.line - MIDDLE_LINE[clefs[n.staff]] for n in group for p in n.pitches]
            stem = "down" if max(away) + min(away) >= 0 else "up"
        for note in group:
            note.stem = stem
            if note.staff != staff_of(voice) and len({n.staff for n in group}) > 1:
                note.stem = ""
    if len({n.staff for g in groups for n in g}) > 1:
        for note in (n for g in groups for n in g if len({m.staff for m in g}) > 1):
            # Under a beam between the staves the stems point at the beam.
            note.stem = "down" if note.staff == 1 else "up"
    for change in changes:
        clefs[change.staff] = change.value[1]


def signature(fifths: int, step: str) -> int:
    """The alteration the key signature gives to ``step``."""
    if fifths > 0:
        return int(step in SHARPS[:fifths])
    return -int(step in FLATS[:-fifths]) if fifths else 0


def _spell(bar: Bar, fifths: int, before: dict[tuple[str, int], int]) -> dict[tuple[str, int], int]:
    """Write the accidentals of a bar; give back what it altered, for courtesy in the next one."""
    written: dict[tuple[int, str, int], int] = {}
    heard: dict[str, set[int]] = {}
    reminded: set[tuple[str, int]] = set()
    altered: dict[tuple[str, int], int] = {}
    notes = [
        (e.onset, not e.grace, v, k, e)
        for v in bar.voices
        for k, e in enumerate(bar.voices[v])
        if e.sounds
    ]
    for *_, event in sorted(notes, key=lambda n: n[:4]):
        for i, pitch in enumerate(event.pitches):
            place = (event.staff, pitch.step, pitch.octave)
            current = written.get(place, signature(fifths, pitch.step))
            if i not in event.tied_from:
                if pitch.alter != current:
                    event.accidentals[i] = (ACCIDENTALS[pitch.alter], False)
                    written[place] = pitch.alter
                elif _wants_reminder(pitch, before, heard, reminded, place in written):
                    event.accidentals[i] = (ACCIDENTALS[pitch.alter], True)
                reminded.add((pitch.step, pitch.octave))
            heard.setdefault(pitch.step, set()).add(pitch.alter)
            if pitch.alter != signature(fifths, pitch.step):
                altered[pitch.step, pitch.octave] = pitch.alter
            else:
                altered.pop((pitch.step, pitch.octave), None)
    return altered


def _wants_reminder(
    pitch: Pitch,
    before: dict[tuple[str, int], int],
    heard: dict[str, set[int]],
    reminded: set[tuple[str, int]],
    written: bool,
) -> bool:
    """Whether the note was altered a bar ago, or just now in another octave."""
    place = (pitch.step, pitch.octave)
    if written or place in reminded:
        return False
    return before.get(place, pitch.alter) != pitch.alter or bool(
        heard.get(pitch.step, set()) - {pitch.alter}
    )
