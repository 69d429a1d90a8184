"""A bench for tests: a book in a temporary folder, its pages, and a device that sends the token along."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient

from slabwright.book import Book, open_book
from slabwright.web.app import close_app, create_app
from slabwright.web.security.gate import Rules

JOB = """# What the client and I agreed on.
[job]
title = "Hall desk"
client = "Invented"

[piece]
length = 1600   # along the grain
height = 740
base = "U legs"

[slab]
species = "ash, white"

[slab.planned]
length = 1900
width = 800
thickness = 54
"""


@dataclass(frozen=True)
class Bench:
    """Pages with a device in front of them."""

    app: FastAPI
    book: Book
    device: TestClient
    token: str

    def post(self, address: str, **sent: Any) -> Any:
        """A change with the page's token."""
        return self.device.post(address, headers={"x-slabwright-token": self.token}, **sent)

    def edit(self, values: dict[str, Any], based_on: int, job: int = 1) -> Any:
        """An edit of the job file."""
        return self.post(f"/api/jobs/{job}/edits", json={"based_on": based_on, "values": values})

    def text(self, job: int = 1) -> str:
        """The newest job file."""
        return self.book.revision(job).files["job.toml"].decode()


def device_at(app: FastAPI) -> tuple[TestClient, str]:
    """A device that was never seen, and its token."""
    device = TestClient(app, base_url="http://127.0.0.1:8400", raise_server_exceptions=False, follow_redirects=False)
    return device, device.get("/api/session").json().get("token", "")


@contextmanager
def bench(folder: Path, *, rules: Rules | None = None, jobs: int = 1) -> Iterator[Bench]:
    """Pages over a book with some jobs in it."""
    with open_book(folder / "book.sqlite") as book:
        for _ in range(jobs):
            book.add({"job.toml": JOB.encode()}, "test", "begun")
        app = create_app(book, folder / "server", rules=rules)
        device, token = device_at(app)
        yield Bench(app, book, device, token)
        device.close()
        close_app(app)
