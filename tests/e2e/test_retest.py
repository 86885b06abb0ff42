"""The test of yesterday's drill: offered from the store, swung in silence, told, and kept apart as what was left the next day.

Outside truth: verdicts of the same swings as `pitchbend analyse` has them, counted here by hand.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

import pytest
from playwright.async_api import Browser, Page, Route, expect

from fusion.outputs.rep import Rep, Verdict
from fusion.pipeline import Pipeline
from sensors.events import PlayerSet, SourceEvent
from sensors.record.reader import read_events
from server.api.archive import Archive
from server.api.wish import StoreWish
from server.cli.demo_recording import demo_recording
from server.drills import default_drill, our_drills
from server.engine import Engine
from server.progress.retention import Retention
from server.progress.summary import progress
from server.store import people
from server.store.database import Database
from server.store.fill import fill
from server.store.history import history_of
from server.store.records import RepKind
from server.tape import Tape
from server.wire import CueMessage, SourceView
from tests.e2e import samples
from tests.e2e.browser import PHONE, PHONE_SIDEWAYS, TABLET
from tests.e2e.conftest import READ_CAUTIONS, WHOLE_PAGE, OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED
from tests.kept_practices import keep
from tests.live_service import LIVE, HandSource, running

DRILL = our_drills()[0]
BEFORE_SWINGS, AFTER_FIVE = 2200, 3700
"""Events of the demo."""
AT_ONCE = 150
N_TEST = 4
COURSE = ((10, 9, RepKind.CUED), (8, 6, RepKind.SILENT), (N_TEST, 3, RepKind.TEST))
SKIP_SET_UP = "for (const name of ['club', 'drill', 'worn-seen']) localStorage.setItem(`pitchbend.${name}`, 'x')"


def due(days_since: int) -> str:
    figures = {"n_reps": 10, "n_judged": 10, "share": 0.7, "share_low": 0.4, "share_high": 0.9, "median": 1.0}
    sample = figures | {"low_quartile": None, "high_quartile": None}
    drill = {"name": DRILL.drill.name, "quantity": "bend_change", "unit": "deg", "low": -8.0, "high": 25.0}
    one = {
        "drill": drill | {"from_mark": "takeaway", "to_mark": "top"}, "text": DRILL.text, "n_reps": 10,
        "days_since": days_since, "before_day": "2026-11-20", "cued": sample | {"n_in_band": 9},
        "silent": sample | {"n_in_band": 7},
    }  # fmt: skip
    return json.dumps({"items": [one]})


async def offered(page: Page, feed: Feed, answer: str) -> None:
    """Load the page again with that answer of the API's."""

    async def reply(route: Route) -> None:
        await route.fulfill(content_type="application/json", body=answer)

    await page.route("**/api/players/**", reply)
    await page.add_init_script(SKIP_SET_UP)
    feed.hello = samples.hello(source=SourceView(kind="live", name="Bluetooth", speed=1.0), reps=[])
    await page.reload()


@pytest.mark.parametrize("screen", [PHONE, PHONE_SIDEWAYS, TABLET], ids=["phone", "phone-sideways", "tablet"])
async def test_an_offer_is_whole_and_can_be_put_off(open_page: OpenPage, feed: Feed, screen: dict[str, int]) -> None:
    feed.now = samples.frame(**samples.ARM_LEVEL)
    page = await open_page(stand=screen is not TABLET, viewport=screen, color_scheme="light")
    await offered(page, feed, due(3))
    if screen is not TABLET:
        await page.get_by_role("button", name="Go on without this").click()
    panel = page.get_by_test_id("retest")
    await expect(panel).to_contain_text("You practised it 3 days ago: the test is 2 days overdue.")
    await expect(panel).to_contain_text("10 swings without cue and figures")
    await shoot(page, f"retest-{screen['width']}", published=False)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    await page.get_by_test_id("retest-later").click()
    await expect(panel).to_have_count(0)
    await page.reload()
    await expect(page.get_by_test_id("sound")).to_be_visible()
    await expect(panel).to_have_count(0)


def verdicts() -> list[Verdict]:
    pipeline = Pipeline(default_drill())
    outputs = (output for event in islice(read_events(demo_recording()), AFTER_FIVE) for output in pipeline.push(event))
    return [output.verdict for output in outputs if isinstance(output, Rep)]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (player,) = {event.name for event in read_events(demo_recording()) if isinstance(event, PlayerSet)}
    keep(tmp_path / "store.sqlite", player, datetime.now().astimezone() - timedelta(days=1), DRILL.text, *COURSE)
    return tmp_path / "store.sqlite"


async def played(source: HandSource, page: Page, events: Sequence[SourceEvent]) -> None:
    """Through the practice, no faster than the page can follow."""
    for n in range(0, len(events), AT_ONCE):
        source.feed(*events[n : n + AT_ONCE])
        await source.taken()
        await page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")


def retentions_of(place: Path, recording: Path) -> tuple[Retention, ...]:
    """Of the player whose practice that is, once it is in the store."""
    database = Database(place)
    assert [one.outcome.value for one in fill(database, [recording])] == ["stored"]
    with database.reading() as connection:
        (player,) = people.players(connection)
        player_id = people.player_id_of(connection, player.name)
        assert player_id is not None
        found = progress(history_of(connection, player_id).points)
    database.close()
    return next(one.retentions for one in found if one.retentions)


async def test_offer_silent_block_and_result(browser: Browser, place: Path, tmp_path: Path) -> None:
    events = list(islice(read_events(demo_recording()), AFTER_FIVE))
    source, cues, now_ns = HandSource(), [], [events[0].arrival_ns]
    engine = Engine(lambda: source, view=LIVE, tape=Tape(tmp_path / "today.mcap"), clock_ns=lambda: now_ns[0])
    engine.hub.listen(lambda message: cues.append(message) if isinstance(message, CueMessage) else None)
    archive = Archive(StoreWish(place=str(place)))
    context = await browser.new_context(viewport=PHONE, bypass_csp=True)
    async with running(engine, archive=archive) as service:
        page = await context.new_page()
        for script in (WHOLE_PAGE, READ_CAUTIONS):
            await page.add_init_script(script)
        await page.goto(service.url)
        await played(source, page, events[:BEFORE_SWINGS])
        now_ns[0] = events[BEFORE_SWINGS].arrival_ns
        await expect(page.get_by_test_id("retest")).to_contain_text(
            "You practised it yesterday: the test is due today."
        )
        await page.get_by_test_id("retest-begin").click()
        await expect(page.get_by_test_id("test")).to_contain_text(f"0 of {N_TEST}")
        await played(source, page, events[BEFORE_SWINGS:])
        told = verdicts()[:N_TEST]
        share = f"{told.count(Verdict.IN_BAND)} of {N_TEST - told.count(Verdict.UNKNOWN)} in the band"
        result = page.get_by_test_id("retest-result")
        await expect(result).to_contain_text(share)
        await expect(result).to_contain_text("9 of 10 in the band with the cue, 6 of 8 in the band without.")
        await shoot(page, "retest-result", published=False)
        assert cues == []
        await expect(page.get_by_test_id("retest")).to_have_count(0)
    await context.close()
    archive.close()
    (kept,) = await asyncio.to_thread(retentions_of, place, tmp_path / "today.mcap")
    assert (kept.days_between, kept.test.n_in_band, kept.test.n_reps) == (1, told.count(Verdict.IN_BAND), N_TEST)
