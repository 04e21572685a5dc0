"""`passagework listen`: says what a take shows."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.arguments import prepare, reach_arguments, score_argument
from passagework.cli.files import UnusableInputError, bytes_of, complain, progress, put, write_file

if TYPE_CHECKING:
    from passagework.cli.main import Commands
    from passagework.listening.take import Take


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "listen", help="say what a take shows: wrong notes, hesitations, rhythm, balance and more"
    )
    score_argument(parser)
    parser.add_argument(
        "take", metavar="TAKE", help="MIDI, or a recording (WAV, FLAC, Ogg, MP3, M4A)"
    )
    parser.add_argument("--json", metavar="FILE", help="file to write, - for the screen")
    parser.add_argument(
        "--out", metavar="FILE.html", help="report to write, to be read in a browser"
    )
    parser.add_argument(
        "--before", metavar="TAKE", help="an earlier take, for the report to compare with"
    )
    reach_arguments(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    import json

    from passagework.guide.take_document import take_document
    from passagework.listening.listen import listen

    if not options.json and not options.out:
        raise UnusableInputError("say where to write: --json FILE, --out report.html, or both")
    if options.before and not options.out:
        raise UnusableInputError(
            "--before is for the report; say where to write it: --out report.html"
        )
    preparation = prepare(options)
    listened = listen(preparation.context, _take(Path(options.take)))
    if options.json:
        document = take_document(listened, preparation.spots)
        text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
        if options.json == "-":
            put(text)
        else:
            write_file(Path(options.json), (text + "\n").encode())
    if options.out:
        from passagework.guide.take_report import take_report

        before = (
            listen(preparation.context, _take(Path(options.before))) if options.before else None
        )
        write_file(Path(options.out), take_report(preparation, listened, before))
    if not listened.recognised:
        share = listened.alignment.fit
        complain(
            f"{options.take} does not sound like {options.score}: only {share:.0%} of its notes are found in the score"
        )


def _take(path: Path) -> Take:
    from passagework.listening.read_take import read_take
    from passagework.listening.sound_file import MOST_BYTES

    say = progress()
    data = bytes_of(path, MOST_BYTES)
    try:
        return read_take(data, progress=lambda what, share: say(f"{what}: {share:.0%}"))
    finally:
        say("")
