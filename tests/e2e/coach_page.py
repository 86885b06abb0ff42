"""The coach's page with students on its board, each fed by hand."""

from __future__ import annotations

from playwright.async_api import Page

from server.wire_board import BoardBay
from tests.e2e import coach_samples
from tests.e2e.browser import TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed


async def open_coach(open_page: OpenPage, feed: Feed, *bays: BoardBay, at: str = "", **context: object) -> Page:
    """Open the page with these students on the board, each with a feed of its own."""
    feed.board.message = feed.board.message.model_copy(update={"bays": list(bays)})
    for bay in bays:
        index = next(i for i, one in enumerate(coach_samples.NAMES) if one[0] == bay.id)
        own = feed.bays.setdefault(bay.id, Feed())
        own.hello = coach_samples.hello(index)
    return await open_page(path=f"/#coach{'/' + at if at else ''}", **{"viewport": TABLET} | context)
