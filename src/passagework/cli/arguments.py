"""Arguments that several commands share, and what they mean."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from passagework.cli.files import UnusableInputError, bytes_of

if TYPE_CHECKING:
    from passagework.guide.exercise_page import Sound
    from passagework.guide.preparation import Preparation

MAX_SOUNDFONT_BYTES = 2_000_000_000
"""The largest sampled pianos in this format are about 1 GB."""

SMALLEST_REACH_CM, LARGEST_REACH_CM = 10.0, 30.0
"""Spans that a hand can have: a small child's and beyond the largest measured."""


def score_argument(parser: argparse.ArgumentParser) -> None:
    """Add SCORE."""
    parser.add_argument(
        "score", metavar="SCORE", help="MusicXML (.musicxml, .xml, .mxl), MEI, Humdrum kern or MIDI"
    )


def soundfont_argument(parser: argparse.ArgumentParser) -> None:
    """Add --soundfont."""
    parser.add_argument(
        "--soundfont", metavar="FILE.sf2", help="another piano to sound on, with --sound"
    )


def reach_arguments(parser: argparse.ArgumentParser) -> None:
    """Add --reach and --student."""
    parser.add_argument(
        "--reach",
        metavar="CM",
        type=reach_cm,
        help="span from thumb to little finger, stretched without strain, in centimetres",
    )
    parser.add_argument(
        "--student", metavar="FILE", help="JSON with the student's name and reach_cm"
    )


def reach_cm(text: str) -> float:
    """A span in centimetres. Raises `ArgumentTypeError` for what is no hand's."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of centimetres") from None
    if not SMALLEST_REACH_CM <= value <= LARGEST_REACH_CM:
        raise argparse.ArgumentTypeError(
            f"a span of {text} cm is not a hand's; measure from thumb to little finger "
            f"({SMALLEST_REACH_CM:g} to {LARGEST_REACH_CM:g} cm)"
        )
    return value


def prepare(options: argparse.Namespace) -> Preparation:
    """Read the score of the arguments for the hand and student that they name."""
    from passagework.guide.preparation import Preparation
    from passagework.hands.hand import DEFAULT_REACH_CM, Hand
    from passagework.score.read import read_score

    path = Path(options.score)
    reading = read_score(bytes_of(path), path.name)
    student = _student(Path(options.student)) if options.student else {}
    reach = options.reach or student.get("reach_cm") or DEFAULT_REACH_CM
    return Preparation(
        reading, Hand(reach_cm=reach), student.get("name") or "", file_name=path.name
    )


def _student(path: Path) -> dict[str, Any]:
    import json

    try:
        student = json.loads(bytes_of(path))
    except (ValueError, RecursionError):
        raise UnusableInputError(
            f'{path} is not JSON; write e.g. {{"name": "Ada", "reach_cm": 17.5}}'
        ) from None
    if not isinstance(student, dict):
        raise UnusableInputError(f"{path} must hold one object with name and reach_cm")
    name = student.get("name")
    if name is not None and not (isinstance(name, str) and _is_text(name)):
        raise UnusableInputError(f"name in {path} must be a text")
    reach = student.get("reach_cm")
    if reach is not None and not (
        isinstance(reach, int | float) and SMALLEST_REACH_CM <= reach <= LARGEST_REACH_CM
    ):
        raise UnusableInputError(
            f"reach_cm in {path} must be a number from {SMALLEST_REACH_CM:g} to {LARGEST_REACH_CM:g}"
        )
    return student


def _is_text(text: str) -> bool:
    """Whether `text` can be written: JSON may escape half a character."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def sound(options: argparse.Namespace) -> Sound | None:
    """The sound that the arguments ask for; None for none."""
    from passagework.guide.exercise_page import Sound

    if options.soundfont and not options.sound:
        raise UnusableInputError(
            "a soundfont is for --sound; say which form, for example --sound mp3"
        )
    if not options.sound:
        return None
    path = Path(options.soundfont) if options.soundfont else None
    return Sound(options.sound, bytes_of(path, MAX_SOUNDFONT_BYTES) if path else None)
