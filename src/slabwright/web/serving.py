"""Start the bench pages: on this machine alone, or for the house behind a passcode."""

from __future__ import annotations

import contextlib
import gc
import getpass
import logging
import os
import socket
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from slabwright.findings import SlabwrightError

if TYPE_CHECKING:
    import uvicorn

    from slabwright.web.live import Live
    from slabwright.web.store import Store

HERE = "127.0.0.1"
_SWITCH = 0.001
"""Seconds that a thread goes on for while others wait: each answer asks the book several times, and waits as often [s]."""
_GARBAGE = (20_000, 20, 20)
"""New objects, and collections of the younger, before garbage is looked for."""
_ELSEWHERE = ("192.0.2.1", "10.255.255.254", "172.31.255.254", "192.168.255.254")
"""Addresses of other machines, as none has them in a house: the way to the outside, and into each kind of house."""
PASSCODE = "SLABWRIGHT_PASSCODE"
"""Environment variable that states the passcode where nobody can be asked."""


def keeping_folder(place: str) -> Path:
    """Where the server keeps its key and the passcode's hash: beside the book's file, or in the user's data folder.

    Args:
        place: of the book: a file or a URL
    """
    path = place.removeprefix("sqlite:///") if place.startswith("sqlite:///") else place
    if "://" not in path:
        file = Path(path).absolute()
        return file.parent / f"{file.name}.server"
    data = os.environ.get("XDG_DATA_HOME", "")
    home = Path(data) if Path(data).is_absolute() else Path("~/.local/share").expanduser()
    return home / "slabwright" / "server"


def _passcode(folder: Path, say: Callable[[str], None]) -> None:
    """See to it that there is a passcode: stated, asked for, or made up and said once."""
    from slabwright.web.security.keeping import Keeping
    from slabwright.web.security.passcode import SHORTEST, Passcode, made_up

    passcode = Passcode(Keeping(folder))
    stated = os.environ.get(PASSCODE, "")
    if stated:
        passcode.set(stated)
    elif passcode.is_set:
        say(f"The passcode is the one that was set before; remove {folder / 'passcode.json'} for a new one.")
    elif sys.stdin.isatty():
        typed = getpass.getpass(f"A passcode of {SHORTEST} letters or more (empty: one is made up): ").strip()
        chosen = typed or made_up()
        passcode.set(chosen)
        if not typed:
            say(f"The passcode is  {chosen}")
    else:
        chosen = made_up()
        passcode.set(chosen)
        say(f"The passcode is  {chosen}")


def addresses(port: int) -> list[str]:
    """Addresses under which others in the house reach this machine, as far as it knows them, the likeliest first.

    A machine's own name often leads to itself alone; the way that it would take to another machine tells more. Nothing is sent.
    """
    found = []
    for elsewhere in _ELSEWHERE:
        with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            asked.connect((elsewhere, 9))
            found.append(str(asked.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += sorted(str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET))
    known = [address for address in dict.fromkeys(found) if not address.startswith(("127.", "0."))]
    return [f"http://{address}:{port}/" for address in known]


def _open_to_others(port: int, say: Callable[[str], None]) -> None:
    """Say where others in the house find the pages."""
    found = addresses(port)
    for address in found:
        say(f"  from other devices in the house: {address}")
    if not found:
        say(
            f"  from other devices: http://ADDRESS:{port}/ with this machine's address, which its network settings tell"
        )


def _listening(host: str, port: int) -> socket.socket:
    """A socket that listens, so that a port which is taken is told in one line.

    Raises:
        SlabwrightError: the port cannot be used.
    """
    # Said to be TCP, or else the event loop leaves small pieces of an answer waiting for word that the last one came.
    taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((host, port))
        taken.listen(128)
    except (OSError, OverflowError) as error:
        taken.close()
        reason = getattr(error, "strerror", None) or "it is none"
        raise SlabwrightError(f"--port {port}: cannot be used ({reason}); name another, such as {8400}") from None
    return taken


def _server(config: uvicorn.Config, live: Live, end: Callable[[], None]) -> uvicorn.Server:
    """A server that ends the devices' event streams before it waits for what is still being answered, and then all else.

    A signal that ends the process leaves no time for that afterwards.
    """
    import uvicorn

    class Server(uvicorn.Server):
        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            live.close()
            await super().shutdown(sockets)
            end()

    return Server(config)


def _quick_answers(store: Store) -> None:
    """Set the interpreter up for many short answers on many threads, with plans that stay in memory.

    The job that was changed last is planned at once, aside from the first page; what is loaded by then is not looked through for
    garbage again and again.
    """
    sys.setswitchinterval(_SWITCH)
    gc.set_threshold(*_GARBAGE)

    def warm() -> None:
        with contextlib.suppress(SlabwrightError):
            rows = store.book.jobs()
            if rows:
                store.planned(max(rows, key=lambda row: row.when).id)
        gc.collect()
        gc.freeze()

    threading.Thread(target=warm, name="warm", daemon=True).start()


def serve(place: str | None, port: int, *, lan: bool, say: Callable[[str], None]) -> None:
    """Serve the bench pages until they are stopped.

    Args:
        place: of the book: a file or a URL; None for the usual one
        port: to listen on; 0: any that is free
        lan: whether other machines of the house are let in, with a passcode
        say: told what the person who starts it should read

    Raises:
        SlabwrightError: the book or the port cannot be used.
    """
    import uvicorn

    from slabwright.book import default_place, open_book
    from slabwright.web.app import close_app, create_app
    from slabwright.web.security.gate import Rules

    folder = keeping_folder(place or default_place())
    book = open_book(place)
    try:
        if lan:
            _passcode(folder, say)
        app = create_app(book, folder, rules=Rules(hosts=None, locked=True) if lan else None, beside=True)
        listening = _listening("0.0.0.0" if lan else HERE, port)
        port = listening.getsockname()[1]
        say(f"The bench pages are open: http://{HERE}:{port}/   (the book: {book.name}; Ctrl-C ends)")
        if lan:
            _open_to_others(port, say)
        logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s")
        _quick_answers(app.state.desk.store)
        config = uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=2,
            proxy_headers=False,
        )
        try:
            _server(config, app.state.desk.store.live, lambda: close_app(app)).run(sockets=[listening])
        finally:
            close_app(app)
    finally:
        book.close()
