"""The columns of a survey: name, type, unit and meaning of each, in their order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import pyarrow as pa

Sort = Literal["text", "texts", "whole", "number", "time"]

FORMAT = "passagework.survey/1"

MEASURES: tuple[tuple[str, str, str], ...] = (
    ("hardest", "", "how hard at its hardest, 0 to 1"),
    ("typical", "", "how hard on the median, 0 to 1"),
    ("share", "share of bars", "share of the bars that hold it, 0 to 1"),
    ("per_minute", "1/min", "occurrences in a minute of playing"),
)
"""What is said of every kind of difficulty (`passagework.demands.profile.KindDemand`)."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column."""

    name: str
    sort: Sort
    unit: str
    meaning: str


ABOUT: tuple[Column, ...] = (
    Column("path", "text", "", "path below the folder of the survey, with /; the order of the rows"),
    Column("hash", "text", "", "SHA-256 of the file's bytes, hexadecimal; null where they could not be read"),
    Column("size", "whole", "bytes", "size of the file"),
    Column("modified", "time", "ns", "when the file was last changed, where the file system says so"),
    Column("title", "text", "", "as the score says"),
    Column("composer", "text", "", "as the score says"),
    Column("key", "text", "", "key of the first and last bars, e.g. E flat major; null where it cannot be told"),
    Column("metre", "text", "", "time signature of the first whole bar"),
    Column("bars", "whole", "bars", "bars as written, without a pickup"),
    Column("notes", "whole", "notes", "notes as written, tied ones once"),
    Column("seconds", "number", "s", "playing time with repeats at the tempo marked, said or assumed"),
    Column("lowest", "whole", "MIDI number", "lowest note, 60 for middle C"),
    Column("highest", "whole", "MIDI number", "highest note"),
    Column("score", "number", "points", "place between first-year music (about 0) and concert music (about 100), nothing graded"),
    Column("warnings", "texts", "", "what had to be repaired or guessed in reading"),
    Column("error", "text", "", "why the score could not be measured, in one line; null where it was"),
    Column("error_kind", "text", "", "unreadable, file, time, memory, crash or fault; null without an error"),
    Column("reach_cm", "number", "cm", "span of the hand that the profile is for"),
    Column("profile_version", "whole", "", "version of the meaning of the profile's numbers"),
    Column("program_version", "text", "", "version of the program that measured the row"),
)  # fmt: skip


def kind_column(kind: str, measure: str) -> str:
    """Name of the column of a kind's measure: ``kind_same_keys_hardest``."""
    return f"kind_{kind.replace('-', '_')}_{measure}"


def descriptor_column(name: str) -> str:
    """Name of the column of a descriptor: ``descriptor_speed_busier``."""
    return f"descriptor_{name}"


@cache
def columns() -> tuple[Column, ...]:
    """Every column of the table. The kinds are those that are measured without the dear analyses (`measure_demands`)."""
    from passagework.demands.descriptors import DESCRIPTORS
    from passagework.demands.reference import DEAR
    from passagework.spots.table import all_kinds

    kinds = [
        Column(kind_column(kind.name, measure), "number", unit, f"{kind.title}: {meaning}")
        for kind in all_kinds()
        if kind.name not in DEAR
        for measure, unit, meaning in MEASURES
    ]
    descriptors = [
        Column(descriptor_column(d.name), "number", d.unit, f"{d.title} ({d.source})")
        for d in DESCRIPTORS
    ]
    return (*ABOUT, *kinds, *descriptors)


@cache
def names() -> tuple[str, ...]:
    """Names of the columns, in order."""
    return tuple(column.name for column in columns())


def schema(about: Mapping[str, str]) -> pa.Schema:
    """The schema of the table; `about` is what is said of the whole survey."""
    import pyarrow as pa

    types = {
        "text": pa.string(),
        "texts": pa.list_(pa.string()),
        "whole": pa.int64(),
        "number": pa.float64(),
        "time": pa.int64(),
    }
    fields = [
        pa.field(c.name, types[c.sort], metadata={"unit": c.unit, "meaning": c.meaning})
        for c in columns()
    ]
    return pa.schema(fields, metadata=dict(about))
