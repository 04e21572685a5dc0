"""All tables by their names."""

from __future__ import annotations

from passagework.studio import tables_people, tables_pieces, tables_studio
from passagework.studio.columns import Base

__all__ = ["TABLES", "tables_people", "tables_pieces", "tables_studio"]

TABLES: dict[str, type[Base]] = {
    str(mapper.local_table.name): mapper.class_  # type: ignore[attr-defined]  # a table, never a join
    for mapper in Base.registry.mappers
}
