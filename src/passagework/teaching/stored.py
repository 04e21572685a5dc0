"""Students, plans and assignments as JSON and back: plain dataclasses, each file with its format and version.

Dates are written as ``2026-03-01``, sets as sorted lists, everything else as JSON has it. Reading checks every value
against the type of its field, so that a file that was changed by hand, or is another's, is refused in one clear line.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


class StoredError(ValueError):
    """What was read is not what it should be: says where and what."""


def write(value: object, form: str) -> dict[str, Any]:
    """`value`, a dataclass, as plain JSON values under the name of its format."""
    plain = _plain(value)
    assert isinstance(plain, dict)
    return {"format": form, **plain}


def read(data: object, kind: type[T], form: str) -> T:
    """The `kind` that `write` made `data` of. Raises `StoredError` where it is none."""
    if not isinstance(data, Mapping):
        raise StoredError(f"this is not a {form}: it is no object")
    if data.get("format") != form:
        raise StoredError(f"this is not a {form} but {str(data.get('format'))[:60]!r}")
    rest = {k: v for k, v in data.items() if k != "format"}
    try:
        return _value(rest, kind, form)  # type: ignore[no-any-return]
    except StoredError:
        raise
    except (ValueError, TypeError, RecursionError) as error:
        raise StoredError(f"{form}: {error}") from None


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, frozenset):
        return sorted(_plain(v) for v in value)
    if isinstance(value, (tuple, list)):
        return [_plain(v) for v in value]
    if isinstance(value, date):
        return value.isoformat()
    return value


def _value(data: Any, kind: Any, where: str) -> Any:
    origin = get_origin(kind)
    if origin in (Union, UnionType):
        return _one_of(data, get_args(kind), where)
    if origin is Literal:
        if data not in get_args(kind):
            raise StoredError(
                f"{where}: {data!r} is none of {', '.join(map(repr, get_args(kind)))}"
            )
        return data
    if origin in (tuple, frozenset):
        return _row(data, kind, where)
    if origin is not None and issubclass(origin, Mapping):
        if not isinstance(data, Mapping):
            raise _wrong(data, "an object", where)
        of = get_args(kind)[1]
        return {str(k): _value(v, of, f"{where}.{k}") for k, v in data.items()}
    if is_dataclass(kind):
        return _dataclass(data, kind, where)
    return _simple(data, kind, where)


def _one_of(data: Any, kinds: tuple[Any, ...], where: str) -> Any:
    if data is None and NoneType in kinds:
        return None
    (kind,) = (k for k in kinds if k is not NoneType)
    return _value(data, kind, where)


def _row(data: Any, kind: Any, where: str) -> Any:
    if not isinstance(data, (list, tuple)):
        raise _wrong(data, "a list", where)
    args = get_args(kind)
    if get_origin(kind) is frozenset:
        return frozenset(_value(v, args[0], f"{where}[{i}]") for i, v in enumerate(data))
    if args[-1] is Ellipsis:
        return tuple(_value(v, args[0], f"{where}[{i}]") for i, v in enumerate(data))
    if len(data) != len(args):
        raise _wrong(data, f"a list of {len(args)}", where)
    return tuple(
        _value(v, a, f"{where}[{i}]") for i, (v, a) in enumerate(zip(data, args, strict=True))
    )


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _dataclass(data: Any, kind: Any, where: str) -> Any:
    if not isinstance(data, Mapping):
        raise _wrong(data, "an object", where)
    hints = _hints(kind)
    values: dict[str, Any] = {}
    for field in fields(kind):
        if field.name in data:
            values[field.name] = _value(
                data[field.name], hints[field.name], f"{where}.{field.name}"
            )
        elif field.default is MISSING and field.default_factory is MISSING:
            raise StoredError(f"{where}: {field.name} is missing")
    return kind(**values)


def _simple(data: Any, kind: Any, where: str) -> Any:
    if kind is date:
        if not isinstance(data, str):
            raise _wrong(data, "a day as 2026-03-01", where)
        return date.fromisoformat(data)
    if kind is float:
        if isinstance(data, bool) or not isinstance(data, (int, float)) or not math.isfinite(data):
            raise _wrong(data, "a number", where)
        return float(data)
    if kind is int and isinstance(data, bool):
        raise _wrong(data, "a whole number", where)
    if not isinstance(data, kind):
        names = {int: "a whole number", str: "text", bool: "true or false"}
        raise _wrong(data, names.get(kind, "another value"), where)
    return data


def _wrong(data: Any, expected: str, where: str) -> StoredError:
    return StoredError(f"{where} should be {expected}, not {str(data)[:40]!r}")
