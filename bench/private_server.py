"""A PostgreSQL server of one's own, in a temporary folder and without a network port, gone when the process ends."""

from __future__ import annotations

import atexit
import functools
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

_DATABASES = itertools.count(1)


class NoServer(Exception):  # noqa: N818 - it says what there is not
    """Why there can be none on this machine."""


def programs() -> Path:
    """Folder of the newest PostgreSQL server's programs.

    Raises:
        NoServer: there is none on this machine.
    """
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    on_path = shutil.which("initdb")
    if not found and on_path:
        found = [Path(on_path).resolve().parent]
    if not found:
        raise NoServer("no PostgreSQL server on this machine (Debian: postgresql)")
    return max(found, key=lambda path: int("".join(c for c in path.parent.name if c.isdigit()) or 0))


@functools.cache
def _started(durable: bool) -> Path:
    """Start a server; the folder of its socket.

    Args:
        durable: whether what it acknowledges is on the disk, as on a server that matters
    """
    home = programs()
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    as_user: list[str] = []
    if os.geteuid() == 0:  # the server refuses to be run by root
        try:
            user = pwd.getpwnam("postgres")
        except KeyError:
            raise NoServer("PostgreSQL refuses to be run by root, and there is no user postgres") from None
        os.chown(folder, user.pw_uid, user.pw_gid)
        as_user = ["setpriv", f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups"]

    def run(program: str, *words: str) -> None:
        command = [*as_user, str(home / program), "--pgdata", str(folder / "data"), *words]
        with (folder / "said").open("w") as said:
            done = subprocess.run(command, cwd=folder, stdout=said, stderr=subprocess.STDOUT, check=False)
        if done.returncode:
            raise NoServer(f"{program} failed: {(folder / 'said').read_text(errors='replace')[-300:]}")

    def stop() -> None:
        try:
            run("pg_ctl", "stop", "--mode=immediate", "--wait")
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    run("initdb", "--username=book", "--auth=trust", "--no-sync", "--encoding=UTF8", "--locale=C.UTF-8")
    options = f"-c listen_addresses= -c unix_socket_directories={folder} -c fsync={'on' if durable else 'off'}"
    run("pg_ctl", "start", "--wait", "-l", str(folder / "log"), "-o", options)
    atexit.register(stop)
    return folder


def new_database(*, durable: bool = False, encoding: str = "UTF8") -> str:
    """Address of a new, empty database.

    Raises:
        NoServer: there can be none on this machine.
    """
    import psycopg

    folder = _started(durable)
    name = f"book_{next(_DATABASES)}"
    with psycopg.connect(host=str(folder), user="book", dbname="postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING '{encoding}' LOCALE 'C'")
    return f"postgresql+psycopg://book@/{name}?host={folder}"
