"""`passagework survey`: a whole library measured into one table."""

from __future__ import annotations

import argparse
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from passagework.cli.arguments import reach_cm
from passagework.cli.files import UnusableInputError, complain, progress

if TYPE_CHECKING:
    from passagework.cli.main import Commands

MOST_WORKERS = 256


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "survey", help="measure every score below a folder into one table, one row a piece"
    )
    parser.add_argument(
        "folder", metavar="DIR", help="folder of scores, or an address such as s3://library/scores"
    )
    parser.add_argument("--out", metavar="FILE.parquet", required=True, help="table to write")
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="let the Dask cluster of this scheduler do the work"
    )
    parser.add_argument(
        "--reach",
        metavar="CM",
        type=reach_cm,
        help="span from thumb to little finger, stretched without strain, in centimetres",
    )
    parser.add_argument(
        "--workers",
        metavar="N",
        type=_workers,
        help="processes on this machine; one a core without it",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    _need("survey", "pyarrow", "fsspec")
    if options.scheduler:
        _need("cluster", "distributed")
    from passagework.hands.hand import DEFAULT_REACH_CM
    from passagework.survey.errors import SurveyError
    from passagework.survey.survey import Settings, make_survey

    settings = Settings(options.reach or DEFAULT_REACH_CM, options.workers, options.scheduler)
    out = Path(options.out)
    if out.is_dir():
        raise UnusableInputError(f"{out} is a folder; name a file in it")
    if not out.absolute().parent.is_dir():
        raise UnusableInputError(f"there is no folder {out.absolute().parent}")
    say = progress()
    try:
        done = make_survey(options.folder, out, settings, say)
    except SurveyError as error:
        say("")
        raise UnusableInputError(str(error)) from None
    except KeyboardInterrupt:
        say("")
        complain(f"stopped; what was measured is kept beside {out}, run the same again to go on")
        raise SystemExit(130) from None
    if done.errors:
        complain(
            f"{done.errors} of the {done.measured} scores that were read could not be measured; "
            "the column 'error' says why"
        )


def _need(extra: str, *modules: str) -> None:
    if any(find_spec(module) is None for module in modules):
        raise UnusableInputError(
            f"this needs the extra '{extra}': pip install 'passagework[{extra}]'"
        )


def _workers(text: str) -> int:
    if text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_WORKERS:
        return int(text)
    raise argparse.ArgumentTypeError(
        f"'{text}' is not a number of processes from 1 to {MOST_WORKERS}"
    )
