"""The review page over the real service and a store with the demo in it.

The numbers that it must show are the API's, which are those of the analysis to the last bit (`tests/unit/test_api.py`).
"""

from __future__ import annotations

import math
import re
from collections.abc import AsyncIterator
from functools import partial
from typing import Any

import pytest
from playwright.async_api import Browser, Page, Route, expect

from tests.e2e.review_store import LAPTOP, at_the_last_rep, go, got, open_rep, the_reps
from tests.e2e.shots import shoot


@pytest.fixture(scope="module")
async def page(browser: Browser, review_address: str) -> AsyncIterator[Page]:
    async with at_the_last_rep(browser, review_address) as page:
        yield page


async def test_the_strip_and_the_table_say_what_the_store_holds(page: Page, review_address: str) -> None:
    _, reps = await the_reps(review_address)
    words = {"in_band": "in the band", "below": "below the band", "above": "above the band", "unknown": "not judged"}
    said = (
        await page.get_by_test_id("review-strip")
        .get_by_role("link")
        .evaluate_all("(all) => all.map((a) => a.getAttribute('aria-label'))")
    )
    assert said == [f"Rep {rep['number']}, {words[rep['verdict']]}, {rep['kind']}" for rep in reps]
    # Told by shape as well: no two verdicts are drawn alike.
    shapes = await page.evaluate(
        "() => [...document.querySelectorAll('[data-testid=review-strip] svg')].map((s) => s.firstElementChild.outerHTML)"
    )
    assert len({(rep["verdict"], shape) for rep, shape in zip(reps, shapes, strict=True)}) == len(set(shapes)) == 2
    # Without one in the address it is the last that is open.
    await expect(page.get_by_test_id("rep").get_by_role("heading", name="Rep 12")).to_be_visible()

    table = page.get_by_test_id("review-table")
    await table.get_by_role("button", name="Worst").click()
    await expect(table.get_by_role("columnheader", name="Worst")).to_have_attribute("aria-sort", "ascending")
    shown = await table.get_by_role("rowheader").all_inner_texts()
    assert [int(one) for one in shown] == [rep["number"] for rep in sorted(reps, key=lambda rep: rep["worst"])]
    await page.get_by_role("combobox", name="Verdict").select_option("in the band")
    await expect(table.get_by_role("rowheader")).to_have_count(sum(rep["verdict"] == "in_band" for rep in reps))
    await expect(page.get_by_test_id("counted")).to_contain_text("6 of 12 reps")
    await page.get_by_role("combobox", name="Cue").select_option("test")
    await expect(table).to_contain_text("No rep like that")
    for label in ("Verdict", "Cue"):
        await page.get_by_role("combobox", name=label).select_option("all")
    await table.get_by_role("button", name="Rep", exact=True).click()


async def test_the_values_are_those_of_the_analysis_and_the_scrubber_moves_all(page: Page, review_address: str) -> None:
    key, reps = await the_reps(review_address)
    await open_rep(page, 1)
    trace = await got(review_address, f"practices/{key}/reps/1/trace")
    top = next(mark for mark in reps[0]["marks"] if mark["name"] == "top")

    def degrees(deg: float, sd: float) -> str:
        return f"{'−' if deg < 0 else '+'}{abs(deg):.1f}° ± {math.ceil(sd * 10) / 10:.1f}°"

    row = page.get_by_test_id("mark-values").locator("tbody tr").first
    await expect(row.locator("td").nth(2)).to_contain_text("°")  # the marks are asked for by themselves
    at_top = (await row.locator("td").nth(2).inner_text()).replace("\xa0", " ").replace("one standard deviation: ", "")
    assert " ".join(at_top.split()) == degrees(top["bend_change_deg"], top["bend_change_deg_sd"])

    # Lengths in the reader's units, as everywhere: to the locale's, here of the United States, until somebody chooses.
    butt = page.get_by_test_id("mark-values").locator("tbody tr").last.locator("td").nth(2)
    inches = {name: abs(top[f"butt_line_m{name}"]) / 0.0254 for name in ("", "_sd")}  # 25.4 mm: NIST SP 811, appendix B
    side = "inside" if top["butt_line_m"] > 0 else "outside"
    assert inches[""] < 36  # else in feet
    await expect(butt).to_have_text(re.compile(f"^{round(inches[''])} in {side}.*± {math.ceil(inches['_sd'])} in$"))
    await page.get_by_role("button", name="Centimetres").click()
    await expect(butt).to_have_text(re.compile(f"^{round(abs(top['butt_line_m']) * 100)} cm {side}.*cm$"))

    t_s = await go(page, 2)
    i = min(range(len(trace["t_s"])), key=lambda i: abs(trace["t_s"][i] - t_s))
    await expect(page.get_by_test_id("instant")).to_have_text(f"{t_s:.2f} s, at lead arm level")
    now = await row.locator("td").nth(3).inner_text()
    assert now.startswith(degrees(trace["bend_change_deg"][i], 0.0).split("°")[0])
    picture = page.get_by_test_id("scene").get_by_role("img")
    names = {"bend": "bend_change", "pitch": "shaft_pitch", "elevation": "shaft_elevation", "roll": "forearm_roll"}
    values = [f"{name} {whole(trace[f'{column}_deg'][i], name != 'pitch')}" for name, column in names.items()]
    said = f"Forearm, hand and club, down the line, {t_s:.2f} s, at lead arm level. {', '.join(values)}, face twist"
    await expect(picture).to_have_attribute("aria-label", re.compile(re.escape(said)))
    # The slider by its keys moves the lines' scrubber, too.
    before = await page.evaluate(SCRUBBED)
    await page.get_by_test_id("scrubber").press("ArrowRight")
    await page.wait_for_function(f"(x) => {SCRUBBED} !== x", arg=before)


SCRUBBED = "document.querySelector('.u-over > div[style*=translateX]')?.style.transform"


def whole(deg: float, signed: bool) -> str:
    return f"{'−' if deg < 0 else '+' if signed else ''}{abs(round(deg))}°"


DRAWN = """
(units) => {
  const { open, pure } = window.__pitchbendReview;
  const line = open.line();
  const how = { stint: null, axis: 'time', toImpact: true, laid: [], meanOf: [], units };
  const drawn = pure.picture({ column: 'butt_line_m', line, ...how });
  return [drawn.main.y, drawn.main.sd, drawn.yWords(-20)];
}
"""


async def test_the_butt_line_is_drawn_in_the_readers_units(page: Page, review_address: str) -> None:
    key, _ = await the_reps(review_address)
    await open_rep(page, 2)
    trace = await got(review_address, f"practices/{key}/reps/2/trace")
    for units, metres, word in (("metric", 0.01, "−20 cm"), ("imperial", 0.0254, "−20 in")):
        *drawn, said = await page.evaluate(DRAWN, units)
        for values, name in zip(drawn, ("butt_line_m", "butt_line_m_sd"), strict=True):
            assert [v and v * metres for v in values] == pytest.approx(trace[name], abs=1e-9), (units, name)
        assert said == word
    button = page.get_by_role("group", name="What is drawn").get_by_role("button", name="Butt line")
    await button.click()
    await expect(page.get_by_test_id("plot-butt_line_m").locator("canvas")).to_be_visible()
    await expect(page.get_by_test_id("plot-butt_line_m")).to_have_attribute(
        "aria-label", re.compile("^Butt line of rep 2")
    )
    await shoot(page, "review-butt-line", full_page=True)
    await button.click()


async def test_reps_are_laid_over_and_against_phase(page: Page, review_address: str) -> None:
    _, reps = await the_reps(review_address)
    await open_rep(page, 1)
    await page.get_by_role("button", name="Best here").click()
    await page.get_by_role("button", name="Mean", exact=True).click()
    await expect(page.get_by_test_id("mean-words")).to_contain_text(
        f"mean of {sum(rep['quality'] == 'ok' for rep in reps)} reps of this drill"
    )
    await page.get_by_role("group", name="Against").get_by_role("button", name="phase").click()
    await page.get_by_role("group", name="What is drawn").get_by_role("button", name="Roll").click()
    await expect(page.get_by_test_id("plot-forearm_roll_deg")).to_be_visible()
    # The best is drawn thin in space, too, and may be taken away in the table.
    await expect(page.get_by_test_id("scene")).to_contain_text("the first rep laid over")
    taken = page.get_by_test_id("review-table").get_by_role("checkbox", checked=True)
    await expect(taken).to_have_count(1)
    await go(page, 2)
    await page.get_by_test_id("traces").scroll_into_view_if_needed()
    await shoot(page, "review-laid-over")
    await page.get_by_role("button", name="Best here").click()
    await expect(taken).to_have_count(0)
    await page.get_by_role("button", name="Mean", exact=True).click()
    await page.get_by_role("group", name="What is drawn").get_by_role("button", name="Roll").click()
    await page.get_by_role("group", name="Against").get_by_role("button", name="time").click()


async def test_the_best_of_all_practices_is_laid_over(page: Page, review_address: str) -> None:
    key, reps = await the_reps(review_address)
    best = (await got(review_address, f"practices/{key}/reps/1/best"))["rep"]
    stint = (await got(review_address, f"practices/{key}"))["stints"][0]
    middle = (stint["low"] + stint["high"]) / 2  # there is one practice with one drill
    assert best["number"] == min(reps, key=lambda rep: abs(rep["worst"] - middle))["number"]
    await open_rep(page, 1)
    await page.get_by_role("button", name="Best ever").click()
    said = page.get_by_test_id("laid-words")
    await expect(said).to_contain_text(f"Best ever: rep {best['number']} of")
    named = page.get_by_test_id("path").locator("text", has_text="Best")
    await expect(named).to_have_count(1)
    await open_rep(page, best["number"])
    await expect(said).to_contain_text("it is this rep")
    await expect(named).to_have_count(0)
    await page.get_by_role("button", name="Best ever").click()


async def test_a_rep_is_made_the_model_and_laid_over_another(page: Page, review_address: str) -> None:
    await open_rep(page, 11)
    model = page.get_by_role("group", name="Laid over").get_by_role("button", name="Model")
    await expect(model).to_be_disabled()
    await page.get_by_text("Best, model and mean").click()
    await page.get_by_role("button", name="Make this rep the model for Maren Tolk").click()
    await expect(page.get_by_text("This rep is the model")).to_be_visible()
    await open_rep(page, 2)
    await model.click()
    await expect(page.get_by_test_id("path").locator("text", has_text="Model")).to_have_count(1)
    await model.click()
    # Made the model for all, it is laid over a rep of another player's, in another practice, too.
    await open_rep(page, 11)
    await page.get_by_text("Best, model and mean").click()
    await page.get_by_role("button", name="Make it the model for all players").click()
    key, _ = await the_reps(review_address)
    whole, other = await got(review_address, f"practices/{key}"), "1" * 64

    async def of_another(route: Route) -> None:
        answer = await route.fetch(url=route.request.url.replace(other, key))
        is_whole = route.request.url.endswith(other)
        await route.fulfill(json=whole | {"key": other, "player": "Bea Example"} if is_whole else await answer.json())

    await page.route(f"**/practices/{other}**", of_another)
    await page.goto(f"{review_address}/#review/{other}/2")
    await expect(page.get_by_role("heading", name="Bea Example")).to_be_visible()
    await model.click()
    await expect(page.get_by_test_id("path").locator("text", has_text="Model")).to_have_count(1)
    await expect(page.get_by_test_id("laid-words")).to_have_text(re.compile("Model: rep 11 of .* 2026, Maren Tolk."))
    await page.get_by_text("Best, model and mean").click()
    await page.get_by_role("button", name="Take the model away").click()
    await expect(model).to_be_disabled()
    await page.unroute(f"**/practices/{other}**")
    await page.goto(f"{review_address}/#review/{key}/2")


async def test_a_note_is_pinned_to_the_instant(page: Page, review_address: str) -> None:
    key, _ = await the_reps(review_address)
    await open_rep(page, 4)
    t_s = await go(page, 3)
    notes = page.get_by_test_id("rep-notes")
    await notes.get_by_label("Note for this instant").fill("Here the wrist has cupped.")
    await notes.get_by_role("button", name="Keep").click()
    await expect(notes.get_by_role("listitem")).to_contain_text(f"at {t_s:.2f} s: Here the wrist has cupped.")
    (kept,) = (await got(review_address, f"practices/{key}"))["notes"]
    assert (kept["rep_number"], kept["text"]) == (4, "Here the wrist has cupped.")
    assert kept["after_takeaway_s"] == pytest.approx(t_s, abs=1e-6)
    await go(page, 0)
    await notes.get_by_role("button", name="Show").click()
    await expect(page.get_by_test_id("instant")).to_have_text(f"{t_s:.2f} s, at top")
    await page.route("**/notes/*", lambda route: route.abort())
    await notes.get_by_role("button", name="Remove").click()
    await expect(notes.get_by_test_id("trouble")).to_contain_text("does not answer")
    await page.unroute("**/notes/*")
    await notes.get_by_role("button", name="Remove").click()
    await expect(notes).to_contain_text("Nothing noted")


async def test_without_webgl_a_sentence_and_everything_else(browser: Browser, review_address: str) -> None:
    context = await browser.new_context(viewport=LAPTOP, bypass_csp=True)
    page = await context.new_page()
    await page.add_init_script(
        "const get = HTMLCanvasElement.prototype.getContext;"
        "HTMLCanvasElement.prototype.getContext = function (kind, ...more) {"
        "  return String(kind).startsWith('webgl') ? null : get.call(this, kind, ...more); };"
    )
    key, _ = await the_reps(review_address)
    await page.goto(f"{review_address}/#review/{key}/2")
    await expect(page.get_by_test_id("no-scene")).to_contain_text("does not draw in three dimensions")
    await expect(page.get_by_test_id("plot-bend_change_deg").locator("canvas")).to_be_visible()
    await expect(page.get_by_test_id("mark-values")).to_contain_text("Pitch")
    await context.close()


async def fulfil(answer: dict[str, Any], route: Route) -> None:
    await route.fulfill(**answer)


async def test_what_cannot_be_shown_is_said_in_the_services_words(browser: Browser, review_address: str) -> None:
    context = await browser.new_context(viewport=LAPTOP, bypass_csp=True)
    page = await context.new_page()
    await page.goto(f"{review_address}/#review/{'0' * 64}")
    told = await page.request.get(f"{review_address}/api/practices/{'0' * 64}")
    await expect(page.get_by_test_id("trouble")).to_contain_text((await told.json())["detail"])
    refused = {
        "type": "about:blank",
        "title": "Forbidden",
        "status": 403,
        "detail": "Who watches.",
        "code": "not_yours",
    }
    for answer, where, said in (
        ({"json": {"items": [], "next": None, "only_of": None}}, "no-practices", "pitchbend review"),
        ({"json": {"items": [], "next": None, "only_of": "Jory"}}, "only-of", "the practices of Jory"),
        ({"json": refused, "status": 403, "content_type": "application/problem+json"}, "refused", "Who watches."),
    ):
        await page.route("**/api/practices?*", partial(fulfil, answer))
        await page.goto(f"{review_address}/#review")
        await page.reload()
        await expect(page.get_by_test_id(where)).to_contain_text(said)
        await expect(page.get_by_test_id("receive")).to_have_count(0 if where == "refused" else 1)
        await page.unroute("**/api/practices?*")
    await page.route("**/api/**", lambda route: route.abort())
    await page.reload()
    await expect(page.get_by_test_id("trouble")).to_contain_text("does not answer")
    await page.unroute("**/api/**")
    await page.get_by_role("button", name="Try again").click()
    await expect(page.get_by_test_id("practices")).to_contain_text("Maren Tolk")
    await context.close()
