"""A coach's drill, drawn as a square of black and white by segno, is photographed, read by the page and taken with one tap."""

from __future__ import annotations

import io

import numpy as np
import pytest
import segno
from PIL import Image, ImageFilter
from playwright.async_api import Page, Route, expect

from fusion.drills.parse import drill_from
from fusion.drills.write import text_of
from server.api.archive import Archive
from server.api.wish import StoreWish
from server.drills import our_drills
from tests.api_client import api_over
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED

DRILL = max((one.drill for one in our_drills()), key=lambda drill: len(text_of(drill)))
TEXT = text_of(DRILL)


def picture(text: str) -> Image.Image:
    out = io.BytesIO()
    segno.make(text, micro=False, error="m").save(out, kind="png", scale=6, border=4)
    return Image.open(out).convert("RGB")


def photo(text: str) -> Image.Image:
    """As a phone's camera sees a screen: askew, dark on one side, a little out of focus, with noise, on a grey wall."""
    square = picture(text).resize((1300, 1300))
    # Where the corners come to lie: eight equations for the eight coefficients that Pillow wants.
    corners, seen = [(0, 0), (1300, 0), (1300, 1300), (0, 1300)], [(420, 300), (1790, 220), (1900, 1640), (330, 1500)]
    rows = [
        row
        for (x, y), (u, v) in zip(corners, seen, strict=True)
        for row in ([u, v, 1, 0, 0, 0, -x * u, -x * v], [0, 0, 0, u, v, 1, -y * u, -y * v])
    ]
    back = np.linalg.solve(np.array(rows, float), np.array(corners, float).ravel())
    size = (2400, 1800)
    seen_square = square.transform(size, Image.Transform.PERSPECTIVE, back, Image.Resampling.BICUBIC)
    inside = Image.new("L", square.size, 255).transform(size, Image.Transform.PERSPECTIVE, back)
    wall = Image.composite(seen_square, Image.new("RGB", size, (120, 118, 110)), inside)
    light = np.linspace(0.45, 1.0, size[0])[None, :, None]
    noise = np.random.default_rng(2).normal(0, 6, (size[1], size[0], 3))
    dim = np.clip(np.asarray(wall.filter(ImageFilter.GaussianBlur(1.5))) * light + noise, 0, 255)
    return Image.fromarray(dim.astype(np.uint8))


def file_of(image: Image.Image, kind: str) -> dict[str, str | bytes]:
    out = io.BytesIO()
    image.save(out, kind, quality=85)
    return {"name": f"picture.{kind}", "mimeType": f"image/{kind}", "buffer": out.getvalue()}


@pytest.fixture
async def page(open_page: OpenPage, feed: Feed) -> Page:
    feed.hello = samples.hello(drills=samples.choices())
    page = await open_page()
    archive = Archive(StoreWish())

    async def ask(route: Route) -> None:
        """The API itself answers."""
        async with api_over(archive) as api:
            told = await api.post(
                "/drills/read", content=route.request.post_data, headers={"Content-Type": "application/json"}
            )
        await route.fulfill(status=told.status_code, body=told.content, content_type=told.headers["content-type"])

    await page.route("**/api/drills/read", ask)
    return page


async def choose(page: Page, file: dict[str, str | bytes], by: str = "scan-file") -> None:
    await page.get_by_test_id(by).set_input_files(file)  # type: ignore[arg-type]


async def test_a_photo_of_the_coachs_screen_is_read_and_one_tap_takes_the_drill(page: Page, feed: Feed) -> None:
    offer = page.get_by_test_id("scan-offer")
    for by, file in (("scan-photo", file_of(photo(TEXT), "jpeg")), ("scan-file", file_of(picture(TEXT), "png"))):
        await expect(page.get_by_test_id(by)).to_have_attribute("accept", "image/*")
        await choose(page, file, by)
        await expect(offer).to_contain_text(DRILL.aim)
        for said in (DRILL.name, DRILL.feel, "swings"):
            await expect(offer).to_contain_text(said)
        assert await violations(page) == []
        assert await page.evaluate(CLIPPED) == []
        if by == "scan-photo":
            await offer.get_by_role("button", name="Leave it").click()
            await expect(offer).to_have_count(0)
    assert feed.heard.empty()  # nothing was chosen by being read
    await offer.get_by_role("button", name="Practise this").click()
    heard = await feed.asked()
    assert drill_from(heard.text) == DRILL
    await expect(page.get_by_test_id("scan")).to_contain_text(f"{DRILL.name}: this is your drill now.")


async def test_the_browsers_own_reader_is_asked_first_and_one_that_fails_is_no_matter(page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    offer = page.get_by_test_id("scan-offer")
    for own, of_library in (("[{ rawValue: window.__own }]", False), ("Promise.reject(new Error('none here'))", True)):
        await page.evaluate(
            "text => { window.__own = text; globalThis.BarcodeDetector = class { async detect() { return "
            + own
            + "; } }; }",
            TEXT,
        )
        await choose(page, file_of(picture(TEXT), "png"))
        await expect(offer).to_contain_text(DRILL.aim)
        assert bool([url for url in asked if "/decode-" in url]) is of_library
        await offer.get_by_role("button", name="Leave it").click()


async def test_what_is_no_drill_is_said_and_nothing_is_opened(page: Page, feed: Feed) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    said = page.get_by_test_id("scan-trouble")
    narrow = TEXT.replace("name = ", "name = '''\n", 1)
    for file, words in (
        (file_of(picture("https://elsewhere.example/win"), "png"), "no drill. Nothing was opened"),
        (file_of(picture("http://192.0.2.1:8787/join/abc_DEF-1"), "png"), "a link to join a practice"),
        (file_of(picture(narrow), "png"), "This is no drill that can be used"),
        (file_of(Image.new("RGB", (900, 700), "white"), "png"), "No such square was found"),
        (
            {"name": "a.png", "mimeType": "image/png", "buffer": b"<svg onload=alert(1)>"},
            "no picture that can be shown",
        ),
    ):
        await choose(page, file)
        await expect(said).to_contain_text(words)
        await expect(page.get_by_test_id("scan-offer")).to_have_count(0)
    assert feed.heard.empty()
    assert not [url for url in asked if "elsewhere" in url or "/join/" in url]
