"""Pictures of the page: into `docs/images` when PITCHBEND_SCREENSHOTS=1, else where they dirty nothing."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from playwright.async_api import Page

_IMAGES = Path(__file__).parents[2] / "docs" / "images"
_ELSEWHERE = Path(tempfile.gettempdir()) / "pitchbend-shots"


async def shoot(page: Page, name: str, *, full_page: bool = False, published: bool = False) -> Path:
    """Take a picture. `published` marks the few that the documentation shows."""
    keep = published and os.environ.get("PITCHBEND_SCREENSHOTS") == "1"
    folder = _IMAGES if keep else _ELSEWHERE
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.png"
    await page.evaluate("document.fonts.ready")
    await page.screenshot(path=path, full_page=full_page, animations="disabled")
    return path
