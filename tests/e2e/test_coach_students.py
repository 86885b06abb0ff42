"""Several students: never one's data under another's name."""

from __future__ import annotations

import asyncio

from playwright.async_api import expect

from fusion.outputs.instant import Phase
from tests.e2e import coach_samples, samples
from tests.e2e.coach_page import open_coach
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

# Every text the enlarged student is shown by, at each paint, until told to stop.
WATCH = """
() => {
  window.__seen = new Set();
  const look = () => {
    const name = document.querySelector('#bay-title')?.textContent;
    const figure = document.querySelector('[data-testid=coach-figure]')?.textContent;
    const rep = document.querySelector('[data-testid=coach-verdict] strong')?.textContent ?? '';
    if (name && figure) window.__seen.add([name, figure === '–' ? '' : figure, rep].join('|'));
    requestAnimationFrame(look);
  };
  look();
}
"""


async def test_no_students_data_under_anothers_name(open_page: OpenPage, feed: Feed) -> None:
    """Three students with figures of their own, and a coach who cannot make up his mind."""
    page = await open_coach(open_page, feed, *(coach_samples.bay(i) for i in range(3)))
    expected = {}
    for i, (slug, name, *_) in enumerate(coach_samples.NAMES[:3]):
        own = feed.bays[slug]
        own.hello = coach_samples.hello(i, reps=[samples.rep(10 * i + 1)])
        own.now = samples.frame(phase=Phase.ARM_LEVEL, bend_change_deg=-10.0 - i)
        expected[name] = ({"", f"−{10 + i}°"}, {"", f"Rep {10 * i + 1}:"})
    await page.evaluate(WATCH)
    for n in range(12):
        await page.evaluate("(slug) => { location.hash = '#coach/' + slug }", coach_samples.NAMES[n % 3][0])
        await asyncio.sleep(0.01 * (n % 5))
    await page.evaluate("location.hash = '#coach/long'")
    await expect(page.get_by_test_id("coach-figure")).to_have_text("−12°")
    seen = [one.split("|") for one in await page.evaluate("[...window.__seen]")]
    assert seen
    for name, figure, rep in seen:
        figures, reps = expected[name]
        assert figure in figures, seen
        assert rep in reps, seen
    for slug in ("mara-voss", "tom-okafor"):
        assert feed.bays[slug].n_open == 0, "a student who is no longer enlarged is still listened to"
    assert feed.bays["long"].n_open == 1


async def test_another_students_data_is_not_shown(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1))
    feed.bays["mara-voss"].hello = coach_samples.hello(1)
    await page.get_by_role("link", name="Mara Voss").click()
    await expect(page.get_by_test_id("wrong-student")).to_be_visible()
    await expect(page.get_by_test_id("coach-figure")).to_have_count(0)


async def test_a_student_who_is_gone_is_said_to_be(open_page: OpenPage, feed: Feed) -> None:
    page = await open_coach(open_page, feed, coach_samples.bay(0), coach_samples.bay(1), at="mara-voss")
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    await feed.board.show(coach_samples.bay(1), coach_samples.bay(2))
    await expect(page.get_by_test_id("no-such")).to_be_visible()
    await page.go_back()
