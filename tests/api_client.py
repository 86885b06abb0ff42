"""For tests of the HTTP API: a client of it in the test's own process, and what a problem must look like."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx

from server.api.archive import Archive
from server.app import make_app
from server.bays.bay import Bays

ORIGIN = "http://127.0.0.1"


@asynccontextmanager
async def api_over(archive: Archive, **options) -> AsyncIterator[httpx.AsyncClient]:
    """Ask as a page of this very computer does."""
    app = make_app(Bays([]), on_bug=lambda _: None, archive=archive)
    transport = httpx.ASGITransport(app)
    async with httpx.AsyncClient(
        transport=transport, base_url=f"{ORIGIN}/api", headers={"Origin": ORIGIN}, **options
    ) as api:
        yield api


def problem(answer: httpx.Response, status: int, code: str) -> dict:
    """Check the form, RFC 9457 section 3.1 and our own code; give it."""
    told = answer.json()
    assert (answer.status_code, told["code"]) == (status, code), told
    assert answer.headers["content-type"] == "application/problem+json"
    assert told["status"] == status
    assert set(told) == {"type", "title", "status", "detail", "code"}
    assert told["detail"].endswith(".")
    return told
