"""`passagework finger`: writes a finger on every note."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.arguments import prepare, reach_arguments, score_argument
from passagework.cli.files import UnusableInputError, complain, write_file

if TYPE_CHECKING:
    from passagework.cli.main import Commands


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("finger", help="write the score with a finger on every note")
    score_argument(parser)
    parser.add_argument("--out", metavar="FILE", required=True, help="MusicXML file to write")
    parser.add_argument(
        "--hand", choices=("left", "right", "both"), default="both", help="which hand to finger"
    )
    parser.add_argument(
        "--replace", action="store_true", help="take out the printed fingers and choose anew"
    )
    parser.add_argument(
        "--sparse", action="store_true", help="only where an editor would print a number"
    )
    reach_arguments(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    from passagework.hands.fingering import BOTH, finger_piece
    from passagework.hands.write import write_fingering

    target = Path(options.out)
    if target.suffix.lower() not in {".musicxml", ".xml"}:
        raise UnusableInputError(f"{target} must end in .musicxml, which is what is written")
    preparation = prepare(options)
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
        complain(str(warning))
