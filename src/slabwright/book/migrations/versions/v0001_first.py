"""The first book: jobs, revisions, drafts, the log, photos, sign-offs, stock and prices."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)
ONLY_ADDED = (
    "jobs",
    "contents",
    "file_sets",
    "set_files",
    "revisions",
    "drafts",
    "settled_drafts",
    "entries",
    "photos",
    "sign_offs",
    "stock_items",
    "stock_moves",
    "prices",
)


def upgrade() -> None:
    """Make the tables, and have the database itself refuse to change or remove what was written."""
    op.create_table(
        "contents",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("packed", sa.String(length=8), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_contents"),
    )
    op.create_table(
        "file_sets", sa.Column("id", sa.Integer(), nullable=False), sa.PrimaryKeyConstraint("id", name="pk_file_sets")
    )
    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
    )
    op.create_table(
        "prices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("unit", sa.String(length=32), nullable=False),
        sa.Column("amount", sa.String(length=40), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_prices"),
    )
    op.create_index("ix_prices_what", "prices", ["what"])
    op.create_table(
        "stock_items",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("length", sa.Float(), nullable=True),
        sa.Column("width", sa.Float(), nullable=True),
        sa.Column("thickness", sa.Float(), nullable=True),
        sa.Column("unit", sa.String(length=32), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_stock_items"),
    )
    op.create_table(
        "entries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("operation", sa.Text(), nullable=False),
        sa.Column("event", sa.String(length=16), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("minutes", sa.Float(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("written", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_entries_job"),
        sa.PrimaryKeyConstraint("id", name="pk_entries"),
    )
    op.create_index("ix_entries_job", "entries", ["job"])
    op.create_table(
        "photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("content", sa.String(length=64), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["content"], ["contents.digest"], name="fk_photos_content"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_photos_job"),
        sa.PrimaryKeyConstraint("id", name="pk_photos"),
    )
    op.create_index("ix_photos_job", "photos", ["job"])
    op.create_table(
        "revisions",
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("based_on", sa.Integer(), nullable=True),
        sa.Column("file_set", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("client", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["file_set"], ["file_sets.id"], name="fk_revisions_file_set"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_revisions_job"),
        sa.PrimaryKeyConstraint("job", "number", name="pk_revisions"),
    )
    op.create_table(
        "set_files",
        sa.Column("file_set", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=1000), nullable=False),
        sa.Column("content", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["content"], ["contents.digest"], name="fk_set_files_content"),
        sa.ForeignKeyConstraint(["file_set"], ["file_sets.id"], name="fk_set_files_file_set"),
        sa.PrimaryKeyConstraint("file_set", "name", name="pk_set_files"),
    )
    op.create_table(
        "stock_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", sa.Integer(), nullable=False),
        sa.Column("millionths", sa.BigInteger(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=True),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["item"], ["stock_items.id"], name="fk_stock_moves_item"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_stock_moves_job"),
        sa.PrimaryKeyConstraint("id", name="pk_stock_moves"),
    )
    op.create_index("ix_stock_moves_item", "stock_moves", ["item"])
    op.create_table(
        "drafts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("based_on", sa.Integer(), nullable=False),
        sa.Column("newest", sa.Integer(), nullable=False),
        sa.Column("file_set", sa.Integer(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["file_set"], ["file_sets.id"], name="fk_drafts_file_set"),
        sa.ForeignKeyConstraint(["job", "based_on"], ["revisions.job", "revisions.number"], name="fk_drafts_job"),
        sa.PrimaryKeyConstraint("id", name="pk_drafts"),
    )
    op.create_index("ix_drafts_job", "drafts", ["job"])
    op.create_table(
        "sign_offs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("verdict", sa.String(length=16), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job", "revision"], ["revisions.job", "revisions.number"], name="fk_sign_offs_job"),
        sa.PrimaryKeyConstraint("id", name="pk_sign_offs"),
    )
    op.create_index("ix_sign_offs_job", "sign_offs", ["job"])
    op.create_table(
        "settled_drafts",
        sa.Column("draft", sa.Integer(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["draft"], ["drafts.id"], name="fk_settled_drafts_draft"),
        sa.PrimaryKeyConstraint("draft", name="pk_settled_drafts"),
    )
    _only_add()


def _only_add() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for table in ONLY_ADDED:
            for what in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{what.lower()} BEFORE {what} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'a shop book only adds: {table}'); END"
                )
        return
    op.execute(
        "CREATE FUNCTION shop_book_only_adds() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'a shop book only adds: %', TG_TABLE_NAME; END $$"
    )
    for table in ONLY_ADDED:
        op.execute(
            f"CREATE TRIGGER {table}_only_adds BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION shop_book_only_adds()"
        )
