"""The whole API against its own description: no server error, no answer that is not described, whatever is sent."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from tests.unit.web_bench import JOB, device_at

from slabwright.book import open_book
from slabwright.web.app import create_app
from slabwright.web.security.gate import Rules

_FOLDER = tempfile.TemporaryDirectory()
_BOOK = open_book(Path(_FOLDER.name) / "book.sqlite")
_BOOK.add({"job.toml": JOB.encode()}, "test", "begun")
APP = create_app(_BOOK, Path(_FOLDER.name) / "server", rules=Rules(hosts=None))
_DEVICE, _TOKEN = device_at(APP)
SCHEMA = schemathesis.openapi.from_asgi("/api/openapi.json", APP)
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]


@SCHEMA.exclude(path_regex="/events$").parametrize()
@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_described(case: Any) -> None:
    headers = {"x-slabwright-token": _TOKEN, "cookie": f"slabwright_session={_DEVICE.cookies['slabwright_session']}"}
    if "job" in (case.path_parameters or {}) and isinstance(case.path_parameters["job"], int):
        case.path_parameters["job"] = 1  # the job that there is: beyond the gate of "there is no such job"
    case.call_and_validate(checks=CHECKS, headers=headers)
