"""What the gate answers itself: one line as JSON for the API, a page of its own for people, which rests on no template."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

from starlette.responses import HTMLResponse, JSONResponse, Response

if TYPE_CHECKING:
    from starlette.types import Scope

_TITLES = {401: "Not open", 403: "Not allowed", 413: "Too large", 429: "Too often", 500: "A fault"}
_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title} · Slabwright</title>
<link rel="icon" href="/static/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/static/bench.css">
</head>
<body>
<header class="top"><span class="home"><img src="/static/mark.svg" alt="" width="32" height="32">
<span>Slabwright</span></span></header>
<main id="work">
<section class="panel"><h1>{title}</h1>
<p><span class="voice stop">Stop</span> {error}.</p>
{ways}</section>
</main>
</body>
</html>
"""
_WAYS = '<p class="row"><a class="button main" href="/">To today</a> <a class="button quiet" href="/jobs">To the jobs</a></p>\n'
_OTHERS = "/client/"
"""Below here others than the maker look, who are to go nowhere else."""


def refused(scope: Scope, status: int, error: str) -> Response:
    """The answer to a request that goes no further.

    Args:
        scope: of the request
        status: HTTP status
        error: in one line, without a full stop
    """
    if scope["path"].startswith("/api/"):
        return JSONResponse({"error": error}, status_code=status)
    words = f"{error[:1].upper()}{error[1:]}"
    ways = "" if scope["path"].startswith(_OTHERS) else _WAYS
    page = _PAGE.format(title=_TITLES.get(status, "Not shown"), error=html.escape(words), ways=ways)
    return HTMLResponse(page, status_code=status)
