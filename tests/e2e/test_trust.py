"""How a browser comes to trust a service with `--tls`: Chromium, which takes an authority from an NSS database of its own."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from playwright.async_api import Browser, BrowserContext, Error, async_playwright, expect

from server.joining.guest import GuestRole
from tests.e2e.browser import FLAGS, PHONE, TABLET, chromium_path
from tests.e2e.conftest import READ_CAUTIONS
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_join import read
from tests.e2e.test_layout import CLIPPED
from tests.encrypted import Encrypted, encrypted_service

WAKE = "async () => { const lock = await navigator.wakeLock.request('screen'); return lock.type; }"


@pytest.fixture
async def service(tmp_path: Path) -> AsyncIterator[Encrypted]:
    async with encrypted_service(tmp_path) as service:
        yield service


async def test_a_browser_that_does_not_trust_is_told_how(browser: Browser, service: Encrypted) -> None:
    for scheme, screen in (("light", PHONE), ("dark", TABLET)):
        context = await browser.new_context(viewport=screen, color_scheme=scheme)
        page = await context.new_page()
        errors: list[str] = []
        page.on(
            "console", lambda said, errors=errors: errors.append(said.text) if "Content Security" in said.text else None
        )
        await page.goto(f"http://127.0.0.2:{service.plain}/")  # leads there
        await expect(page.get_by_role("status")).to_contain_text("does not trust this computer yet")
        assert errors == []
        await shoot(page, f"trust-{scheme}", full_page=True)
        await context.close()
        context = await browser.new_context(viewport=screen, color_scheme=scheme, bypass_csp=True)
        page = await context.new_page()
        await page.goto(f"http://127.0.0.2:{service.plain}/trust")
        await expect(page.get_by_role("status")).to_contain_text("does not trust this computer yet")
        await page.locator("summary").first.press("Enter")
        await expect(page.get_by_text("Profile Downloaded")).to_be_visible()
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert await page.evaluate(CLIPPED) == []
        assert await violations(page) == []
        async with page.expect_download() as download:
            await page.get_by_role("link", name="Get the certificate").click()
        taken = await download.value
        assert re.fullmatch(r"pitchbend-on-range-hut-[\d-]+\.crt", taken.suggested_filename)
        assert Path(await taken.path()).read_bytes() == service.encryption.authority.der
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            await page.goto(service.link(GuestRole.STUDENT))
        await context.close()


async def test_the_page_for_letting_others_in_shows_it_first(browser: Browser, service: Encrypted) -> None:
    context = await browser.new_context(viewport=PHONE, bypass_csp=True)
    page = await context.new_page()
    await page.goto(f"http://127.0.0.1:{service.plain}/#join")
    await expect(page.get_by_test_id("trust")).to_contain_text(service.encryption.authority.fingerprint)
    await expect(page.get_by_text("What goes through the air is encrypted.")).to_be_visible()
    links = {service.joining.url(link, "127.0.0.2") for link in service.joining.book.links}
    assert await read(page) == {*links, f"http://127.0.0.2:{service.plain}/trust"}
    await shoot(page, "join-trust", full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    await context.close()


@pytest.fixture
async def trusting_browser(service: Encrypted, tmp_path: Path) -> AsyncIterator[BrowserContext]:
    if shutil.which("certutil") is None or os.name == "nt":
        pytest.skip("needs certutil (Debian: libnss3-tools)")
    database, certificate = tmp_path / ".pki" / "nssdb", tmp_path / "authority.crt"
    database.mkdir(parents=True)
    certificate.write_bytes(service.encryption.authority.pem)
    at = ("certutil", "-d", f"sql:{database}")
    subprocess.run([*at, "-N", "--empty-password"], check=True, capture_output=True)
    subprocess.run([*at, "-A", "-t", "C,,", "-n", "range hut", "-i", certificate], check=True, capture_output=True)
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(
            executable_path=chromium_path(), args=FLAGS, env=os.environ | {"HOME": str(tmp_path)}
        )
        context = await browser.new_context(viewport=PHONE)
        await context.add_init_script(READ_CAUTIONS)
        yield context
        await browser.close()


async def test_a_browser_that_trusts_comes_in_and_may_keep_its_screen_on(
    trusting_browser: BrowserContext, service: Encrypted
) -> None:
    page = await trusting_browser.new_page()
    await page.goto(f"http://127.0.0.2:{service.plain}/trust")
    await expect(page.get_by_role("status")).to_contain_text("This device trusts this computer.")
    await page.goto(service.link(GuestRole.STUDENT))
    await page.wait_for_url(f"https://127.0.0.2:{service.port}/")
    await expect(page.get_by_role("heading", level=1).first).to_be_visible()
    assert await page.evaluate("isSecureContext")
    assert await page.evaluate(WAKE) == "screen"
    (cookie,) = await trusting_browser.cookies()
    assert (cookie["name"], cookie["secure"]) == (f"__Host-pitchbend-{service.port}", True)
