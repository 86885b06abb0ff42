"""Runs the service on this machine until someone stops it."""

from __future__ import annotations

import contextlib
import os
import platform
import threading
import webbrowser
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from rich.console import Console

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.bays.opened import open_bays
from server.bays.spec import BaySpec
from server.bus.address import BusAddress
from server.joining.book import Place
from server.joining.start import open_to_lan, say_links, say_trust
from server.joining.wishes import JoinWishes
from server.storing.storing import begin_all
from server.tape_advice import end_sentences
from server.web import HOST, Ports, ports, server_of

if TYPE_CHECKING:
    from server.bays.on_bus import OnBus


def serve(
    specs: Sequence[BaySpec],
    *,
    port: int,
    open_browser: bool,
    joining: JoinWishes | None = None,
    store: StoreWish | None = None,
    view: str = "",
    bus: BusAddress | None = None,
) -> None:
    """Serve these practices and the API over that store until Ctrl-C; the page opens at `view`, such as `#review`.

    With a `bus`, boards on it are told of the practices.

    Raises `PortTaken`, `TrustTrouble`, `RecorderError` when a recording cannot be begun, and any bug.
    """
    wishes = joining or JoinWishes()
    console = Console()
    archive = Archive(store or StoreWish())
    with ports(port, wishes) as taken:
        opened = open_bays(specs)
        storings = begin_all(spec.storing for spec in specs)
        url = f"http://{HOST}:{taken.number}/"
        say(console, f"Pitchbend is at {url}{view} (stop it with Ctrl-C)")
        if len(opened) > 1:
            for one in opened:
                say(console, f"  {one.bay.name}: {url}?bay={one.bay.id}")
            say(console, f"  the coach: {url}#coach")
        if open_browser:
            show(url + view)
        places = [Place(id=one.bay.id, name=one.bay.name) for one in opened]
        bays = Bays([one.bay for one in opened])
        on_bus: OnBus | None = None
        if bus is not None:
            from server.bays.on_bus import Telling  # noqa: PLC0415  # what is not used does not delay the start

            on_bus = Telling(bus, [one.bay for one in opened], tell=lambda line: say(console, line))
        bugs = run(bays, taken, console, places=places if wishes.lan else None, archive=archive, on_bus=on_bus)
    archive.close()
    for one in opened:
        for sentence in end_sentences(one.tape.status):
            say(console, sentence)
    for storing in storings:
        storing.finish(partial(say, console))
    if bugs:
        raise bugs[0]


def serve_board(bus: BusAddress, *, port: int, open_browser: bool, joining: JoinWishes | None = None) -> None:
    """Serve a coach's page for the practices on a bus until Ctrl-C. Raises `PortTaken`, `TrustTrouble`, and any bug."""
    from server.bays.on_bus import Watching  # noqa: PLC0415  # as above

    wishes = joining or JoinWishes()
    console = Console()
    bays = Bays([])
    with ports(port, wishes) as taken:
        url = f"http://{HOST}:{taken.number}/#coach"
        say(
            console,
            f"The board is at {url} (stop it with Ctrl-C). Practices on {bus.shown} appear there by themselves.",
        )
        if open_browser:
            show(url)
        on_bus = Watching(bus, bays, tell=lambda line: say(console, line))
        bugs = run(bays, taken, console, places=[] if wishes.lan else None, students=False, on_bus=on_bus)
    if bugs:
        raise bugs[0]


def run(
    bays: Bays,
    taken: Ports,
    console: Console,
    *,
    places: Sequence[Place] | None = None,
    students: bool = True,
    archive: Archive | None = None,
    on_bus: OnBus | None = None,
) -> list[Exception]:
    """Run these practices on these ports; with `places` others may join, `students` among them. Gives the bugs that ended it."""
    bugs: list[Exception] = []

    def stop(bug: Exception) -> None:
        bugs.append(bug)
        server.should_exit = True

    lan = None
    if places is not None:
        lan = open_to_lan(taken, places, console, students=students)
        if taken.encryption is not None:
            say_trust(taken.encryption, console)
        say_links(lan, console)
    app = make_app(bays, on_bug=stop, lan=lan, archive=archive, encryption=taken.encryption, on_bus=on_bus)
    server = server_of(app, taken)
    with contextlib.suppress(KeyboardInterrupt):  # how uvicorn passes on the Ctrl-C that it has already obeyed
        server.run(sockets=[taken.plain])
    return bugs


def say(console: Console, line: str) -> None:
    """Print a line as it is."""
    console.print(line, soft_wrap=True, highlight=False, markup=False)


def show(url: str) -> None:
    """Open a page where there is a browser with a window."""
    if has_browser():
        threading.Thread(target=_open, args=(url,), daemon=True, name="browser").start()


def has_browser() -> bool:
    """Whether opening a page shows it in a window, and does not take over the terminal."""
    if platform.system() == "Linux":
        return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or os.environ.get("BROWSER"))
    return True


def _open(url: str) -> None:
    with contextlib.suppress(webbrowser.Error, OSError):  # the address stands in the terminal all the same
        webbrowser.open(url)
