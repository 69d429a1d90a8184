"""Bytes kept once each, under their SHA-256, packed; and sets of named files made of them."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, insert, select
from sqlalchemy.dialects import postgresql, sqlite

from slabwright.book.tables import contents, file_sets, set_files
from slabwright.findings import SlabwrightError


def keep(connection: Connection, data: bytes) -> str:
    """Keep bytes unless they are there already.

    Returns:
        Their digest, by which they are found again.
    """
    digest = hashlib.sha256(data).hexdigest()
    _keep(connection, digest, data)
    return digest


def _keep(connection: Connection, digest: str, data: bytes) -> None:
    if connection.execute(select(contents.c.digest).where(contents.c.digest == digest)).first() is None:
        squeezed = zlib.compress(data, 6)
        packed = len(squeezed) < len(data)
        row = {
            "digest": digest,
            "size": len(data),
            "packed": "zlib" if packed else "plain",
            "data": squeezed if packed else data,
        }
        # another writer may have kept the same bytes since
        made: Any = postgresql.insert(contents) if connection.dialect.name == "postgresql" else sqlite.insert(contents)
        connection.execute(made.on_conflict_do_nothing(index_elements=["digest"]), row)


def unpacked(digest: str, size: int, packed: str, data: bytes) -> bytes:
    """The bytes as they were handed in.

    Raises:
        SlabwrightError: they are not what was kept.
    """
    try:
        plain = _inflated(data, size) if packed == "zlib" else data
    except zlib.error:
        plain = b""
    if hashlib.sha256(plain).hexdigest() != digest:
        raise SlabwrightError(
            f"the book is damaged: content {digest[:12]} is not what was saved; restore the last backup with "
            "`slabwright book restore`"
        )
    return plain


def _inflated(data: bytes, size: int) -> bytes:
    """At most the size that was noted: a damaged book fills no memory."""
    return zlib.decompressobj().decompress(data, size + 1)


def kept(connection: Connection, digest: str) -> bytes:
    """The bytes of a digest.

    Raises:
        SlabwrightError: they are not what was kept.
    """
    row = connection.execute(select(contents).where(contents.c.digest == digest)).one()
    return unpacked(row.digest, row.size, row.packed, row.data)


def keep_set(connection: Connection, files: Mapping[str, bytes]) -> int:
    """Keep named files.

    Returns:
        Id of their set.
    """
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    by_digest = {digest: files[name] for name, digest in digests.items()}
    for digest in sorted(by_digest):  # in one order everywhere, so that no two writers wait for each other
        _keep(connection, digest, by_digest[digest])
    (file_set,) = connection.execute(insert(file_sets)).inserted_primary_key or (0,)
    connection.execute(
        insert(set_files), [{"file_set": file_set, "name": name, "content": digests[name]} for name in digests]
    )
    return int(file_set)


def kept_set(connection: Connection, file_set: int) -> Mapping[str, bytes]:
    """The named files of a set, by name.

    Raises:
        SlabwrightError: they are not what was kept.
    """
    rows = connection.execute(
        select(set_files.c.name, contents).join_from(set_files, contents).where(set_files.c.file_set == file_set)
    )
    found = {row.name: unpacked(row.digest, row.size, row.packed, row.data) for row in rows}
    return MappingProxyType({name: found[name] for name in sorted(found)})
