"""What the pages kept beside the book: readings that are being taken, and the links given to clients."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)
ONLY_ADDED = ("readings_begun", "readings_lines", "readings_closed", "client_links", "links_taken_back")


def upgrade() -> None:
    """Make the tables; like the others they only ever grow."""
    op.create_table(
        "readings_begun",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("begun", sa.String(length=64), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_readings_begun_job"),
        sa.PrimaryKeyConstraint("id", name="pk_readings_begun"),
    )
    op.create_index("ix_readings_begun_job", "readings_begun", ["job"])
    op.create_index("ix_readings_begun_begun", "readings_begun", ["begun"], unique=True)
    op.create_table(
        "readings_lines",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=100), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["readings"], ["readings_begun.id"], name="fk_readings_lines_readings"),
        sa.PrimaryKeyConstraint("id", name="pk_readings_lines"),
    )
    op.create_index("ix_readings_lines_readings_key", "readings_lines", ["readings", "key"], unique=True)
    op.create_table(
        "readings_closed",
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["readings"], ["readings_begun.id"], name="fk_readings_closed_readings"),
        sa.PrimaryKeyConstraint("readings", name="pk_readings_closed"),
    )
    op.create_table(
        "client_links",
        sa.Column("nonce", sa.String(length=64), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("until", MOMENT, nullable=False),
        sa.Column("given", MOMENT, nullable=False),
        sa.Column("given_to", sa.Text(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_client_links_job"),
        sa.PrimaryKeyConstraint("nonce", name="pk_client_links"),
    )
    op.create_index("ix_client_links_job", "client_links", ["job"])
    op.create_table(
        "links_taken_back",
        sa.Column("nonce", sa.String(length=64), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["nonce"], ["client_links.nonce"], name="fk_links_taken_back_nonce"),
        sa.PrimaryKeyConstraint("nonce", name="pk_links_taken_back"),
    )
    _only_add()


def _only_add() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in ONLY_ADDED:
        if not sqlite:
            op.execute(
                f"CREATE TRIGGER {table}_only_adds BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION shop_book_only_adds()"
            )
            continue
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{what.lower()} BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'a shop book only adds: {table}'); END"
            )
