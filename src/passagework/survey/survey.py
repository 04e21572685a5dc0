"""A survey from beginning to end."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from passagework import __version__
from passagework.demands.profile import PROFILE_VERSION
from passagework.hands.hand import DEFAULT_REACH_CM
from passagework.survey.columns import FORMAT
from passagework.survey.errors import SurveyError
from passagework.survey.journal import KEPT, NOTHING, Journal
from passagework.survey.reader import Limits
from passagework.survey.row import TRANSIENT, Row
from passagework.survey.serve import Job
from passagework.survey.source import Entry, Source, open_source
from passagework.survey.table import (
    ROWS_AT_ONCE,
    Earlier,
    Known,
    kept_rows,
    merged,
    open_earlier,
    table_of,
    table_schema,
    write_table,
)

if TYPE_CHECKING:
    import pyarrow as pa

SYNC_S: Final = 5.0
"""Seconds after which the journal is brought to the disk, so that a power cut costs no more."""


@dataclass(frozen=True)
class Settings:
    """How a survey is made."""

    reach_cm: float = DEFAULT_REACH_CM
    workers: int | None = None
    """Readers on this machine; None for one on each core."""
    scheduler: str | None = None
    """Address of a Dask scheduler whose cluster does the work instead."""
    limits: Limits = field(default_factory=Limits)


@dataclass(frozen=True)
class Summary:
    """What a survey came to."""

    scores: int
    measured: int
    """Scores read and measured in this run."""
    kept: int
    """Scores whose rows came from an earlier run or an earlier table."""
    errors: int
    """Scores of this run that could not be measured."""


def make_survey(
    address: str, out: Path, settings: Settings, say: Callable[[str], None] = lambda _: None
) -> Summary:
    """Measure every score below `address` and write the table `out`; goes on with what a stopped run left.

    Raises `SurveyError` where that cannot be, before anything is overwritten.
    """
    source = open_source(address)
    say("looking for scores")
    entries = source.entries()
    if not entries:
        raise SurveyError(f"there is no score below {address}")
    earlier = open_earlier(out)
    try:
        with _locked(out):
            return _Run(source, entries, earlier, out, settings, say).make()
    except OSError as error:
        raise SurveyError(f"{out} cannot be written: {error.strerror or error}") from None


@contextlib.contextmanager
def _locked(out: Path) -> Iterator[None]:
    """Keep a second survey away from the same table, where the system can."""
    path = out.with_name(out.name + ".lock")
    with open(path, "ab") as stream:
        try:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
            # One that has just ended may have taken the file away in between.
            ours = path.exists() and os.path.samestat(os.fstat(stream.fileno()), path.stat())
        except ImportError:
            ours = True
        except BlockingIOError:
            ours = False
        if not ours:
            raise SurveyError(f"another survey is writing {out}")
        try:
            yield
        finally:
            path.unlink(missing_ok=True)


class _Run:
    def __init__(
        self, source: Source, entries: Sequence[Entry], earlier: Earlier | None, out: Path,
        settings: Settings, say: Callable[[str], None],
    ) -> None:  # fmt: skip
        self._source, self._entries, self._out = source, entries, out
        self._settings, self._say = settings, say
        self._earlier = earlier if earlier is not None and earlier.usable else None
        self._trusted = self._earlier is not None and self._earlier.address == source.address
        self._holds = bytearray(len(entries))
        """1 where the row of the earlier table holds."""
        self._about: dict[str, Any] = {
            "format": FORMAT, "address": source.address, "reach_cm": settings.reach_cm,
            "profile_version": PROFILE_VERSION,
        }  # fmt: skip
        head = {**self._about, "program_version": __version__}
        self._journal = Journal(out.with_name(out.name + ".partial"), head, entries)

    def make(self) -> Summary:
        """Measure what is to be measured, and write the table."""
        try:
            measured = same = errors = 0
            begun = synced = time.monotonic()
            for job, row in self._outcomes():
                index = self._journal.index(job.path)
                assert index is not None
                self._journal.add(index, row)
                measured += row is not None
                same += row is None
                errors += row is not None and row.get("error") is not None
                now = time.monotonic()
                if now - synced > SYNC_S:
                    self._journal.sync()
                    synced = now
                self._tell(measured + same, now - begun)
            self._say("writing the table")
            if self._changed(measured + same):
                self._write()
        except BaseException:
            self._journal.close()
            raise
        self._journal.remove()
        self._say("")
        return Summary(len(self._entries), measured, len(self._entries) - measured, errors)

    def _tell(self, done: int, seconds: float) -> None:
        before = self._journal.resumed + sum(self._holds)
        left = len(self._entries) - before - done
        speed = done / seconds if seconds > 0 else 0.0
        more = f", {speed:.1f} a second, {_long(left / speed)} to go" if speed > 0 else ""
        self._say(f"{before + done:,} of {len(self._entries):,} scores{more}")

    def _outcomes(self) -> Iterator[tuple[Job, Row | None]]:
        settings = self._settings
        if settings.scheduler:
            from passagework.survey.cluster import measure_there

            count = len(self._entries) - self._journal.resumed
            return measure_there(settings.scheduler, self._jobs(), count, settings.limits)
        from passagework.survey.local import cores, limits_for, measure_here

        workers = settings.workers or cores()
        return measure_here(self._jobs(), workers, limits_for(workers, settings.limits))

    def _jobs(self) -> Iterator[Job]:
        """What is to be measured, in order of path; notes on the way which rows of the earlier table hold."""
        for index, (entry, known) in enumerate(self._with_known()):
            if self._journal.offsets[index] != NOTHING:
                continue
            hash_ = self._usable_hash(known)
            if hash_ is not None and self._trusted and _untouched(entry, known):
                self._holds[index] = 1
                continue
            data, location = None, self._source.location(entry)
            if not self._source.shared:
                try:
                    data = self._source.bytes_of(entry)
                except OSError:
                    data = None  # told of by the reader, which does not find it either
            yield Job(
                entry.path,
                location,
                data,
                entry.size,
                entry.modified,
                hash_,
                self._settings.reach_cm,
            )

    def _with_known(self) -> Iterator[tuple[Entry, Known | None]]:
        """Every entry with its row of the earlier table."""
        rows = self._earlier.known() if self._earlier else iter(())
        row = next(rows, None)
        for entry in self._entries:
            while row is not None and row.path < entry.path:
                row = next(rows, None)
            yield entry, row if row is not None and row.path == entry.path else None

    def _usable_hash(self, known: Known | None) -> str | None:
        if known is None:
            return None
        same = known.reach_cm, known.profile_version
        usable = same == (self._settings.reach_cm, PROFILE_VERSION)
        return known.hash if usable and known.error_kind not in TRANSIENT else None

    def _changed(self, done: int) -> bool:
        """Whether the table that is there is not the one that is to be."""
        if self._earlier is None or not self._trusted or done or self._journal.resumed:
            return True
        return not self._earlier.rows == len(self._entries) == sum(self._holds)

    def _write(self) -> None:
        kind = table_schema(self._about)
        modified: dict[str, int | None] = {}
        fresh: list[int] = []
        for index, offset in enumerate(self._journal.offsets):
            if offset == NOTHING:
                continue
            line = self._journal.line(index)
            if isinstance(line, dict):
                self._holds[index] = 1
                modified[line[KEPT]] = line["modified"]
            else:
                fresh.append(index)
        tables = merged(self._earlier_rows(modified), self._fresh_rows(fresh, kind))
        draft = self._out.with_name(self._out.name + ".draft")
        write_table(self._out, draft, kind, tables)

    def _earlier_rows(self, modified: dict[str, int | None]) -> Iterator[pa.Table]:
        if self._earlier is None:
            return
        for table in self._earlier.tables():
            places = [self._journal.index(path) for path in table.column("path").to_pylist()]
            keep = [place is not None and self._holds[place] == 1 for place in places]
            yield kept_rows(table, modified, keep)

    def _fresh_rows(self, fresh: Sequence[int], kind: pa.Schema) -> Iterator[pa.Table]:
        for start in range(0, len(fresh), ROWS_AT_ONCE):
            part = fresh[start : start + ROWS_AT_ONCE]
            yield table_of([self._journal.line(index) for index in part], kind)


def _untouched(entry: Entry, known: Known | None) -> bool:
    return (
        known is not None
        and entry.modified is not None
        and known[1:3] == (entry.size, entry.modified)
    )


def _long(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.1f} h"
