"""Giving the sensors their places: the one that moves lights up, a tap places it, keys do as well; then the fit."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.async_api import Page, expect

from fusion.outputs.fit import FitReason, FitState
from sensors.battery import BatteryState
from sensors.events import LinkReason, LinkState
from sensors.ids import Move, Role, SensorId
from sensors.sources.base import WornElsewhere
from server.choosing.sentences import next_instruction, worn_elsewhere
from server.wire import SensorsMessage
from server.wire_choosing import ChoosingMessage, ChoosingView
from server.wire_fit import FitView
from tests.e2e import samples
from tests.e2e.browser import PHONE, TABLET
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.samples import candidate, choosing
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_fit import LIVE, news

A, B = "C0:00:00:00:00:0A", "C0:00:00:00:00:0B"
MOVING: dict[str, Any] = {"moving": True, "activity": 0.8}


def hello(view: ChoosingView, **changes: Any) -> Any:
    given = {"source": LIVE, "fit": FitView(complete=False, taken=[]), "sensors": [], "choosing": view} | changes
    return samples.hello(**given)


async def asked(feed: Feed) -> dict[str, Any]:
    message: dict[str, Any] = (await feed.asked()).model_dump(mode="json")
    return message


async def show(feed: Feed, view: ChoosingView) -> None:
    await feed.send(ChoosingMessage(choosing=view))


def card(page: Page, sensor: str) -> Any:
    return page.get_by_test_id(f"candidate-{sensor}")


@pytest.mark.parametrize(("screen", "size"), [("phone", PHONE), ("tablet", TABLET)])
async def test_the_one_that_moves_lights_up_and_a_tap_gives_it_its_place(
    open_page: OpenPage, feed: Feed, screen: str, size: dict[str, int]
) -> None:
    feed.now = None
    feed.hello = hello(choosing())
    page = await open_page(viewport=size)
    await expect(page.get_by_role("heading", level=1)).to_have_text("Which sensor is where?")
    await expect(page.get_by_test_id("headline")).to_contain_text("Switch both on")
    await expect(page.get_by_test_id("fit-still")).to_have_count(0)
    start = page.get_by_role("button", name="Give forearm and club a sensor first")
    await expect(start).to_be_disabled()
    await show(feed, choosing(candidate("A"), candidate("B", **MOVING)))
    await expect(page.get_by_test_id("headline")).to_contain_text("the lead forearm")
    await expect(card(page, B)).to_contain_text("moving")
    await expect(card(page, A)).to_contain_text("sending")
    lit, dark = [await card(page, s).evaluate("(e) => getComputedStyle(e).backgroundColor") for s in (B, A)]
    assert lit != dark
    await expect(page.get_by_text("Reed B is moving.")).to_have_count(1)
    await shoot(page, f"choosing-{screen}", published=screen == "phone")
    await card(page, B).get_by_role("button", name="Forearm").click()
    assert await asked(feed) == {"type": "place", "sensor": B, "role": "forearm"}
    await show(feed, choosing(candidate("A", **MOVING), candidate("B", role=Role.FOREARM)))
    await expect(card(page, B).get_by_role("button", name="Forearm")).to_have_attribute("aria-pressed", "true")
    await expect(page.get_by_test_id("headline")).to_contain_text("the club")
    await card(page, A).get_by_role("button", name="Club").click()
    assert await asked(feed) == {"type": "place", "sensor": A, "role": "club"}
    placed = choosing(candidate("A", role=Role.CLUB), candidate("B", role=Role.FOREARM))
    await show(feed, placed)
    await shoot(page, f"choosing-done-{screen}", full_page=True)
    await page.get_by_role("button", name="Start with these").click()
    assert await asked(feed) == {"type": "choose", "open": False}
    await show(feed, placed.model_copy(update={"open": False}))
    await expect(page.get_by_test_id("fit-still")).to_be_visible()


async def test_a_tap_on_the_place_it_has_takes_it_back_and_further_places_are_in_a_list(
    open_page: OpenPage, feed: Feed
) -> None:
    feed.now = None
    feed.hello = hello(choosing(candidate("A", role=Role.CLUB), candidate("B")))
    page = await open_page()
    await card(page, A).get_by_role("button", name="Club").click()
    assert await asked(feed) == {"type": "place", "sensor": A, "role": "spare"}
    elsewhere = page.get_by_label("Reed B worn elsewhere")
    await elsewhere.select_option("Pelvis")
    assert await asked(feed) == {"type": "place", "sensor": B, "role": "pelvis"}
    await show(feed, choosing(candidate("A"), candidate("B", role=Role.PELVIS)))
    await expect(elsewhere).to_have_value("pelvis")
    await elsewhere.select_option("Elsewhere…")
    assert await asked(feed) == {"type": "place", "sensor": B, "role": "spare"}


async def test_keys_do_it_all_and_keep_their_place_while_the_lights_change(open_page: OpenPage, feed: Feed) -> None:
    feed.now = None
    feed.hello = hello(choosing(candidate("A"), candidate("B")))
    page = await open_page()
    await page.get_by_test_id("sound").focus()
    await page.keyboard.press("Tab")
    button = card(page, A).get_by_role("button", name="Forearm")
    await expect(button).to_be_focused()
    for moving in (True, False, True):
        await show(feed, choosing(candidate("A", moving=moving, activity=0.5), candidate("B")))
    await expect(button).to_be_focused()
    await page.keyboard.press("Space")
    assert await asked(feed) == {"type": "place", "sensor": A, "role": "forearm"}
    for _ in range(3):
        await page.keyboard.press("Tab")
    await expect(page.get_by_role("button", name="Blink Reed A")).to_be_focused()
    await page.keyboard.press("Enter")
    assert await asked(feed) == {"type": "blink", "sensor": A}


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_axe_finds_nothing_while_choosing(open_page: OpenPage, feed: Feed, scheme: str) -> None:
    feed.now = None
    silent = candidate(
        "C", state=LinkState.LOST, reason=LinkReason.IN_USE, advice="Another program is using it.", battery_pct=None
    )
    feed.hello = hello(choosing(candidate("A", role=Role.FOREARM), candidate("B", **MOVING), silent))
    page = await open_page(color_scheme=scheme)
    await expect(card(page, B)).to_contain_text("moving")
    assert await violations(page) == []
    small = await page.locator("button, input, summary, select").evaluate_all(
        "(all) => all.filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))"
    )
    assert small == []
    await shoot(page, f"choosing-{scheme}", full_page=True)


async def test_a_radio_that_is_off_is_said_where_one_looks(open_page: OpenPage, feed: Feed) -> None:
    feed.now = None
    off = next_instruction(Role.FOREARM, n_heard=0, trouble=LinkReason.ADAPTER_OFF)
    feed.hello = hello(choosing(trouble=LinkReason.ADAPTER_OFF, instruction=off))
    page = await open_page()
    await expect(page.get_by_test_id("headline")).to_contain_text("Bluetooth is switched off on this computer.")


async def test_other_sensors_and_an_exchange_are_one_tap_away(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = hello(
        choosing(open=False), fit=FitView(complete=True, taken=list(Move)), sensors=samples.hello().sensors
    )
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    assert await violations(page) == []
    await page.get_by_role("button", name="Other sensors").click()
    assert await asked(feed) == {"type": "choose", "open": True}
    await page.get_by_role("button", name="Exchange forearm and club").click()
    assert await asked(feed) == {"type": "swap"}
    await show(feed, choosing(candidate("A", role=Role.FOREARM), candidate("B", role=Role.CLUB)))
    await expect(page.get_by_role("heading", level=1)).to_have_text("Which sensor is where?")
    await expect(page.get_by_role("button", name="Other sensors")).to_have_count(0)


async def test_a_pair_that_the_fit_finds_exchanged_is_put_right_with_one_tap(open_page: OpenPage, feed: Feed) -> None:
    feed.hello = hello(choosing(open=False), fit=FitView(complete=False, taken=[Move.STILL]))
    page = await open_page()
    step = page.get_by_test_id("fit-twirl")
    advice = "The forearm sensor turned and the club's did not: they are worn the wrong way round. Exchange them."
    await step.get_by_role("button", name="I begin").click()
    await asked(feed)
    await feed.send(news(Move.TWIRL, FitState.REJECTED, [Move.STILL], advice, reason=FitReason.SWAPPED))
    await step.get_by_role("button", name="Exchange forearm and club").click()
    assert await asked(feed) == {"type": "swap"}
    await expect(step.get_by_role("button", name="Exchange forearm and club")).to_have_count(0)


async def test_a_recording_offers_no_choice(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await expect(page.get_by_role("button", name="Other sensors")).to_have_count(0)
    await expect(page.get_by_role("button", name="Exchange forearm and club")).to_have_count(0)


async def test_a_low_battery_and_a_sensor_never_heard_are_told_in_the_list(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    low = samples.sensor(
        Role.CLUB, battery_pct=4, battery=BatteryState.NEARLY_EMPTY, battery_advice="Its battery is nearly empty (4 %)."
    )
    unheard = samples.sensor(
        Role.PELVIS, name="", state=LinkState.SEARCHING, reason=LinkReason.NOT_FOUND, rate_hz=0.0, n_samples=0, n_lost=0,
        battery_pct=None, advice="The sensor is not in sight.",
    )  # fmt: skip
    await feed.send(SensorsMessage(sensors=[samples.sensor(Role.FOREARM), low, unheard]))
    await expect(page.get_by_test_id("sensor-club")).to_contain_text("Its battery is nearly empty (4 %).")
    await expect(page.get_by_test_id("sensor-pelvis")).to_contain_text("Pelvis")
    await expect(page.get_by_test_id("sensor-pelvis")).to_contain_text("not in sight")


async def test_sensors_of_other_bays_are_named_and_a_bay_that_waits_can_go_first(
    open_page: OpenPage, feed: Feed
) -> None:
    feed.now = None
    sentence = worn_elsewhere(WornElsewhere(sensor=SensorId(B), name="Reed B", bay="Anna"))
    instruction = next_instruction(Role.FOREARM, n_heard=0, trouble=LinkReason.NONE, first="Anna")
    feed.hello = hello(choosing(candidate("A"), elsewhere=[sentence], waiting=True, instruction=instruction))
    page = await open_page()
    await expect(page.get_by_test_id("choosing")).to_contain_text("Reed B is worn in bay Anna.")
    await expect(page.get_by_text("Bay Anna is choosing its sensors")).to_be_visible()
    await shoot(page, "choosing-waits", full_page=True)
    await page.get_by_role("button", name="Choose mine now").click()
    assert await asked(feed) == {"type": "choose", "open": True}
    await show(feed, choosing(candidate("A"), elsewhere=[sentence]))
    await expect(page.get_by_role("button", name="Choose mine now")).to_have_count(0)
