"""Tiny scores from text, for tests of detectors.

``piece("R: C4/1 D4/1 | E4/2; L: C3/4 | r/2", time="4/4", fifths=0, tempo=100)`` reads like the page:
parts of the text are voices (``R``, ``R2``, ``L``, ``L2``: hand and voice), ``|`` is a bar line, a token is
``note+note/quarters`` with ``#``/``b`` after the letter (``Eb4+G4/1/2``), ``r`` is a rest, ``g:C4`` a grace
note (``gs:`` slashed), ``~`` at the end ties to the next, and ``!`` adds signs: ``C4/1!staccato!trill-mark``,
``!arp``, ``!trem3`` (one note), ``!trem3a`` and ``!trem3b`` (first and second of two), ``!(`` and ``!)`` (slur),
``!hidden`` (not printed), ``!other`` (written on the other staff), ``!acc-natural`` (printed accidental), ``!acc2-sharp`` (accidental at the ornament).
``@p`` alone is a dynamic, ``@"dolce"`` words (no spaces: underscores), ``@clefF``/``@clefG`` a clef, ``@key-3``
a key signature, ``@<`` ``@>`` and ``@.`` start and end of a hairpin, ``@&`` and ``@*`` pedal down and up, ``@8va`` and ``@8.`` start and
end of an ottava line (pitches as they sound).
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import lcm

from passagework.hands.hand import Hand
from passagework.score import Piece, read_score
from passagework.spots.context import Context

TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th", Fraction(1, 8): "32nd", Fraction(1, 16): "64th",
}  # fmt: skip
ARTICULATIONS = {"staccato", "tenuto", "accent", "strong-accent", "staccatissimo"}
ORNAMENTS = {"trill-mark", "mordent", "inverted-mordent", "turn", "inverted-turn", "delayed-turn"}


def context(text: str, reach: float = 20.1, **options: object) -> Context:
    """The piece of `text` with a hand of that reach."""
    return Context(piece(text, **options), Hand(reach))  # type: ignore[arg-type]


def piece(text: str, time: str = "4/4", fifths: int = 0, tempo: float | None = 100) -> Piece:
    """Read the score that `text` describes."""
    return read_score(musicxml(text, time, fifths, tempo).encode()).piece


def musicxml(text: str, time: str = "4/4", fifths: int = 0, tempo: float | None = 100) -> str:
    """The score of `text` as MusicXML of one part with two staves."""
    voices: dict[str, list[list[str]]] = {}
    for part in text.split(";"):
        name, _, music = part.strip().partition(":")
        voices[name.strip()] = [bar.split() for bar in music.split("|")]
    durations = [_duration(t) for v in voices.values() for b in v for t in b]
    divisions = lcm(*(d.denominator for d in durations if d), 1)
    beats, beat_type = time.split("/")
    bars: list[str] = []
    ties: dict[str, set[str]] = {}
    for index in range(max(len(v) for v in voices.values())):
        rows: list[str] = []
        if index == 0:
            rows.append(
                f"<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths></key>"
                f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time><staves>2</staves>"
                '<clef number="1"><sign>G</sign><line>2</line></clef>'
                '<clef number="2"><sign>F</sign><line>4</line></clef></attributes>'
            )
            if tempo is not None:
                rows.append(
                    '<direction placement="above"><direction-type><metronome><beat-unit>quarter'
                    f"</beat-unit><per-minute>{tempo}</per-minute></metronome></direction-type>"
                    "<staff>1</staff></direction>"
                )
        gone = 0
        for name, music in voices.items():
            if index >= len(music):
                continue
            if gone:
                rows.append(f"<backup><duration>{gone}</duration></backup>")
            staff = 1 if name[0] == "R" else 2
            voice = (staff - 1) * 4 + int(name[1:] or 1)
            gone = 0
            for token in music[index]:
                rows.append(_token(token, staff, voice, divisions, ties.setdefault(name, set())))
                gone += int(_duration(token) * divisions)
        bars.append(f'<measure number="{index + 1}">{"".join(rows)}</measure>')
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name>'
        f'</score-part></part-list><part id="P1">{"".join(bars)}</part></score-partwise>'
    )


def _duration(token: str) -> Fraction:
    if token.startswith(("@", "g:", "gs:")):
        return Fraction(0)
    return Fraction(token.partition("!")[0].rstrip("~").partition("/")[2])


def _token(token: str, staff: int, voice: int, divisions: int, open_ties: set[str]) -> str:
    if token.startswith("@"):
        return _direction(token[1:], staff)
    body, *signs = token.split("!")
    tied = body.endswith("~")
    body = body.rstrip("~")
    grace = ""
    if body.startswith("g"):
        grace = '<grace slash="yes"/>' if body.startswith("gs:") else "<grace/>"
        body = body.partition(":")[2]
    duration = _duration(token)
    names = body.partition("/")[0].split("+")
    rows = []
    for at, name in enumerate(names):
        hidden = ' print-object="no"' if "hidden" in signs else ""
        inner = "<chord/>" if at else ""
        if name == "r":
            inner = "<rest/>"
        else:
            match = re.fullmatch(r"([A-G])(#+|b+|)(\d)", name)
            assert match, name
            step, marks, octave = match.groups()
            alter = len(marks) if "#" in marks else -len(marks)
            inner += (
                f"<pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>"
            )
        ties = ""
        notations = _signs(signs) if at == 0 else _signs([s for s in signs if s == "arp"])
        if name in open_ties:
            ties += '<tie type="stop"/>'
            notations += '<tied type="stop"/>'
            open_ties.discard(name)
        if tied:
            ties += '<tie type="start"/>'
            notations += '<tied type="start"/>'
        length = f"<duration>{int(duration * divisions)}</duration>" if not grace else ""
        accidental = next((s[4:] for s in signs if s.startswith("acc-")), "")
        printed = f"<accidental>{accidental}</accidental>" if accidental else ""
        rows.append(
            f"<note{hidden}>{grace}{inner}{length}{ties}<voice>{voice}</voice>{_type(duration, grace)[0]}"
            f"{printed}{_type(duration, grace)[1]}<staff>{3 - staff if 'other' in signs else staff}</staff>"
            f"{'<notations>' + notations + '</notations>' if notations else ''}</note>"
        )
    if tied:
        open_ties.update(names)
    return "".join(rows)


def _type(duration: Fraction, grace: str) -> tuple[str, str]:
    if grace:
        return "<type>eighth</type>", ""
    for actual, normal in ((1, 1), (3, 2), (5, 4), (7, 4), (6, 4), (9, 8), (2, 3), (4, 3)):
        printed = duration * actual / normal
        for dots, factor in (("", Fraction(1)), ("<dot/>", Fraction(3, 2))):
            if (kind := TYPES.get(printed / factor)) and not (dots and actual > 1):
                tuplet = (
                    f"<time-modification><actual-notes>{actual}</actual-notes>"
                    f"<normal-notes>{normal}</normal-notes></time-modification>"
                )
                return f"<type>{kind}</type>{dots}", tuplet if actual > 1 else ""
    return "", ""


def _signs(signs: list[str]) -> str:
    inner = ""
    articulations = "".join(f"<{s}/>" for s in signs if s in ARTICULATIONS)
    if articulations:
        inner += f"<articulations>{articulations}</articulations>"
    ornaments = ""
    for sign in signs:
        if sign in ORNAMENTS:
            ornaments += f"<{sign}/>"
        elif match := re.fullmatch(r"trem(\d)([ab]?)", sign):
            role = {"": "single", "a": "start", "b": "stop"}[match[2]]
            ornaments += f'<tremolo type="{role}">{match[1]}</tremolo>'
        elif sign.startswith("acc2-"):
            ornaments += f"<accidental-mark>{sign[5:]}</accidental-mark>"
        elif sign == "arp":
            inner += "<arpeggiate/>"
        elif sign == "(":
            inner += '<slur type="start" number="1"/>'
        elif sign == ")":
            inner += '<slur type="stop" number="1"/>'
        elif sign == "fermata":
            inner += "<fermata/>"
        elif sign.startswith("f") and sign[1:].isdigit():
            inner += f"<technical><fingering>{sign[1:]}</fingering></technical>"
    return inner + (f"<ornaments>{ornaments}</ornaments>" if ornaments else "")


def _direction(text: str, staff: int) -> str:
    if text.startswith("clef"):
        line = {"F": 4, "G": 2, "C": 3}[text[4]]
        return (
            f'<attributes><clef number="{staff}"><sign>{text[4]}</sign><line>{line}</line></clef>'
            "</attributes>"
        )
    if text.startswith("key"):
        return f"<attributes><key><fifths>{text[3:]}</fifths></key></attributes>"
    hairpins = {"<": "crescendo", ">": "diminuendo", ".": "stop"}
    pedals = {"&": "start", "*": "stop"}
    if text in hairpins:
        inner = f'<wedge type="{hairpins[text]}"/>'
    elif text in {"8va", "8."}:
        inner = f'<octave-shift type="{"down" if text == "8va" else "stop"}" size="8"/>'
    elif text in pedals:
        inner = f'<pedal type="{pedals[text]}"/>'
    elif text.startswith('"'):
        inner = f"<words>{text.strip(chr(34)).replace('_', ' ')}</words>"
    else:
        inner = f"<dynamics><{text}/></dynamics>"
    return f"<direction><direction-type>{inner}</direction-type><staff>{staff}</staff></direction>"
