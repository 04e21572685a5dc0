"""Edits as rows for storage, (kind, key, payload), and back.

A payload is plain JSON values. What cannot be understood, of a later version or damaged, becomes an
`OtherEdit` that is written back as it came, so that no version of the program loses what another wrote.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any, cast

from passagework.spots.spot import SpotHand
from passagework.teaching.edits import (
    WORD_FIELDS,
    AddedSpot,
    Anchor,
    ChangedWords,
    Edit,
    FixedFinger,
    HiddenSpot,
    OtherEdit,
    OwnNote,
    SkippedExercise,
    SpotName,
    Words,
)

Row = tuple[str, str, Any]
"""Kind, key, payload. For one piece and one student (or none) the kind and the key name an edit."""

NOTE, HIDDEN, WORDS, SPOT, FINGER, SKIPPED = (
    "own-note",
    "hidden-spot",
    "changed-words",
    "added-spot",
    "fixed-finger",
    "skipped-exercise",
)  # fmt: skip
"""Kinds of rows."""


def to_row(edit: Edit) -> Row:
    """The row of `edit`."""
    payload: dict[str, Any]
    match edit:
        case OwnNote():
            anchor = _anchor(edit.anchor) if edit.anchor else None
            return NOTE, edit.key, {"bar": edit.bar, "text": edit.text, "anchor": anchor}
        case HiddenSpot():
            return HIDDEN, edit.spot.spot_id, {"spot": _name(edit.spot)}
        case ChangedWords():
            payload = {"spot": _name(edit.spot), "words": _words(edit.words)}
            return WORDS, edit.spot.spot_id, payload
        case AddedSpot():
            return SPOT, edit.key, {
                "first_bar": edit.first_bar,
                "last_bar": edit.last_bar,
                "hand": edit.hand,
                "anchors": [_anchor(a) for a in edit.anchors],
                "words": _words(edit.words),
            }  # fmt: skip
        case FixedFinger():
            payload = {"anchor": _anchor(edit.anchor), "fingers": list(edit.fingers)}
            return FINGER, finger_key(edit.anchor), payload
        case SkippedExercise():
            payload = {"spot": _name(edit.spot), "technique": edit.technique}
            return SKIPPED, f"{edit.spot.spot_id} {edit.technique}", payload
        case OtherEdit():
            return edit.kind, edit.key, edit.payload


def finger_key(anchor: Anchor) -> str:
    """The key of a fixed finger: where the note stands, so that a new id is not a second edit."""
    return f"{anchor.bar} {anchor.onset} {anchor.pitch} {anchor.note_id}"


def from_row(kind: str, key: str, payload: Any) -> Edit:
    """The edit of a row; an `OtherEdit` where it is not understood."""
    try:
        edit = _read(kind, key, payload)
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError):
        return OtherEdit(kind, key, payload)
    # What does not come back as it was written would lose something when it is written again.
    return edit if to_row(edit)[2] == payload else OtherEdit(kind, key, payload)


def from_rows(rows: Iterable[Row]) -> tuple[Edit, ...]:
    """The edits of rows, in their order."""
    return tuple(from_row(*row) for row in rows)


def _read(kind: str, key: str, payload: Any) -> Edit:
    if kind == NOTE:
        anchor = payload["anchor"]
        own = _to_anchor(anchor) if anchor is not None else None
        return OwnNote(key, _whole(payload["bar"]), _text(payload["text"]), own)
    if kind == HIDDEN:
        return HiddenSpot(_to_name(payload["spot"]))
    if kind == WORDS:
        return ChangedWords(_to_name(payload["spot"]), _to_words(payload["words"]))
    if kind == SPOT:
        return AddedSpot(
            key,
            _whole(payload["first_bar"]),
            _whole(payload["last_bar"]),
            _hand(payload["hand"]),
            tuple(_to_anchor(a) for a in payload["anchors"]),
            _to_words(payload["words"]),
        )
    if kind == FINGER:
        return FixedFinger(_to_anchor(payload["anchor"]), fingers_of(payload["fingers"]))
    if kind == SKIPPED:
        return SkippedExercise(_to_name(payload["spot"]), _text(payload["technique"]))
    raise ValueError(f"no kind of edit: {kind}")


def fingers_of(values: Iterable[Any]) -> tuple[int, ...]:
    """Fingers of a note. Raises `ValueError` for none, more than five in a row, or no finger."""
    fingers = tuple(_whole(v) for v in values)
    if not 1 <= len(fingers) <= 5 or not all(1 <= f <= 5 for f in fingers):
        raise ValueError("fingers are numbered 1 (thumb) to 5 (little finger)")
    return fingers


def _anchor(anchor: Anchor) -> dict[str, Any]:
    return {
        "note": anchor.note_id,
        "bar": anchor.bar,
        "onset": str(anchor.onset),
        "pitch": anchor.pitch,
    }


def _to_anchor(value: Any) -> Anchor:
    onset = Fraction(_text(value["onset"]))
    return Anchor(_text(value["note"]), _whole(value["bar"]), onset, _whole(value["pitch"]))


def _name(name: SpotName) -> dict[str, Any]:
    return {
        "id": name.spot_id,
        "kind": name.kind,
        "hand": name.hand,
        "anchor": _anchor(name.anchor),
    }


def _to_name(value: Any) -> SpotName:
    return SpotName(
        _text(value["id"]), _text(value["kind"]), _hand(value["hand"]), _to_anchor(value["anchor"])
    )


def _words(words: Words) -> dict[str, Any]:
    rows = {name: getattr(words, name) for name in WORD_FIELDS if name in words.changed}
    return {name.strip("_"): list(v) if isinstance(v, tuple) else v for name, v in rows.items()}


def _to_words(value: Any) -> Words:
    known = {name.strip("_"): name for name in WORD_FIELDS}
    rows: dict[str, Any] = {known[name]: v for name, v in value.items()}
    if "try_" in rows:
        rows["try_"] = tuple(_text(line) for line in rows["try_"])
    for name in rows.keys() - {"try_"}:
        _text(rows[name])
    return Words(**rows)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("not a text")
    return value


def _whole(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError("not a whole number")
    return value


def _hand(value: Any) -> SpotHand:
    if value not in {"left", "right", "both"}:
        raise ValueError("not a hand")
    return cast(SpotHand, value)
