"""`passagework guide`: writes the guide of a piece."""

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
from passagework.cli.files import make_folder, progress, put, write_file

if TYPE_CHECKING:
    from passagework.cli.main import Commands


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "guide", help="write the guide of a piece: guide.html, guide.pdf, guide.json"
    )
    score_argument(parser)
    parser.add_argument("--out", metavar="DIR", required=True, help="folder to write into")
    parser.add_argument(
        "--exercises",
        choices=("none", "first", "all"),
        default="first",
        help="show the steps of no exercise, of the first of each place, or of all",
    )
    parser.add_argument(
        "--sound", choices=("mp3", "ogg"), help="put the sound of the steps into the HTML"
    )
    soundfont_argument(parser)
    reach_arguments(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    from passagework.guide.write import guide_files

    folder = Path(options.out)
    preparation = prepare(options)
    make_folder(folder)
    files = guide_files(preparation, progress(), exercises=options.exercises, sound=sound(options))
    for name, data in files.items():
        write_file(folder / name, data)
    put(f"{folder / 'guide.html'}  (open it in a browser; guide.pdf is the same for printing)")
