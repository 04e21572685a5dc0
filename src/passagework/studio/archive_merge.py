"""Merging a checked archive into a studio, in one transaction; the rules stand in `passagework.studio.archive_read`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, cast
from uuid import uuid4

from sqlalchemy import func, select

from passagework.studio import archive_tables as tables
from passagework.studio.archive_read import Contents, Incoming
from passagework.studio.archive_zip import Bundle
from passagework.studio.blobs import Blobs
from passagework.studio.changes import Change, columns_of
from passagework.studio.noted import list_named, note_details
from passagework.studio.piece_records import PieceDetails
from passagework.studio.pieces import forget_profile
from passagework.studio.records import plural
from passagework.studio.tables_people import Edit, Plan, Skill, Student, Take, TakeResult
from passagework.studio.tables_pieces import Number, Piece, Profile
from passagework.studio.tables_studio import Setting

ADDED, REPLACED, THE_SAME, LEFT_OUT = "added", "replaced", "the same", "left out"


@dataclass(frozen=True)
class ImportReport:
    """What came of reading an archive: for each table how many entries were added, replaced, the same, left out."""

    tables: Mapping[str, Mapping[str, int]]
    warnings: tuple[str, ...]

    @property
    def words(self) -> str:
        """What to tell the teacher."""
        sums = Counter[str]()
        for counts in self.tables.values():
            sums.update(counts)
        return (
            f"{plural(sums[ADDED], 'entry').replace('entrys', 'entries')} added, {sums[REPLACED]} brought up to date, "
            f"{sums[THE_SAME]} here already."
        )


@dataclass
class Merge:
    """A merge on its way."""

    change: Change
    bundle: Bundle
    scores: Blobs
    takes: Blobs
    ids: dict[str, dict[str, int]] = field(default_factory=lambda: {"student": {}, "piece": {}})
    """Ids here by uid there."""
    counts: dict[str, Counter[str]] = field(default_factory=dict)
    warnings: list[str] = field(default_factory=list)

    def run(self, contents: Contents) -> ImportReport:
        """Merge everything."""
        for name, labels in contents.level_lists:
            self._level_list(name, labels)
        for kept in tables.TABLES:
            self.counts[kept.name] = Counter()
            for incoming in contents.rows[kept.name]:
                self.counts[kept.name][self._row(kept, incoming)] += 1
        self._number_plans()
        self._settings(contents.settings)
        return ImportReport(self.counts, tuple(self.warnings))

    def _row(self, kept: tables.Kept, incoming: Incoming) -> str:
        if kept is tables.PIECES:
            return self._piece(incoming)
        values = self._here(incoming.values)
        if kept is tables.TAKES:
            return self._take(values, incoming)
        found = self._standing(kept.table, values)
        if found is None and "uid" in values:
            values["uid"] = self._free_uid(kept.table, values["uid"])
        row, result = self._put(kept.table, found, values)
        if kept is tables.STUDENTS:
            self.ids["student"][incoming.values["uid"]] = row.id
        return result

    def _here(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """The columns with this studio's ids in the place of uids."""
        found = dict(values)
        for column, other in tables.REFERENCES.items():
            if other in found:
                uid = found.pop(other)
                found[column] = None if uid is None else self.ids[other][uid]
        return found

    def _standing(self, table: Any, values: Mapping[str, Any]) -> Any:
        """The row here that is the same thing."""
        if table in (Edit, Skill):
            same = (
                ("piece_id", "student_id", "kind", "key")
                if table is Edit
                else ("student_id", "kind")
            )
            query = select(table)
            for name in same:
                column = getattr(table, name)
                value = values[name]
                query = query.where(column.is_(None) if value is None else column == value)
            return self.change.session.scalar(query)
        found = self.change.session.scalar(select(table).where(table.uid == values["uid"]))
        if found is not None and table is not Student and found.student_id != values["student_id"]:
            return None  # a uid that is used here for somebody else's: taken for another thing
        return found

    def _free_uid(self, table: Any, uid: str) -> str:
        taken = self.change.session.scalar(select(table.id).where(table.uid == uid))
        return uid if taken is None else uuid4().hex

    def _put(self, table: Any, row: Any, values: Mapping[str, Any]) -> tuple[Any, str]:
        session = self.change.session
        if row is None:
            row = table(**values)
            session.add(row)
            session.flush()
            return row, ADDED
        if getattr(row, "deleted_at", None) is not None:
            row.deleted_at = None
            result = REPLACED
        else:
            result = THE_SAME
        stamp = "made_at" if table is Plan else "changed_at"
        differs = [
            name
            for name, _ in columns_of(table)
            if name in values
            and name not in ("uid", "version")
            and getattr(row, name) != values[name]
        ]
        if differs and values[stamp] > getattr(row, stamp):
            for name in differs:
                setattr(row, name, values[name])
            result = REPLACED
        session.flush()
        return row, result

    def _piece(self, incoming: Incoming) -> str:
        session, values = self.change.session, dict(incoming.values)
        uid = values["uid"]
        row = session.scalar(select(Piece).where(Piece.hash == values["hash"]))
        if row is None:
            row = session.scalar(select(Piece).where(Piece.uid == uid))
        is_new = row is None
        if row is None:
            # Without its file only the title comes along, for the sake of what the student did with it.
            gone = None if incoming.file else self.change.now
            row = Piece(**values, deleted_at=gone, emptied=gone is not None)
            session.add(row)
            session.flush()
        self.ids["piece"][uid] = row.id
        comes_back = row.deleted_at is not None and incoming.file is not None
        same_file = row.hash == values["hash"]
        if incoming.file and same_file and (is_new or row.emptied or not self.scores.has(row.hash)):
            self.scores.put(self.bundle.file(incoming.file, "scores", row.hash) or b"")
        if comes_back and same_file:
            row.deleted_at, row.emptied = None, False
        newer = not is_new and values["changed_at"] > row.changed_at
        if is_new or newer:
            assert incoming.details is not None
            self._note(row, incoming.details)
            row.changed_at = values["changed_at"]
        if same_file:
            self._profile(row, uid, incoming.numbers)
        self.change.touched.add(row.id)
        if is_new:
            return ADDED
        return REPLACED if newer or comes_back else THE_SAME

    def _note(self, row: Piece, details: PieceDetails) -> None:
        note_details(self.change, row, details)
        self.change.session.flush()

    def _profile(self, row: Piece, uid: str, numbers: Mapping[str, float]) -> None:
        session = self.change.session
        part = self.bundle.part(f"profiles/{uid}.json")
        held = session.get(Profile, row.id)
        if held is not None and (part is None or part[0] <= held.version):
            return
        forget_profile(session, row.id)
        if part is not None:
            session.add(Profile(piece_id=row.id, version=part[0], body=part[1]))
        session.add_all(Number(piece_id=row.id, name=n, value=v) for n, v in numbers.items())
        session.flush()

    def _take(self, values: dict[str, Any], incoming: Incoming) -> str:
        session = self.change.session
        found = cast("Take | None", self._standing(Take, values))
        if found is None and incoming.file is None:
            self.warnings.append(f"the take {values['file_name'] or values['uid']} has no file")
            return LEFT_OUT
        if found is None:
            values["uid"] = self._free_uid(Take, values["uid"])
        row, result = self._put(Take, found, values)
        if incoming.file and not self.takes.has(row.hash) and row.hash == values["hash"]:
            self.takes.put(self.bundle.file(incoming.file, "takes", row.hash) or b"")
        part = self.bundle.part(f"results/{incoming.values['uid']}.json")
        held = session.get(TakeResult, row.id)
        if part is not None and (held is None or result == REPLACED):
            if held is not None:
                session.delete(held)
                session.flush()
            session.add(TakeResult(take_id=row.id, version=part[0], body=part[1]))
        return result

    def _level_list(self, name: str, labels: tuple[str, ...]) -> None:
        row = list_named(self.change.session, name)
        row.labels = [*row.labels, *(label for label in labels if label not in row.labels)]
        self.change.session.flush()

    def _number_plans(self) -> None:
        """Two studios may both have made a second version: versions are numbered anew, in order of their making."""
        session = self.change.session
        twice = (
            select(Plan.student_id, Plan.piece_id)
            .group_by(Plan.student_id, Plan.piece_id, Plan.version)
            .having(func.count() > 1)
        )
        for student_id, piece_id in {tuple(row) for row in session.execute(twice)}:
            piece = Plan.piece_id.is_(None) if piece_id is None else Plan.piece_id == piece_id
            query = select(Plan).where(Plan.student_id == student_id, piece)
            for version, plan in enumerate(
                session.scalars(query.order_by(Plan.made_at, Plan.id)), 1
            ):
                plan.version = version

    def _settings(self, settings: Mapping[str, Any]) -> None:
        session = self.change.session
        here = set(session.scalars(select(Setting.name)))
        for name, value in settings.items():
            if name not in here and len(name) <= 80 and not name.startswith("studio."):
                session.add(Setting(name=name, value=value))
