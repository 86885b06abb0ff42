"""The built page. Files with a hash in their name may be kept for ever, the index never."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path
from typing import Final

from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

ASSETS: Final = "assets"
_INDEX: Final = (".", "index.html")
_FOR_EVER: Final = "public, max-age=31536000, immutable"

MISSING_PAGE: Final = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Pitchbend: the page is not built</title></head>
<body><h1>Pitchbend is running, but its page has not been built</h1>
<p>Stop it with Ctrl-C and start it again with <code>python3 -m server demo</code> (Windows: <code>py -m server demo</code>):
that builds the page first. If you work on the page yourself, run <code>npm ci</code> and <code>npm run build</code> in the
folder <code>web</code>, then load this page again.</p></body></html>
"""


def built_page() -> Path:
    """Where the build puts the page, in a checkout and in an installed package alike."""
    return Path(str(files("server") / "static"))


class Page(StaticFiles):
    """Serves `folder`, which may be built, or built again, while the service runs."""

    def __init__(self, folder: Path) -> None:
        super().__init__(directory=folder, html=True, check_dir=False)

    async def check_config(self) -> None:
        """Leave out the check that the folder exists: see `get_response`."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Serve a file; a page that was never built says how to build it."""
        try:
            response = await super().get_response(path, scope)
        except HTTPException as error:
            if error.status_code != 404 or path not in _INDEX:
                raise
            response = HTMLResponse(MISSING_PAGE, status_code=503)
        if path.split(os.sep, 1)[0] == ASSETS:
            response.headers["Cache-Control"] = _FOR_EVER
        else:
            response.headers["Cache-Control"] = "no-store" if path in _INDEX else "no-cache"
        return response
