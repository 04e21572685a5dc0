"""The finished table: a Parquet file in order of path, read and written a few thousand rows at a time."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from passagework.survey.columns import FORMAT, schema
from passagework.survey.errors import SurveyError

if TYPE_CHECKING:
    import pyarrow as pa

ROWS_A_GROUP: Final = 5_000
"""Rows of a row group: 9 MB in memory; a filter on one column skips whole groups by their statistics."""

ROWS_AT_ONCE: Final = 1_000

METADATA: Final = b"passagework"


class Known(NamedTuple):
    """What of a row of the earlier table decides whether it still holds."""

    path: str
    size: int | None
    modified: int | None
    hash: str | None
    error_kind: str | None
    reach_cm: float
    profile_version: int


@dataclass(frozen=True)
class Earlier:
    """An earlier table at the same place."""

    path: Path
    address: str
    rows: int
    usable: bool
    """Whether it has the columns of today."""

    def known(self) -> Iterator[Known]:
        """What of its rows decides whether they still hold, in order of path."""
        import pyarrow.parquet as pq

        asked = list(Known._fields)
        with pq.ParquetFile(self.path) as file:
            for batch in file.iter_batches(ROWS_AT_ONCE, columns=asked):
                columns = [batch.column(name).to_pylist() for name in asked]
                yield from map(Known._make, zip(*columns, strict=True))

    def tables(self) -> Iterator[pa.Table]:
        """Its rows, in order of path."""
        import pyarrow as pa
        import pyarrow.parquet as pq

        with pq.ParquetFile(self.path) as file:
            for batch in file.iter_batches(ROWS_AT_ONCE):
                yield pa.Table.from_batches([batch])


def open_earlier(path: Path) -> Earlier | None:
    """The earlier table, None where there is no file. Raises `SurveyError` for a file that is no survey."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    if not path.exists():
        return None
    try:
        with pq.ParquetFile(path) as file:
            found, rows = file.schema_arrow, file.metadata.num_rows
    except (pa.ArrowException, OSError) as error:
        raise SurveyError(
            f"{path} is there already and is no survey; name another file ({' '.join(str(error).split())[:80]})"
        ) from None
    about = _about(found)
    if about.get("format") != FORMAT:
        raise SurveyError(f"{path} is there already and is no survey; name another file")
    usable = found.remove_metadata().equals(schema({}).remove_metadata())
    return Earlier(path, str(about.get("address", "")), rows, usable)


def _about(found: pa.Schema) -> dict[str, Any]:
    try:
        value = json.loads((found.metadata or {}).get(METADATA, b"{}"))
    except ValueError:
        return {}
    return value if isinstance(value, dict) else {}


def table_schema(about: Mapping[str, Any]) -> pa.Schema:
    """The schema with what is said of the whole survey."""
    return schema({METADATA.decode(): json.dumps(about, sort_keys=True)})


def table_of(rows: Sequence[Sequence[Any]], kind: pa.Schema) -> pa.Table:
    """A table of rows in the order of the columns."""
    import pyarrow as pa

    columns = zip(*rows, strict=True) if rows else [()] * len(kind)
    arrays = [pa.array(values, field.type) for values, field in zip(columns, kind, strict=True)]
    return pa.Table.from_arrays(arrays, schema=kind)


def kept_rows(
    table: pa.Table, modified: Mapping[str, int | None], keep: Sequence[bool]
) -> pa.Table:
    """The rows to keep, with the new times of change of those that have one."""
    import pyarrow as pa

    table = table.filter(pa.array(keep, pa.bool_()))
    paths = table.column("path").to_pylist()
    if not any(path in modified for path in paths):
        return table
    old = table.column("modified").to_pylist()
    new = [modified.get(p, m) for p, m in zip(paths, old, strict=True)]
    at = table.schema.get_field_index("modified")
    return table.set_column(at, table.schema.field(at), pa.array(new, pa.int64()))


def merged(one: Iterator[pa.Table], other: Iterator[pa.Table]) -> Iterator[pa.Table]:
    """Two rows of tables, each in order of path, as one. No path is in both."""
    import pyarrow as pa

    left, right = _next(one), _next(other)
    while left is not None and right is not None:
        bound = min(_last(left), _last(right))
        left, first = _split(left, bound)
        right, second = _split(right, bound)
        yield pa.concat_tables([first, second]).sort_by("path")
        left = left if left.num_rows else _next(one)
        right = right if right.num_rows else _next(other)
    for rest, more in ((left, one), (right, other)):
        if rest is not None:
            yield rest
            yield from (table for table in more if table.num_rows)


def _next(tables: Iterator[pa.Table]) -> pa.Table | None:
    return next((table for table in tables if table.num_rows), None)


def _last(table: pa.Table) -> str:
    return str(table.column("path")[-1].as_py())


def _split(table: pa.Table, bound: str) -> tuple[pa.Table, pa.Table]:
    """Rows after `bound`, rows up to it."""
    paths = table.column("path").to_pylist()
    count = sum(path <= bound for path in paths)
    return table.slice(count), table.slice(0, count)


def write_table(path: Path, draft: Path, kind: pa.Schema, tables: Iterator[pa.Table]) -> None:
    """Write `tables` so that `path` holds the old table or the whole new one, never a part."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    waiting: list[pa.Table] = []
    count = 0
    with pq.ParquetWriter(draft, kind, compression="zstd") as writer:
        for table in tables:
            waiting.append(table.replace_schema_metadata(kind.metadata).cast(kind))
            count += table.num_rows
            while count >= ROWS_A_GROUP:
                whole = pa.concat_tables(waiting)
                writer.write_table(whole.slice(0, ROWS_A_GROUP), ROWS_A_GROUP)
                waiting, count = [whole.slice(ROWS_A_GROUP)], count - ROWS_A_GROUP
        if count:
            writer.write_table(pa.concat_tables(waiting), ROWS_A_GROUP)
    with open(draft, "rb+") as stream:
        os.fsync(stream.fileno())
    os.replace(draft, path)
