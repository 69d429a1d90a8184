"""The tables of a shop book, and how times are kept in them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)


class Moment(TypeDecorator[datetime]):
    """A moment: handed in and out with its zone, always kept in UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To UTC; SQLite keeps no zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without its zone")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """With UTC as its zone."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

jobs = Table("jobs", metadata, Column("id", Integer, primary_key=True), Column("made", Moment, nullable=False))
contents = Table(
    "contents",
    metadata,
    Column("digest", String(64), primary_key=True),  # SHA-256 of the bytes
    Column("size", BigInteger, nullable=False),
    Column("packed", String(8), nullable=False),  # zlib, or plain where packing gains nothing
    Column("data", LargeBinary, nullable=False),
)
file_sets = Table("file_sets", metadata, Column("id", Integer, primary_key=True))
set_files = Table(
    "set_files",
    metadata,
    Column("file_set", ForeignKey("file_sets.id"), primary_key=True),
    Column("name", String(1000), primary_key=True),
    Column("content", ForeignKey("contents.digest"), nullable=False),
)
revisions = Table(
    "revisions",
    metadata,
    Column("job", ForeignKey("jobs.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("based_on", Integer),
    Column("file_set", ForeignKey("file_sets.id"), nullable=False),
    Column("title", Text, nullable=False),
    Column("client", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("why", Text, nullable=False),
)
drafts = Table(
    "drafts",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, nullable=False, index=True),
    Column("based_on", Integer, nullable=False),
    Column("newest", Integer, nullable=False),
    Column("file_set", ForeignKey("file_sets.id"), nullable=False),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("why", Text, nullable=False),
    ForeignKeyConstraint(["job", "based_on"], ["revisions.job", "revisions.number"]),
)
settled_drafts = Table(
    "settled_drafts",
    metadata,
    Column("draft", ForeignKey("drafts.id"), primary_key=True),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
)
entries = Table(
    "entries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.id"), nullable=False, index=True),
    Column("operation", Text, nullable=False),
    Column("event", String(16), nullable=False),
    Column("at", Moment, nullable=False),
    Column("who", Text, nullable=False),
    Column("minutes", Float),
    Column("note", Text, nullable=False),
    Column("written", Moment, nullable=False),
)
photos = Table(
    "photos",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.id"), nullable=False, index=True),
    Column("name", Text, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("content", ForeignKey("contents.digest"), nullable=False),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("note", Text, nullable=False),
)
sign_offs = Table(
    "sign_offs",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, nullable=False, index=True),
    Column("revision", Integer, nullable=False),
    Column("what", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("verdict", String(16), nullable=False),
    Column("words", Text, nullable=False),
    ForeignKeyConstraint(["job", "revision"], ["revisions.job", "revisions.number"]),
)
stock_items = Table(
    "stock_items",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("what", Text, nullable=False),
    Column("length", Float),
    Column("width", Float),
    Column("thickness", Float),
    Column("unit", String(32), nullable=False),
    Column("place", Text, nullable=False),
    Column("note", Text, nullable=False),
)
stock_moves = Table(
    "stock_moves",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("item", ForeignKey("stock_items.id"), nullable=False, index=True),
    Column("millionths", BigInteger, nullable=False),  # whole numbers add up exactly
    Column("job", ForeignKey("jobs.id")),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
    Column("why", Text, nullable=False),
)
prices = Table(
    "prices",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("what", Text, nullable=False, index=True),
    Column("unit", String(32), nullable=False),
    Column("amount", String(40), nullable=False),  # a decimal number as text: SQLite has none of its own
    Column("currency", String(3), nullable=False),
    Column("since", Date, nullable=False),
    Column("source", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
)
readings_begun = Table(
    "readings_begun",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.id"), nullable=False, index=True),
    Column("begun", String(64), nullable=False, index=True, unique=True),
    Column("head", Text, nullable=False),  # JSON
    Column("who", Text, nullable=False),
    Column("at", Moment, nullable=False),
)
readings_lines = Table(
    "readings_lines",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("readings", ForeignKey("readings_begun.id"), nullable=False),
    Column("key", String(100), nullable=False),  # what comes twice counts once
    Column("said", Text, nullable=False),  # JSON
    Column("at", Moment, nullable=False),
    Index("ix_readings_lines_readings_key", "readings", "key", unique=True),
)
readings_closed = Table(
    "readings_closed",
    metadata,
    Column("readings", ForeignKey("readings_begun.id"), primary_key=True),
    Column("at", Moment, nullable=False),
)
client_links = Table(
    "client_links",
    metadata,
    Column("nonce", String(64), primary_key=True),
    Column("job", ForeignKey("jobs.id"), nullable=False, index=True),
    Column("until", Moment, nullable=False),
    Column("given", Moment, nullable=False),
    Column("given_to", Text, nullable=False),
    Column("key", String(64), nullable=False),
)
links_taken_back = Table(
    "links_taken_back",
    metadata,
    Column("nonce", ForeignKey("client_links.nonce"), primary_key=True),
    Column("at", Moment, nullable=False),
)
