"""`passagework read`: writes what was read of a score."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.arguments import prepare, reach_arguments, score_argument
from passagework.cli.files import put, write_file

if TYPE_CHECKING:
    from passagework.cli.main import Commands


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("read", help="write what was read of a score, as JSON")
    score_argument(parser)
    parser.add_argument(
        "--json", metavar="FILE", required=True, help="file to write, - for the screen"
    )
    reach_arguments(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    import json

    from passagework.guide.reading_document import reading_document

    document = reading_document(prepare(options))
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    if options.json == "-":
        put(text)
    else:
        write_file(Path(options.json), (text + "\n").encode())
