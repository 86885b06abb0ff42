"""What to call a device in a list of guests: a plain word or two from what its browser says of itself. A help, never a proof."""

from __future__ import annotations

from typing import Final

_DEVICES: Final = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("CrOS", "Chromebook"),
    ("Windows", "Windows computer"),
    ("Macintosh", "Mac or iPad"),  # an iPad says so too, unless told otherwise
    ("Linux", "Linux computer"),
)
_BROWSERS: Final = (
    ("Edg", "Edge"),
    ("SamsungBrowser", "Samsung Internet"),
    ("OPR/", "Opera"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)


def device_name(user_agent: str) -> str:
    """Say it in words; empty when nothing is known."""
    device = next((word for sign, word in _DEVICES if sign in user_agent), "")
    if device == "Android":
        device = "Android phone" if "Mobile" in user_agent else "Android tablet"
    browser = next((word for sign, word in _BROWSERS if sign in user_agent), "")
    return ", ".join(filter(None, (device, browser)))
