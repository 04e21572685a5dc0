"""`passagework level`: places pieces on the teacher's own scale of levels."""

from __future__ import annotations

import argparse
import gc
import os
import signal
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from passagework.cli.arguments import reach_cm
from passagework.cli.files import UnusableInputError, bytes_of, complain, progress, put, write_file
from passagework.cli.graded_list import ListedPiece, read_list

if TYPE_CHECKING:
    from passagework.cli.main import Commands
    from passagework.demands.levels import LevelScale
    from passagework.demands.profile import Demands

FORMAT = "passagework.level/1"

Job = tuple[str, float]
"""A file's real path, and the reach in centimetres that it is measured for."""

FEWEST_FOR_PROCESSES = 4
"""Scores below which one process is done before others have started."""


@dataclass(frozen=True)
class Measured:
    """One score: its profile and where it stands in words, or why it could not be read."""

    demands: Demands | None
    bars: dict[str, str]
    """For each descriptor the bars that hold the most of it, in words."""
    error: str = ""


def add(commands: Commands) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser(
        "level",
        help="place pieces on your own scale of levels, learned from pieces you have graded",
    )
    parser.add_argument(
        "scores", metavar="SCORE", nargs="+", help="pieces to place: MusicXML, MEI, kern or MIDI"
    )
    parser.add_argument(
        "--graded", metavar="LIST.csv", help="pieces you have graded: one line each, path,level"
    )
    parser.add_argument(
        "--json", metavar="FILE", required=True, help="file to write, - for the screen"
    )
    parser.add_argument(
        "--reach",
        metavar="CM",
        type=reach_cm,
        help="span from thumb to little finger, stretched without strain, in centimetres",
    )
    parser.add_argument(
        "--order",
        metavar="A,B,C",
        help="your levels, easiest first, where their names do not say it",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Run the command."""
    import json

    from passagework.hands.hand import DEFAULT_REACH_CM

    listed = read_list(Path(options.graded)) if options.graded else []
    scores = [Path(score) for score in options.scores]
    # Grades are for the usual hand; what a student's own hand makes harder is measured on that scale.
    jobs = {(_real(p.path), DEFAULT_REACH_CM): str(p.path) for p in listed}
    reach = options.reach or DEFAULT_REACH_CM
    jobs |= {(_real(score), reach): str(score) for score in scores}
    measured = measure_all(jobs)
    scale = _learn(listed, measured, options.order)
    named = {_real(piece.path): piece.named for piece in listed}
    rows = [_row(score, measured[_real(score), reach], scale, named) for score in scores]
    if all("error" in row for row in rows):
        raise UnusableInputError(rows[0]["error"])
    document = {"format": FORMAT, "pieces": rows}
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    if options.json == "-":
        put(text)
    else:
        write_file(Path(options.json), (text + "\n").encode("utf-8", "surrogateescape"))
    for row in rows:
        if "error" in row:
            complain(row["error"])


def _real(path: Path) -> str:
    return os.path.realpath(path)


def _learn(
    listed: Sequence[ListedPiece], measured: Mapping[Job, Measured], order: str | None
) -> LevelScale:
    """The scale of the graded pieces that could be read; what is uncertain about it is said."""
    from passagework.demands.levels import FEWEST_GRADED, GradedPiece, learn_levels
    from passagework.demands.words import ranked_only
    from passagework.hands.hand import DEFAULT_REACH_CM

    graded: dict[str, GradedPiece] = {}
    for piece in listed:
        found = measured[_real(piece.path), DEFAULT_REACH_CM]
        if found.demands is None:
            complain(f"{found.error}; left out of the graded pieces")
        else:
            graded[_real(piece.path)] = GradedPiece(piece.named, piece.level, found.demands)
    try:
        named = [part.strip() for part in order.split(",")] if order else None
        scale = learn_levels(tuple(graded.values()), named)
    except ValueError as error:
        raise UnusableInputError(str(error)) from None
    if scale.ranks_only:
        complain(ranked_only(len(graded), FEWEST_GRADED, len(scale.order.levels)))
    elif not scale.order.sure:
        complain(
            f"the levels are taken in the order {', '.join(scale.order.levels)}; if that is wrong, say it with --order"
        )
    return scale


def _row(
    path: Path, found: Measured, scale: LevelScale, named: Mapping[str, str]
) -> dict[str, Any]:
    """What is said of one score; `named` gives the name in the list of a file that is graded itself."""
    from passagework.demands.words import reason_sentence

    if found.demands is None:
        return {
            "path": str(path), "level": None, "low": None, "high": None, "score": None,
            "reasons": [], "neighbours": [], "error": found.error,
        }  # fmt: skip
    own = named.get(_real(path))
    placed = scale.place(found.demands, own)
    return {
        "path": str(path),
        "level": placed.level,
        "low": placed.low,
        "high": placed.high,
        "score": placed.score,
        "reasons": [
            {
                "demand": r.demand,
                "value": r.value,
                "usual": r.usual,
                "points": r.points,
                "bars": found.bars.get(r.demand, "") if r.bars else "",
                "text": reason_sentence(r, found.bars.get(r.demand, ""), graded=bool(scale.graded)),
            }
            for r in placed.reasons
        ],
        "neighbours": [
            {"path": n.id, "level": n.level, "distance": n.distance} for n in placed.neighbours
        ],
    }


def measure_all(jobs: Mapping[Job, str]) -> dict[Job, Measured]:
    """Every score measured for its hand, on all cores where there are many; `jobs` says how the files were named."""
    say = progress()
    result: dict[Job, Measured] = {}
    for job, found in _measured(jobs):
        result[job] = found
        say(f"{len(result)} of {len(jobs)} scores")
    say("")
    return result


def _measured(jobs: Mapping[Job, str]) -> Iterator[tuple[Job, Measured]]:
    workers = min(_cores(), len(jobs))
    if workers < 2 or len(jobs) < FEWEST_FOR_PROCESSES:
        for job, path in jobs.items():
            yield job, measure_file(path, job[1])
        return
    with ProcessPoolExecutor(workers, initializer=_start) as pool:
        running = {pool.submit(measure_file, path, job[1]): job for job, path in jobs.items()}
        try:
            for done in as_completed(running):
                job = running[done]
                try:
                    yield job, done.result()
                except BrokenProcessPool:
                    yield job, Measured(None, {}, f"{jobs[job]}: the system ended the reading")
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _cores() -> int:
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def _start() -> None:
    gc.set_threshold(100_000, 20, 20)  # as in the program itself
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the program ends its workers, and says so once


def measure_file(path: str, reach: float) -> Measured:
    """One score measured; an error in it is told and not raised."""
    from passagework.demands.measure import measure_for_level
    from passagework.hands.hand import Hand
    from passagework.score.bar_names import bar_names
    from passagework.score.errors import ScoreError
    from passagework.score.read import read_score
    from passagework.spots.context import Context

    try:
        file = Path(path)
        piece = read_score(bytes_of(file), file.name).piece
        demands = measure_for_level(Context(piece, Hand(reach)))
    except (ScoreError, UnusableInputError) as error:
        text = " ".join(str(error).split())
        return Measured(
            None, {}, text if path in text or Path(path).name in text else f"{path}: {text}"
        )
    except Exception as error:  # one file must not end the work on the others
        if os.environ.get("PASSAGEWORK_TRACE"):
            raise
        text = f"{path}: a fault of the program, not of your file ({type(error).__name__}: {str(error)[:120]})"
        return Measured(None, {}, " ".join(text.split()))
    names = {name: bar_names(piece, sorted(bars)) for name, bars in demands.descriptor_bars.items()}
    return Measured(demands, names)
