"""`passagework serve`: opens the studio's page in the browser."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.files import UnusableInputError, put

if TYPE_CHECKING:
    from passagework.cli.main import Commands

NEEDED = ("fastapi", "uvicorn", "multipart", "python_multipart", "sqlalchemy", "alembic")
"""Packages that only the page needs."""


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "serve", help="open the studio's page in the browser, on this machine alone"
    )
    parser.add_argument(
        "--data", metavar="DIR", help="folder of the studio; without it, this person's own"
    )
    parser.add_argument("--port", metavar="N", type=_port, help="port on 127.0.0.1")
    parser.add_argument("--no-browser", action="store_true", help="only say where the page is")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    from passagework.web.serve import ServeError, Wanted, serve

    folder = Path(options.data) if options.data else None
    try:
        serve(Wanted(folder, options.port, not options.no_browser), put)
    except ServeError as error:
        raise UnusableInputError(str(error)) from None
    except ModuleNotFoundError as error:
        if error.name not in NEEDED:
            raise
        raise UnusableInputError(
            f"the page needs the package {error.name}, which is not installed"
        ) from None


def _port(text: str) -> int:
    if text.isascii() and text.isdigit() and 1 <= int(text) <= 65535:
        return int(text)
    raise argparse.ArgumentTypeError(f"'{text}' is not a port (1 to 65535)")
