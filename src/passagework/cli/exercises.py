"""`passagework exercises`: writes exercises for the places, or for bars of the teacher's choice."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.arguments import (
    prepare,
    reach_arguments,
    score_argument,
    sound,
    soundfont_argument,
)
from passagework.cli.files import UnusableInputError, make_folder, progress, put, write_file

if TYPE_CHECKING:
    from passagework.cli.main import Commands


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "exercises", help="write exercises for the places, or for bars of your choice"
    )
    score_argument(parser)
    parser.add_argument("--out", metavar="DIR", required=True, help="folder to write into")
    parser.add_argument(
        "--bars", metavar="12-16", help="bars by their printed numbers, instead of the places found"
    )
    parser.add_argument("--kind", metavar="KIND", help="only for places of this kind")
    parser.add_argument(
        "--technique", metavar="NAME", help="this practice technique for the bars of --bars"
    )
    parser.add_argument(
        "--sound", choices=("wav", "mp3", "ogg", "flac"), help="write the sound of every step too"
    )
    soundfont_argument(parser)
    reach_arguments(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    from passagework.guide.exercise_page import exercise_files
    from passagework.guide.offers import offers_for

    folder = Path(options.out)
    preparation = prepare(options)
    try:
        offers = offers_for(preparation, options.bars, options.kind, options.technique)
    except ValueError as error:
        raise UnusableInputError(str(error)) from None
    make_folder(folder)
    say = progress()
    count = 0
    for name, data in exercise_files(preparation, offers, sound=sound(options)):
        say(f"writing {name}")
        write_file(folder / name, data)
        count += 1
    say("")
    put(f"{folder / 'exercises.pdf'}  (and {count - 1} files beside it)")
