"""The few pages that are shown to those who are not in: complete in themselves, for nothing else is served to them."""

from __future__ import annotations

from html import escape
from typing import Final

from starlette.responses import HTMLResponse

_STYLE: Final = (
    ":root{color-scheme:light dark}body{margin:0;padding:1.5rem;background:#fbfaf7;color:#12110e;"
    "font:1.15rem/1.5 ui-sans-serif,system-ui,sans-serif}main{max-width:34rem;margin:0 auto}"
    "h1{font-size:1.6rem;line-height:1.25}a{color:#123f9c}"
    "h2{font-size:1.2rem;margin-bottom:0}code{font-size:.95rem;overflow-wrap:anywhere}summary{padding:.7rem 0;font-weight:600}"
    "li{margin:.3rem 0}"
    ".go{display:inline-block;padding:.7rem 1.2rem;border:3px solid;border-radius:10px;font-weight:700}"
    "@media(prefers-color-scheme:dark){body{background:#12110f;color:#f6f3ea}a{color:#9dbdff}}"
)
_NO_STORE: Final = {"Cache-Control": "no-store"}


def page(
    title: str, body: str, *, status: int = 200, head: str = "", headers: dict[str, str] | None = None
) -> HTMLResponse:
    """Give a whole page; `body` is HTML."""
    return HTMLResponse(
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, '
        f'initial-scale=1"><title>{escape(title)} - Pitchbend</title><style>{_STYLE}</style>{head}</head>'
        f"<body><main><h1>{escape(title)}</h1>{body}</main></body></html>",
        status_code=status,
        headers=_NO_STORE | (headers or {}),
    )


def not_in_page() -> HTMLResponse:
    """For one who has no link, an old one, or was sent away."""
    return page(
        "You are not in this practice",
        "<p>This page is for those who joined by a link. Yours is missing, has been replaced, or the practice was started "
        "again since.</p><p><strong>What to do:</strong> ask the person at the computer for the link or the picture to scan. "
        "It is in the terminal and on the page <em>Let others join</em> there.</p>"
        '<p>You joined already, in this browser? <a href="/">Go to the practice</a></p>',
        status=403,
    )


def too_many_guesses_page(wait_s: float) -> HTMLResponse:
    """For one who tried too many links that do not exist."""
    seconds = max(1, round(wait_s))
    return page(
        "Too many wrong links",
        f"<p>Several links that do not exist were tried from this device. Wait {seconds} seconds, then scan the picture "
        "again, or copy the link anew.</p>",
        status=429,
        headers={"Retry-After": str(seconds)},
    )


def full_page() -> HTMLResponse:
    """For one more than there is room for."""
    return page(
        "There is no room for another guest",
        "<p>As many devices as can be are in this practice. Ask the person at the computer to send one away on the page "
        "<em>Let others join</em>, then open the link again.</p>",
        status=503,
    )


def come_in_page(target: str) -> HTMLResponse:
    """Lead on to the practice.

    Not by a redirect: the browser would count it to the page or program that the link was opened from, and leave out the
    cookie that is only for our own pages.
    """
    where = escape(target, quote=True)
    return page(
        "You are in",
        f'<p><a class="go" href="{where}">Go to the practice</a></p>',
        head=f'<meta http-equiv="refresh" content="0;url={where}">',
    )
