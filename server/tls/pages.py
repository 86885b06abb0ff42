"""`/trust`: the authority's certificate, with steps for each kind of device. Open to everybody: there is no secret in it."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import escape
from typing import Final

from starlette.datastructures import Headers
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from server.guards import CONTENT_SECURITY_POLICY
from server.joining.door import TRUST
from server.joining.hosts import called_by
from server.joining.pages import page
from server.tls.authority import Authority
from server.tls.steps import DEVICES, MEANS

_KNOWN: Final = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'
_ASK: Final = f"""const known = new Image();
const show = (id) => {{ document.getElementById('asking').hidden = true; document.getElementById(id).hidden = false; }};
known.onload = () => show('yes');
known.onerror = () => show('not-yet');
known.src = document.getElementById('go').href + '{TRUST[1:]}/known.svg';
"""
"""A picture that comes over TLS is shown only by a device that trusts."""
_DAY: Final = {"Cache-Control": "no-store"}


class TrustPages:
    """ASGI middleware; `tls_port` tells where the service is encrypted."""

    def __init__(self, app: ASGIApp, *, authority: Authority, tls_port: Callable[[], int]) -> None:
        self._app = app
        self._authority = authority
        self._tls_port = tls_port
        name = re.sub(r"[^a-z0-9]+", "-", authority.name.lower()).strip("-")
        self._files = {
            f"{TRUST}/certificate.crt": (authority.der, "application/x-x509-ca-cert", f"{name}.crt"),
            f"{TRUST}/certificate.pem": (authority.pem, "application/x-pem-file", f"{name}.pem"),
        }

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer for these pages, or pass it on."""
        path = scope.get("path", "")
        if scope["type"] != "http" or not (path == TRUST or path.startswith(f"{TRUST}/")):
            await self._app(scope, receive, send)
            return
        answer = self._answer(path, scope) if scope["method"] in ("GET", "HEAD") else Response(status_code=405)
        await answer(scope, receive, send)

    def _answer(self, path: str, scope: Scope) -> Response:
        if path in (TRUST, f"{TRUST}/"):
            return self._page(f"https://{called_by(scope)}:{self._tls_port()}/", Headers(scope=scope))
        if path == f"{TRUST}/ask.js":
            return Response(_ASK, media_type="text/javascript", headers=_DAY)
        if path == f"{TRUST}/known.svg":
            return Response(
                _KNOWN, media_type="image/svg+xml", headers=_DAY | {"Cross-Origin-Resource-Policy": "cross-origin"}
            )
        if path in self._files:
            content, kind, name = self._files[path]
            as_file = {"Content-Disposition": f'attachment; filename="{name}"'}
            return Response(content, media_type=kind, headers=_DAY | as_file)
        return PlainTextResponse("There is no such page. Open /trust.", status_code=404)

    def _page(self, encrypted: str, headers: Headers) -> HTMLResponse:
        authority, own = self._authority, escape(encrypted, quote=True)
        agent = headers.get("user-agent", "")
        steps = "".join(
            f"<details{' open' if _is_on(agent, device.name) else ''}><summary>{device.name}</summary><ol>"
            + "".join(f"<li>{step}</li>" for step in device.trust)
            + f"</ol><p>To stop trusting: {device.forget}</p></details>"
            for device in DEVICES
        )
        body = (
            '<p id="asking" role="status">Asking whether this device trusts this computer.</p>'
            f'<p id="yes" role="status" hidden><strong>This device trusts this computer.</strong> Open your link, or scan its '
            f'picture. Joined already? <a id="go" href="{own}">Go to the practice</a></p>'
            '<p id="not-yet" role="status" hidden><strong>This device does not trust this computer yet.</strong> '
            "Make these steps once, then load this page again.</p>"
            f'<p><a class="go" href="{TRUST}/certificate.crt">Get the certificate</a></p>'
            f"{steps}<h2>What it means</h2>{MEANS}"
            f"<p>Name: {escape(authority.name)}<br>Until: {authority.ends:%Y-%m-%d}<br>"
            f"SHA-256: <code>{authority.fingerprint}</code></p>"
            f'<p>For programs: <a href="{TRUST}/certificate.pem">the same in PEM form</a></p>'
        )
        answer = page("Trust this computer", body, head=f'<script src="{TRUST}/ask.js" defer></script>')
        answer.headers["Content-Security-Policy"] = f"{CONTENT_SECURITY_POLICY}; img-src {encrypted}"
        return answer


def _is_on(agent: str, device: str) -> bool:
    first = device.split(",", 1)[0]
    sign = {"Mac": "Macintosh", "Linux": "X11"}.get(first, first)
    return sign in agent or (first == "iPhone" and "iPad" in agent)
