"""The command line: the only room besides studio and web that knows of files and the terminal.

Exit status 0: done; 1: the input cannot be used (one line on stderr); 2: wrong arguments.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import signal
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from passagework import __version__

if TYPE_CHECKING:
    from passagework.guide.exercise_page import Sound
    from passagework.guide.preparation import Preparation

MAX_SOUNDFONT_BYTES = 2_000_000_000
"""The largest sampled pianos in this format are about 1 GB."""

SMALLEST_REACH_CM, LARGEST_REACH_CM = 10.0, 30.0
"""Spans that a hand can have: a small child's and beyond the largest measured."""


class UnusableInputError(Exception):
    """Something handed in cannot be used: one line for the person who did."""


def entry() -> NoReturn:
    """The program: `main`, then out. What is done by then is not undone by a late Ctrl-C."""
    # A run lives for seconds and leaves hardly a cycle: looking for them less often saves a twentieth.
    gc.set_threshold(100_000, 20, 20)
    status = main()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(status)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; gives the exit status."""
    try:
        options = _parser().parse_args(arguments)
        return _run(options)
    except KeyboardInterrupt:
        _complain("stopped; nothing half-written is left")
        return 130


def _run(options: argparse.Namespace) -> int:
    from passagework.score.errors import ScoreError
    from passagework.sound.errors import SoundError

    try:
        run: Callable[[argparse.Namespace], None] = options.run
        run(options)
    except (ScoreError, SoundError, UnusableInputError) as error:
        _complain(str(error))
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except Exception as error:
        if os.environ.get("PASSAGEWORK_TRACE"):
            raise
        _complain(
            f"a fault of the program, not of your file ({type(error).__name__}: "
            f"{str(error)[:120]}); run again with PASSAGEWORK_TRACE=1 and report what it says"
        )
        return 1
    return 0


def _complain(text: str) -> None:
    """One line on stderr, whatever line ends a file's name has in it; nothing where stderr is closed."""
    if sys.stderr is not None:
        print(f"passagework: {' '.join(text.split())}", file=sys.stderr)


def _put(text: str) -> None:
    """Write `text` and a line end to standard output; nothing where it is closed."""
    if sys.stdout is None:
        return
    # A name that is not UTF-8 comes from the system as surrogates, which no stream would take.
    data = (text + "\n").encode("utf-8", "surrogateescape")
    try:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        # What is left in the stream would be tried, and fail, once more at the end of the program.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise UnusableInputError(
            f"standard output cannot be written: {error.strerror or error}"
        ) from None


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="passagework",
        description="Prepares a piano piece for a student: the places that will go wrong, why, "
        "and what to do about each.",
    )
    parser.add_argument("--version", action="version", version=f"passagework {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    guide = commands.add_parser(
        "guide", help="write the guide of a piece: guide.html, guide.pdf, guide.json"
    )
    _score_argument(guide)
    guide.add_argument("--out", metavar="DIR", required=True, help="folder to write into")
    guide.add_argument(
        "--exercises",
        choices=("none", "first", "all"),
        default="first",
        help="show the steps of no exercise, of the first of each place, or of all",
    )
    guide.add_argument(
        "--sound", choices=("mp3", "ogg"), help="put the sound of the steps into the HTML"
    )
    _soundfont_argument(guide)
    _reach_arguments(guide)
    guide.set_defaults(run=_guide)

    read = commands.add_parser("read", help="write what was read of a score, as JSON")
    _score_argument(read)
    read.add_argument(
        "--json", metavar="FILE", required=True, help="file to write, - for the screen"
    )
    _reach_arguments(read)
    read.set_defaults(run=_read)
    finger = commands.add_parser("finger", help="write the score with a finger on every note")
    _score_argument(finger)
    finger.add_argument("--out", metavar="FILE", required=True, help="MusicXML file to write")
    finger.add_argument(
        "--hand", choices=("left", "right", "both"), default="both", help="which hand to finger"
    )
    finger.add_argument(
        "--replace", action="store_true", help="take out the printed fingers and choose anew"
    )
    finger.add_argument(
        "--sparse", action="store_true", help="only where an editor would print a number"
    )
    _reach_arguments(finger)
    finger.set_defaults(run=_finger)

    exercises = commands.add_parser(
        "exercises", help="write exercises for the places, or for bars of your choice"
    )
    _score_argument(exercises)
    exercises.add_argument("--out", metavar="DIR", required=True, help="folder to write into")
    exercises.add_argument(
        "--bars", metavar="12-16", help="bars by their printed numbers, instead of the places found"
    )
    exercises.add_argument("--kind", metavar="KIND", help="only for places of this kind")
    exercises.add_argument(
        "--technique", metavar="NAME", help="this practice technique for the bars of --bars"
    )
    exercises.add_argument(
        "--sound", choices=("wav", "mp3", "ogg", "flac"), help="write the sound of every step too"
    )
    _soundfont_argument(exercises)
    _reach_arguments(exercises)
    exercises.set_defaults(run=_exercises)
    return parser


def _score_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "score", metavar="SCORE", help="MusicXML (.musicxml, .xml, .mxl), MEI, Humdrum kern or MIDI"
    )


def _soundfont_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--soundfont", metavar="FILE.sf2", help="another piano to sound on, with --sound"
    )


def _reach_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--reach",
        metavar="CM",
        type=_reach,
        help="span from thumb to little finger, stretched without strain, in centimetres",
    )
    parser.add_argument(
        "--student", metavar="FILE", help="JSON with the student's name and reach_cm"
    )


def _reach(text: str) -> float:
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


def _prepare(options: argparse.Namespace) -> Preparation:
    from passagework.guide.preparation import Preparation
    from passagework.hands.hand import DEFAULT_REACH_CM, Hand
    from passagework.score.read import read_score

    path = Path(options.score)
    reading = read_score(_bytes_of(path), path.name)
    student = _student(Path(options.student)) if options.student else {}
    reach = options.reach or student.get("reach_cm") or DEFAULT_REACH_CM
    return Preparation(
        reading, Hand(reach_cm=reach), student.get("name") or "", file_name=path.name
    )


def _bytes_of(path: Path, most: int | None = None) -> bytes:
    from passagework.score.limits import MAX_FILE_BYTES

    try:
        if path.is_dir():
            raise UnusableInputError(f"{path} is a folder; name one file in it")
        with path.open("rb") as stream:
            return stream.read((most or MAX_FILE_BYTES) + 1)
    except FileNotFoundError:
        raise UnusableInputError(f"there is no file {path}") from None
    except OSError as error:
        raise UnusableInputError(f"{path} cannot be read: {error.strerror or error}") from None


def _student(path: Path) -> dict[str, Any]:
    import json

    try:
        student = json.loads(_bytes_of(path))
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


def _read(options: argparse.Namespace) -> None:
    import json

    from passagework.guide.reading_document import reading_document

    document = reading_document(_prepare(options))
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    if options.json == "-":
        _put(text)
    else:
        write_file(Path(options.json), (text + "\n").encode())


def _finger(options: argparse.Namespace) -> None:
    from passagework.hands.fingering import BOTH, finger_piece
    from passagework.hands.write import write_fingering

    target = Path(options.out)
    if target.suffix.lower() not in {".musicxml", ".xml"}:
        raise UnusableInputError(f"{target} must end in .musicxml, which is what is written")
    preparation = _prepare(options)
    sides = BOTH if options.hand == "both" else (options.hand,)
    fingering = finger_piece(
        preparation.piece,
        preparation.hands,
        respect_printed=not options.replace,
        sides=sides,
        tempo=preparation.context.tempo,
    )
    written = write_fingering(
        preparation.notation, fingering, sparse=options.sparse, replace=options.replace
    )
    write_file(target, written.to_bytes())
    for warning in fingering.warnings:
        _complain(str(warning))


def _exercises(options: argparse.Namespace) -> None:
    from passagework.guide.exercise_page import exercise_files
    from passagework.guide.offers import offers_for

    folder = Path(options.out)
    preparation = _prepare(options)
    try:
        offers = offers_for(preparation, options.bars, options.kind, options.technique)
    except ValueError as error:
        raise UnusableInputError(str(error)) from None
    _make_folder(folder)
    say = _progress()
    count = 0
    for name, data in exercise_files(preparation, offers, sound=_sound(options)):
        say(f"writing {name}")
        write_file(folder / name, data)
        count += 1
    say("")
    _put(f"{folder / 'exercises.pdf'}  (and {count - 1} files beside it)")


def _sound(options: argparse.Namespace) -> Sound | None:
    from passagework.guide.exercise_page import Sound

    if options.soundfont and not options.sound:
        raise UnusableInputError(
            "a soundfont is for --sound; say which form, for example --sound mp3"
        )
    if not options.sound:
        return None
    path = Path(options.soundfont) if options.soundfont else None
    return Sound(options.sound, _bytes_of(path, MAX_SOUNDFONT_BYTES) if path else None)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UnusableInputError(f"{folder} cannot be made a folder: {error.strerror}") from None


def _guide(options: argparse.Namespace) -> None:
    from passagework.guide.write import guide_files

    folder = Path(options.out)
    preparation = _prepare(options)
    _make_folder(folder)
    files = guide_files(
        preparation, _progress(), exercises=options.exercises, sound=_sound(options)
    )
    for name, data in files.items():
        write_file(folder / name, data)
    _put(f"{folder / 'guide.html'}  (open it in a browser; guide.pdf is the same for printing)")


def _progress() -> Callable[[str], None]:
    """Says what is being done, on stderr and only to a terminal."""
    to_terminal = sys.stderr is not None and sys.stderr.isatty()

    def say(text: str) -> None:
        if to_terminal:
            print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)

    return say


def write_file(path: Path, data: bytes) -> None:
    """Write `data` so that `path` holds the old bytes or the new ones, never a part of them.

    A link stays a link, and its target is written; a device or a pipe is written to, not replaced.
    """
    try:
        if path.is_dir():
            raise UnusableInputError(f"{path} is a folder; name a file in it")
        if path.exists() and not path.is_file():
            path.write_bytes(data)
        else:
            _replace(Path(os.path.realpath(path)), data)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise UnusableInputError(f"{path} cannot be written: {error.strerror or error}") from None


def _replace(target: Path, data: bytes) -> None:
    # The draft's name does not contain the target's, which may be as long as a name can be.
    draft = target.with_name(f".passagework-{os.getpid()}.part")
    try:
        draft.write_bytes(data)
        os.replace(draft, target)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink()


if __name__ == "__main__":
    entry()
