"""Finding and starting a Chromium, the sizes of screen the page is looked at in, and a page whose script errors fail."""

from __future__ import annotations

import os
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from playwright.async_api import Browser, Page

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge", "msedge")

FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # Chromium's own sandbox cannot be set up by root, as in a container.
    *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []),
]

PHONE = {"width": 390, "height": 844}
PHONE_SIDEWAYS = {"width": 844, "height": 390}
TABLET = {"width": 1024, "height": 768}
TABLET_UPRIGHT = {"width": 820, "height": 1180}
SCREENS = {"phone": PHONE, "phone-sideways": PHONE_SIDEWAYS, "tablet": TABLET, "tablet-upright": TABLET_UPRIGHT}


def chromium_path() -> str | None:
    """Path of a Chromium: $CHROMIUM, else one on PATH, else None (Playwright then uses its own, when it has one)."""
    for candidate in (os.environ.get("CHROMIUM"), *(shutil.which(name) for name in NAMES)):
        if candidate and Path(candidate).exists():
            return candidate
    return None


@asynccontextmanager
async def page_alone(browser: Browser, **context: Any) -> AsyncIterator[Page]:
    """A page in a browser context of its own, on a phone unless told otherwise; any script error fails the test."""
    opened = await browser.new_context(**({"viewport": PHONE, "bypass_csp": True} | context))
    page = await opened.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    await opened.close()
    assert not errors, errors
