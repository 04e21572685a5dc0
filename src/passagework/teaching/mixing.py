"""The order of one day's practices."""

from __future__ import annotations

from collections.abc import Sequence

from passagework.teaching.items import Item
from passagework.teaching.progress import Session


def mixed(rows: Sequence[tuple[Item | None, Session]]) -> list[Session]:
    """The practices of one day in the order in which they are to be played: no two of one kind or piece in a row where that
    can be helped (mixed practice is kept better than practice in blocks: Rohrer, 2012), new things while the student
    is fresh, playing through last.
    """
    through = [s for item, s in rows if item is None]
    rest = sorted(
        ((item, s) for item, s in rows if item is not None),
        key=lambda r: (r[1].role != "learn", -r[0].worth, r[0].id),
    )
    order: list[Session] = []
    before: Item | None = None
    while rest:
        at = min(range(len(rest)), key=lambda i: (_alike(before, rest[i][0]), i))
        before, session = rest.pop(at)
        order.append(session)
    return [*order, *through]


def _alike(one: Item | None, other: Item) -> int:
    """How much two items have in common, to be kept apart."""
    if one is None:
        return 0
    same = (one.what, one.layer, one.kind) == (other.what, other.layer, other.kind)
    return 2 * same + (one.piece_id == other.piece_id)
