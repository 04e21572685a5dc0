"""Read the shorthand the demo pieces are written in.

A piece is a header (``title = Evening Ferry``) and bars. A bar opens with ``bar`` and its marks
(``implicit``, ``key=-5``, ``|:``, ``:|``, ``double``, ``final``, ``ending=1``, ``ending-stop=1``),
then one line for each voice: ``1:`` and ``2:`` on the upper staff, ``5:`` and ``6:`` on the lower.

A voice is a row of words:

* ``F#4q.`` a note: pitch, length (``w h q e s t`` down to the 32nd), dots. ``C3+G3+E4h`` a chord.
* ``re`` a rest, ``xq`` nothing at all (the voice is silent and prints nothing), ``R`` a bar's rest.
* ``~`` after a length ties every note of the chord; after a pitch, that note alone.
* ``(`` and ``)`` open and close a slur; ``-name`` adds a mark: ``-st`` staccato, ``-f3`` finger 3, ...
* ``gs:D5e`` a grace note with a slash, ``g:D5s`` one without.
* ``[`` and ``]`` beam by hand, ``{3`` and ``}`` a triplet, ``{3-`` a triplet whose number is not printed.
* ``!p`` a dynamic, ``!<`` ``!>`` ``!.`` hairpins, ``&P`` ``&*`` pedal down and up,
  ``=G`` and ``=F`` a clef, ``^"a tempo"`` words above the staff, ``_"dolce"`` below it, ``^1"m.s."``
  above the upper staff from a voice of the lower, ``T"Andantino|96"`` a tempo with its metronome mark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

LENGTHS = {
    "w": ("whole", Fraction(4)),
    "h": ("half", Fraction(2)),
    "q": ("quarter", Fraction(1)),
    "e": ("eighth", Fraction(1, 2)),
    "s": ("16th", Fraction(1, 4)),
    "t": ("32nd", Fraction(1, 8)),
}
ALTERS = {"": 0, "#": 1, "b": -1, "##": 2, "bb": -2}
WORD = re.compile(r'[T^_]\d?"[^"]*"|\S+')
SPACING = re.compile(r'"[^"]*"|[\[\]}]')
PITCH = re.compile(r"([A-G])(##|#|bb|b)?(\d)(~?)")
NOTE = re.compile(
    r"(?P<grace>gs?:)?(?P<what>(?:[A-G](?:##|#|bb|b)?\d~?\+?)+|r|x)"
    r"(?P<length>[whqest])(?P<dots>\.*)(?P<tie>~?)(?P<tail>(?:[()]|-\w+)*)$"
)


@dataclass(frozen=True)
class Pitch:
    """A spelled pitch; ``octave`` is the scientific one (middle C is C4)."""

    step: str
    alter: int
    octave: int

    @property
    def line(self) -> int:
        """The place on the staff, in steps above C0."""
        return self.octave * 7 + "CDEFGAB".index(self.step)

    @property
    def midi(self) -> int:
        """The MIDI number."""
        return (
            12 * (self.octave + 1) + (0, 2, 4, 5, 7, 9, 11)["CDEFGAB".index(self.step)] + self.alter
        )


@dataclass
class Event:
    """A note, chord, rest or silence (``kind``), or a mark that stands between notes."""

    kind: str
    onset: Fraction
    value: str = ""
    duration: Fraction = Fraction(0)
    pitches: list[Pitch] = field(default_factory=list)
    ties: set[int] = field(default_factory=set)
    tied_from: set[int] = field(default_factory=set)
    type: str = ""
    dots: int = 0
    grace: str = ""
    slurs: str = ""
    marks: list[str] = field(default_factory=list)
    tuplet: tuple[int, int] | None = None
    tuplet_edges: list[str] = field(default_factory=list)
    tuplet_number: bool = True
    group: int | None = None
    staff: int = 1
    stem: str = ""
    beams: list[str] = field(default_factory=list)
    accidentals: dict[int, tuple[str, bool]] = field(default_factory=dict)

    @property
    def sounds(self) -> bool:
        """Whether there is anything to hear."""
        return self.kind == "note"


@dataclass
class Bar:
    """One bar: its marks and its voices."""

    marks: list[str]
    voices: dict[int, list[Event]] = field(default_factory=dict)
    length: Fraction = Fraction(0)

    def mark(self, name: str) -> str | None:
        """The value of ``name=value`` among the bar's marks."""
        found = [m.partition("=")[2] for m in self.marks if m.startswith(name + "=")]
        return found[0] if found else None


@dataclass
class Score:
    """A piece as read: its header and its bars."""

    header: dict[str, str]
    bars: list[Bar]


def staff_of(voice: int) -> int:
    """Voices 1 to 4 live on the upper staff, 5 to 8 on the lower."""
    return 1 if voice < 5 else 2


def read(text: str) -> Score:
    """Read a whole piece; raise ``ValueError`` where a bar does not add up."""
    header: dict[str, str] = {}
    bars: list[Bar] = []
    for raw in text.strip().splitlines():
        line = raw.split("//")[0].strip()
        if not line:
            continue
        if line.startswith("bar"):
            bars.append(Bar(line.split()[1:]))
        elif re.match(r"[1-8]:", line):
            _add_voice(header, bars, int(line[0]), line[2:])
        else:
            name, _, value = line.partition("=")
            header[name.strip()] = value.strip()
    _link_ties(bars)
    return Score(header, bars)


def _add_voice(header: dict[str, str], bars: list[Bar], voice: int, text: str) -> None:
    bar = bars[-1]
    beats, unit = (int(n) for n in header["time"].split("/"))
    full = Fraction(4 * beats, unit)
    events, end = _read_voice(text, staff_of(voice), full)
    length = end if "implicit" in bar.marks else full
    if end != length or (bar.length and bar.length != length):
        raise ValueError(
            f"bar {len(bars) - 1}, voice {voice}: {end} quarters, not {bar.length or length}"
        )
    bar.length = length
    bar.voices[voice] = events


def _read_voice(text: str, staff: int, full: Fraction) -> tuple[list[Event], Fraction]:
    now = Fraction(0)
    events: list[Event] = []
    tuplet: tuple[int, int] | None = None
    tuplet_number = True
    first_of_tuplet = False
    group, groups = None, 0
    spaced = SPACING.sub(lambda m: m[0] if len(m[0]) > 1 else f" {m[0]} ", text)
    for word in WORD.findall(spaced):
        if word[0] in "!&=T^_" and not NOTE.match(word):
            other = re.match(r'[\^_](\d)"', word)
            place = int(other[1]) if other else staff
            events.append(
                Event(
                    "mark",
                    now,
                    word[0] + word[1:].removeprefix(other[1]) if other else word,
                    staff=place,
                )
            )
        elif word.startswith("{"):
            tuplet, tuplet_number, first_of_tuplet = (3, 2), not word.endswith("-"), True
        elif word == "}":
            [e for e in events if e.kind in ("note", "rest")][-1].tuplet_edges.append("stop")
            tuplet = None
        elif word == "[":
            groups += 1
            group = groups
        elif word == "]":
            group = None
        elif word == "R":
            events.append(Event("rest", now, "measure", full, staff=staff))
            now += full
        else:
            event = _read_note(word, now, staff, tuplet)
            event.group, event.tuplet_number = group, tuplet_number
            if first_of_tuplet:
                event.tuplet_edges.append("start")
                first_of_tuplet = False
            events.append(event)
            now += event.duration
    return events, now


def _read_note(word: str, now: Fraction, staff: int, tuplet: tuple[int, int] | None) -> Event:
    found = NOTE.match(word)
    if not found:
        raise ValueError(f"cannot read {word!r}")
    kind = {"r": "rest", "x": "silence"}.get(found["what"], "note")
    name, length = LENGTHS[found["length"]]
    dots = len(found["dots"])
    length = length * (2 - Fraction(1, 2**dots))
    marks = re.findall(r"-(\w+)", found["tail"])
    slurs = "".join(re.findall(r"[()]", found["tail"]))
    if tuplet:
        length = length * tuplet[1] / tuplet[0]
    if "tremolo_a" in marks or "tremolo_b" in marks:
        # Each of the two notes of a tremolo is written with the length of both.
        length, tuplet = length / 2, (2, 1)
    event = Event(
        kind, now, duration=length, type=name, dots=dots, tuplet=tuplet, marks=marks, slurs=slurs
    )
    event.staff = next((int(m[-1]) for m in marks if m in ("staff1", "staff2")), staff)
    if found["grace"]:
        event.grace, event.duration = found["grace"].strip(":"), Fraction(0)
    if kind == "note":
        spelled = PITCH.findall(found["what"])
        event.pitches = [Pitch(s, ALTERS[a], int(o)) for s, a, o, _ in spelled]
        event.ties = {i for i, p in enumerate(spelled) if p[3] or found["tie"]}
        if event.pitches != sorted(event.pitches, key=lambda p: p.midi):
            raise ValueError(f"{word!r}: write a chord from the bottom up")
    return event


def _link_ties(bars: list[Bar]) -> None:
    for voice in {v for bar in bars for v in bar.voices}:
        open_ties: set[Pitch] = set()
        for event in (e for bar in bars for e in bar.voices.get(voice, []) if e.sounds):
            event.tied_from = {i for i, p in enumerate(event.pitches) if p in open_ties}
            if len(event.tied_from) != len(open_ties):
                raise ValueError(f"voice {voice}: a tie leads nowhere before {event.pitches}")
            open_ties = {event.pitches[i] for i in event.ties}
