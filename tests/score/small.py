"""Small scores, written for the tests: each holds what files hold in one kind of place."""

from __future__ import annotations

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


def note(
    pitch: str = "C4",
    duration: int | None = 4,
    *,
    kind: str = "quarter",
    voice: str = "1",
    staff: str = "1",
    before: str = "",
    after: str = "",
    end: str = "",
) -> str:
    """A ``note`` element; `pitch` as ``"C4"``, ``"F#3"``, ``"Bb5"``, or ``"r"`` for a rest."""
    if pitch == "r":
        what = "<rest/>"
    else:
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        what = f"<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave></pitch>"
    length = "" if duration is None else f"<duration>{duration}</duration>"
    place = f"<voice>{voice}</voice>" if voice else ""
    shape = f"<type>{kind}</type>" if kind else ""
    on = f"<staff>{staff}</staff>" if staff else ""
    return f"<note>{before}{what}{length}{place}{shape}{after}{on}{end}</note>"


def attributes(
    divisions: int = 4, time: str | None = "4/4", fifths: int = 0, staves: int = 2
) -> str:
    """The ``attributes`` of a first measure."""
    metre = ""
    if time:
        beats, kind = time.split("/")
        metre = f"<time><beats>{beats}</beats><beat-type>{kind}</beat-type></time>"
    return (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths></key>{metre}"
        f"<staves>{staves}</staves></attributes>"
    )


def backup(duration: int) -> str:
    """A ``backup``."""
    return f"<backup><duration>{duration}</duration></backup>"


def score(*measures: str, name: str = "Piano", numbers: list[str] | None = None) -> str:
    """A score of one part; each measure is its content."""
    labels = numbers or [str(i + 1) for i in range(len(measures))]
    body = "".join(
        f'<measure number="{label}">{text}</measure>'
        for label, text in zip(labels, measures, strict=True)
    )
    return (
        f'{HEAD}<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>{name}'
        f'</part-name></score-part></part-list><part id="P1">{body}</part></score-partwise>'
    )


_TIE = '<tie type="{0}"/>'
_TIED = '<notations><tied type="{0}"/></notations>'
_TRIPLET = (
    "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    "</time-modification>"
)

SMALL_SCORES = {
    "two hands": score(
        attributes()
        + "".join(note(p) for p in ("C5", "D5", "E5", "F5"))
        + backup(16)
        + note("C3", 16, kind="whole", voice="5", staff="2"),
        note("G5", 16, kind="whole")
        + backup(16)
        + note("E3", 8, kind="half", voice="5", staff="2")
        + note("C3", 8, kind="half", voice="5", staff="2"),
    ),
    "ties and chords": score(
        attributes(time="3/4")
        + note("C5", 12, kind="half", end=_TIED.format("start"))
        + note("E5", 12, kind="half", before="<chord/>", end=_TIED.format("start")),
        note("C5", 4, end=_TIED.format("stop"))
        + note("E5", 4, before="<chord/>", end=_TIED.format("stop"))
        + note("r", 8, kind="half"),
    ),
    "triplets and graces": score(
        attributes(6)
        + note("C5", 2, kind="eighth", after=_TRIPLET)
        + note("D5", 2, kind="eighth", after=_TRIPLET)
        + note("E5", 2, kind="eighth", after=_TRIPLET)
        + note("F5", None, kind="eighth", before='<grace slash="yes"/>')
        + note("G5", 18, kind="half", after="<dot/>")
        + '<barline location="right"><repeat direction="backward"/></barline>',
    ),
    "marks": score(
        attributes()
        + "<direction><direction-type><dynamics><p/></dynamics></direction-type><staff>1</staff>"
        '<sound tempo="96"/></direction>'
        '<direction><direction-type><wedge type="crescendo" number="1"/></direction-type></direction>'
        '<direction><direction-type><octave-shift type="down" size="8"/></direction-type>'
        "<offset>4</offset><staff>1</staff></direction>"
        + note("C5", 8, kind="half", end='<notations><slur type="start" number="1"/></notations>')
        + '<direction><direction-type><wedge type="stop" number="1"/></direction-type></direction>'
        + note(
            "D5",
            8,
            kind="half",
            end='<notations><slur type="stop" number="1"/><technical><fingering>3</fingering>'
            "</technical></notations>",
        )
        + '<direction><direction-type><pedal type="start"/></direction-type></direction>',
        note("r", 16, kind="whole") + '<barline location="right"><ending number="1" type="stop"/>'
        '<repeat direction="backward"/></barline>',
        note("E5", 16, kind="whole"),
    ),
    "two parts": (
        f'{HEAD}<score-partwise><part-list><score-part id="A"><part-name>Piano</part-name>'
        '</score-part><score-part id="B"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="A"><measure number="1">{attributes(2, staves=1)}{note("C5", 8, kind="whole")}'
        f'</measure></part><part id="B"><measure number="1">{attributes(3, staves=1)}'
        f"{note('C3', 12, kind='whole')}</measure></part></score-partwise>"
    ),
}
