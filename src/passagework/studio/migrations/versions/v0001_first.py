"""All tables as they were first."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make everything."""
    _library()
    _people()
    _studio()
    if op.get_context().dialect.name == "sqlite":
        _index_of_words()


def downgrade() -> None:
    """There is nothing before this."""
    raise NotImplementedError("the first form of the database has none before it")


def _index_of_words() -> None:
    """SQLite's full-text index, where it was built with one; a column is looked through otherwise."""
    has_it = "SELECT count(*) FROM pragma_module_list WHERE name = 'fts5'"
    if op.get_bind().execute(sa.text(has_it)).scalar():
        op.execute(
            "CREATE VIRTUAL TABLE piece_words USING fts5(title, words, "
            "tokenize = 'unicode61 remove_diacritics 0', prefix = '1 2 3')"
        )


def _library() -> None:
    op.create_table(
        "level_list",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("labels", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_level_list"),
        sa.UniqueConstraint("name", name="uq_level_list_name"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("file_name", sa.String(length=255), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("composer", sa.Text(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("metre", sa.String(length=40), nullable=False),
        sa.Column("bars", sa.Integer(), nullable=False),
        sa.Column("notes_count", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.Float(), nullable=True),
        sa.Column("lowest", sa.Integer(), nullable=True),
        sa.Column("highest", sa.Integer(), nullable=True),
        sa.Column("warnings", sa.Text(), nullable=False),
        sa.Column("level_score", sa.Float(), nullable=True),
        sa.Column("own_title", sa.Text(), nullable=False),
        sa.Column("own_composer", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.Column("deleted_at", sa.String(32), nullable=True),
        sa.Column("emptied", sa.Boolean(), nullable=False),
        sa.Column("shown_composer", sa.String(length=255), nullable=False),
        sa.Column("sort_title", sa.String(length=255), nullable=False),
        sa.Column("sort_composer", sa.String(length=255), nullable=False),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_piece"),
        sa.UniqueConstraint("hash", name="uq_piece_hash"),
        sa.UniqueConstraint("uid", name="uq_piece_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_piece_deleted_at_added_at", "piece", ["deleted_at", "added_at"])
    op.create_index("ix_piece_deleted_at_minutes", "piece", ["deleted_at", "minutes"])
    op.create_index(
        "ix_piece_deleted_at_shown_composer_sort_composer",
        "piece",
        ["deleted_at", "shown_composer", "sort_composer"],
    )
    op.create_index("ix_piece_deleted_at_bars", "piece", ["deleted_at", "bars"])
    op.create_index("ix_piece_deleted_at_key", "piece", ["deleted_at", "key"])
    op.create_index("ix_piece_deleted_at_level_score", "piece", ["deleted_at", "level_score"])
    op.create_index(
        "ix_piece_deleted_at_sort_composer_id", "piece", ["deleted_at", "sort_composer", "id"]
    )
    op.create_index(
        "ix_piece_deleted_at_sort_title_id", "piece", ["deleted_at", "sort_title", "id"]
    )
    op.create_table(
        "background",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_background_piece_id"),
        sa.PrimaryKeyConstraint("id", name="pk_background"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_background_piece_id", "background", ["piece_id"])
    op.create_table(
        "edition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=255), nullable=False),
        sa.Column("publisher", sa.String(length=255), nullable=False),
        sa.Column("place", sa.String(length=80), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_edition_piece_id"),
        sa.PrimaryKeyConstraint("id", name="pk_edition"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_edition_piece_id", "edition", ["piece_id"])
    op.create_index("ix_edition_title", "edition", ["title"])
    op.create_table(
        "piece_level",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("list_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["list_id"], ["level_list.id"], name="fk_piece_level_list_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_piece_level_piece_id"),
        sa.PrimaryKeyConstraint("id", name="pk_piece_level"),
        sa.UniqueConstraint("piece_id", "list_id", name="uq_piece_level_piece_id_list_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_piece_level_list_id_label", "piece_level", ["list_id", "label"])
    op.create_table(
        "piece_number",
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_piece_number_piece_id"),
        sa.PrimaryKeyConstraint("name", "piece_id", name="pk_piece_number"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_piece_number_piece_id", "piece_number", ["piece_id"])
    op.create_index("ix_piece_number_name_value", "piece_number", ["name", "value"])
    op.create_table(
        "profile",
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_profile_piece_id"),
        sa.PrimaryKeyConstraint("piece_id", name="pk_profile"),
    )
    op.create_table(
        "tag",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("text", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_tag_piece_id"),
        sa.PrimaryKeyConstraint("id", name="pk_tag"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_tag_piece_id", "tag", ["piece_id"])
    op.create_index("ix_tag_text", "tag", ["text"])


def _people() -> None:
    op.create_table(
        "student",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("age_band", sa.String(length=40), nullable=False),
        sa.Column("reach_left_cm", sa.Double(), nullable=True),
        sa.Column("reach_right_cm", sa.Double(), nullable=True),
        sa.Column("hands_more", sa.Text(), nullable=True),
        sa.Column("weekly_minutes", sa.Integer(), nullable=True),
        sa.Column("practice_days", sa.Text(), nullable=False),
        sa.Column("lesson_weekday", sa.Integer(), nullable=True),
        sa.Column("lesson_time", sa.String(5), nullable=True),
        sa.Column("lesson_minutes", sa.Integer(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_student"),
        sa.UniqueConstraint("uid", name="uq_student_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_student_archived_name", "student", ["archived", "name"])
    op.create_table(
        "edit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("key", sa.String(length=200), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=True),
        sa.Column("note_ids", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_edit_piece_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_edit_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_edit"),
        sa.UniqueConstraint("uid", name="uq_edit_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_edit_student_id", "edit", ["student_id"])
    op.create_index(
        "uq_edit_place",
        "edit",
        ["piece_id", sa.text("coalesce(student_id, 0)"), "kind", "key"],
        unique=True,
    )
    op.create_table(
        "lesson",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("at_time", sa.String(5), nullable=True),
        sa.Column("promised", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("assignment", sa.Text(), nullable=True),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.Column("deleted_at", sa.String(32), nullable=True),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_lesson_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_lesson"),
        sa.UniqueConstraint("uid", name="uq_lesson_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_lesson_on_date", "lesson", ["on_date"])
    op.create_index("ix_lesson_student_id_on_date", "lesson", ["student_id", "on_date"])
    op.create_table(
        "plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_plan_piece_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_plan_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_plan"),
        sa.UniqueConstraint("uid", name="uq_plan_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_plan_piece_id", "plan", ["piece_id"])
    op.create_index(
        "ix_plan_student_id_piece_id_version", "plan", ["student_id", "piece_id", "version"]
    )
    op.create_table(
        "skill",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_skill_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_skill"),
        sqlite_autoincrement=True,
    )
    op.create_index("uq_skill_kind", "skill", ["student_id", "kind"], unique=True)
    op.create_table(
        "study",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("status", sa.String(length=20), nullable=False),
        sa.Column("since", sa.Date(), nullable=True),
        sa.Column("performance_on", sa.Date(), nullable=True),
        sa.Column("result", sa.String(length=20), nullable=False),
        sa.Column("result_on", sa.Date(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_study_piece_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_study_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_study"),
        sa.UniqueConstraint("uid", name="uq_study_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_study_performance_on", "study", ["performance_on"])
    op.create_index("ix_study_piece_id", "study", ["piece_id"])
    op.create_index("ix_study_student_id", "study", ["student_id"])
    op.create_table(
        "take",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("file_name", sa.String(length=255), nullable=False),
        sa.Column("media_type", sa.String(length=120), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("status", sa.String(length=20), nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("heard_by_teacher", sa.Boolean(), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.Column("deleted_at", sa.String(32), nullable=True),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_take_piece_id"),
        sa.ForeignKeyConstraint(["student_id"], ["student.id"], name="fk_take_student_id"),
        sa.PrimaryKeyConstraint("id", name="pk_take"),
        sa.UniqueConstraint("uid", name="uq_take_uid"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_take_hash", "take", ["hash"])
    op.create_index(
        "ix_take_heard_by_teacher_recorded_at", "take", ["heard_by_teacher", "recorded_at"]
    )
    op.create_index("ix_take_piece_id_recorded_at", "take", ["piece_id", "recorded_at"])
    op.create_index("ix_take_student_id_recorded_at", "take", ["student_id", "recorded_at"])
    op.create_table(
        "take_result",
        sa.Column("take_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["take_id"], ["take.id"], name="fk_take_result_take_id"),
        sa.PrimaryKeyConstraint("take_id", name="pk_take_result"),
    )


def _studio() -> None:
    op.create_table(
        "setting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("value", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_setting"),
        sa.UniqueConstraint("name", name="uq_setting_name"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "undo_step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_undo_step"),
        sa.UniqueConstraint("token", name="uq_undo_step_token"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_undo_step_made_at", "undo_step", ["made_at"])
    op.create_table(
        "undo_row",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("step_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.String(length=40), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.Column("student_id", sa.Integer(), nullable=True),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["step_id"], ["undo_step.id"], name="fk_undo_row_step_id"),
        sa.PrimaryKeyConstraint("id", name="pk_undo_row"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_undo_row_piece_id", "undo_row", ["piece_id"])
    op.create_index("ix_undo_row_step_id", "undo_row", ["step_id"])
    op.create_index("ix_undo_row_student_id", "undo_row", ["student_id"])
