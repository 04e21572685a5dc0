"""The program: which commands there are, and how a run ends.

Exit status 0: done; 1: the input cannot be used (one line on stderr); 2: wrong arguments; 130: stopped.
"""

from __future__ import annotations

import argparse
import gc
import os
import signal
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, NoReturn

from passagework import __version__
from passagework.cli.files import UnusableInputError, complain

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

COMMANDS = ("guide", "read", "finger", "exercises", "listen", "level", "survey", "serve")
"""One module of this room each, with `add` and `run`."""


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
        complain("stopped; nothing half-written is left")
        return 130


def _run(options: argparse.Namespace) -> int:
    from passagework.listening.errors import TakeError
    from passagework.score.errors import ScoreError
    from passagework.sound.errors import SoundError

    try:
        run: Callable[[argparse.Namespace], None] = options.run
        run(options)
    except (ScoreError, SoundError, TakeError, UnusableInputError) as error:
        complain(str(error))
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except Exception as error:
        if os.environ.get("PASSAGEWORK_TRACE"):
            raise
        complain(
            f"a fault of the program, not of your file ({type(error).__name__}: "
            f"{str(error)[:120]}); run again with PASSAGEWORK_TRACE=1 and report what it says"
        )
        return 1
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="passagework",
        description="Prepares a piano piece for a student: the places that will go wrong, why, "
        "and what to do about each.",
    )
    parser.add_argument("--version", action="version", version=f"passagework {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in COMMANDS:
        import_module(f"passagework.cli.{name}").add(commands)
    return parser
