"""Runs the service on this machine until someone stops it."""

from __future__ import annotations

import contextlib
import os
import platform
import socket
import threading
import webbrowser
from collections.abc import Callable, Sequence
from typing import Final

import uvicorn
from rich.console import Console

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.bays.opened import open_bays
from server.bays.spec import BaySpec
from server.joining.book import Place
from server.joining.start import open_to_lan, say_links
from server.joining.wishes import JoinWishes
from server.tape_advice import end_sentences

HOST: Final = "127.0.0.1"
ANYWHERE: Final = "0.0.0.0"
"""Every network this machine is in."""
MAX_FRAME_BYTES: Final = 65_536
"""A longer websocket message ends the connection; see `server.routes.live` for what is refused before that."""
_GRACE_S: Final = 2
"""A client that does not let go is let go of."""


class PortTaken(Exception):
    """The port cannot be had: another program has it, or this user may not."""

    def __init__(self, port: int) -> None:
        self.port = port
        super().__init__(f"port {port} is taken")


def serve(
    specs: Sequence[BaySpec],
    *,
    port: int,
    open_browser: bool,
    joining: JoinWishes | None = None,
    store: StoreWish | None = None,
    view: str = "",
) -> None:
    """Serve these practices and the API over that store until Ctrl-C; the page opens at `view`, such as `#review`.

    Raises `PortTaken`, `RecorderError` when a recording cannot be begun, and any bug.
    """
    console = Console()
    is_open = joining is not None and joining.lan
    archive = Archive(store or StoreWish())
    with contextlib.closing(listen(port, ANYWHERE if is_open else HOST)) as listener:
        opened = open_bays(specs)
        bugs: list[Exception] = []

        def stop(bug: Exception) -> None:
            bugs.append(bug)
            server.should_exit = True

        at = listener.getsockname()[1]
        places = [Place(id=one.bay.id, name=one.bay.name) for one in opened]
        lan = open_to_lan(at, places, console) if is_open else None
        server = uvicorn.Server(
            config_of(make_app(Bays([one.bay for one in opened]), on_bug=stop, lan=lan, archive=archive))
        )
        url = f"http://{HOST}:{at}/"
        console.print(f"Pitchbend is at {url}{view} (stop it with Ctrl-C)", soft_wrap=True, highlight=False)
        if len(opened) > 1:
            for one in opened:
                console.print(
                    f"  {one.bay.name}: {url}?bay={one.bay.id}", soft_wrap=True, highlight=False, markup=False
                )
            console.print(f"  the coach: {url}#coach", soft_wrap=True, highlight=False)
        if lan is not None:
            say_links(lan, console)
        if open_browser and has_browser():
            threading.Thread(target=_open, args=(url + view,), daemon=True, name="browser").start()
        with contextlib.suppress(KeyboardInterrupt):  # how uvicorn passes on the Ctrl-C that it has already obeyed
            server.run(sockets=[listener])
    archive.close()
    for one in opened:
        for sentence in end_sentences(one.tape.status):
            console.print(sentence, soft_wrap=True, highlight=False)
    if bugs:
        raise bugs[0]


def config_of(app: Callable[..., object]) -> uvicorn.Config:
    """Give the settings of the web server, the same in tests and benches."""
    return uvicorn.Config(
        app,
        loop="asyncio",
        ws="websockets-sansio",
        ws_per_message_deflate=False,  # costs more than it saves on this machine and on a home network
        ws_max_size=MAX_FRAME_BYTES,
        log_level="warning",
        access_log=False,  # addresses of pages may hold what lets one in
        proxy_headers=False,  # who is connected is who is connected: the door believes no header
        server_header=False,
        timeout_graceful_shutdown=_GRACE_S,
    )


def listen(port: int, host: str = HOST) -> socket.socket:
    """Take the port, on this machine only unless told otherwise; 0 takes any free one. Raises `PortTaken`."""
    # asyncio switches off the system's collecting of small writes only where the protocol is named: without it a frame that
    # follows a cue waits 40 ms for the cue to be confirmed.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # on Windows this option would let two programs share a port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen()  # a browser that is faster than the service waits
    except OSError as error:
        listener.close()
        raise PortTaken(port) from error
    return listener


def has_browser() -> bool:
    """Whether opening a page shows it in a window, and does not take over the terminal."""
    if platform.system() == "Linux":
        return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or os.environ.get("BROWSER"))
    return True


def _open(url: str) -> None:
    with contextlib.suppress(webbrowser.Error, OSError):  # the address stands in the terminal all the same
        webbrowser.open(url)
