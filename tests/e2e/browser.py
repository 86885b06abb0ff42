"""Finding and starting a Chromium, and the sizes of screen the page is looked at in."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

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
