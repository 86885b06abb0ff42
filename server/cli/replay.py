"""`pitchbend replay FILE`: a recording on the page."""

from __future__ import annotations

from typing import Annotated

import typer

from sensors.record.reader import read_head
from server.api.wish import StoreWish
from server.bays.spec import BaySpec
from server.cli import serving
from server.cli.bus import bus_wished
from server.cli.drills import chosen_drill
from server.cli.joining import joining_wishes
from server.cli.options import (
    DEFAULT_PORT,
    BusPlace,
    DrillName,
    Lan,
    NoBrowser,
    Port,
    Recording,
    SecondName,
    StorePlace,
    Tls,
)
from server.wire import SourceView


def replay(
    file: Recording,
    *,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
    lan: Lan = False,
    store: StorePlace = None,
    tls: Tls = False,
    bus: BusPlace = None,
    speed: Annotated[
        float,
        typer.Option(
            min=0.0, max=1000.0, metavar="NUMBER", help="2 plays twice as fast, 0.5 half as fast, 0 as fast as it can."
        ),
    ] = 1.0,
    drill: DrillName = None,
    second: SecondName = None,
) -> None:
    """Watch a recorded practice again.

    Everything is computed anew from what the sensors sent, so the page shows what it showed then. Stop it, step through it,
    wind it or have one rep over and over with the bar on the page. It plays once, and waits at its end.
    """
    from server.replay.deck import Deck  # noqa: PLC0415  # brings what tells the pages: not for other commands

    read_head(file)
    chosen = chosen_drill(drill)
    beside = chosen_drill(second)
    joining = joining_wishes(port, lan=lan, tls=tls)
    on_bus = bus_wished(bus)
    spec = BaySpec(
        deck=Deck(file, speed=speed),
        view=SourceView(kind="replay", name=file.name, speed=speed),
        drill=chosen,
        second=beside,
    )
    serving.serve(
        [spec], port=port, open_browser=not no_browser, joining=joining, bus=on_bus, store=StoreWish(place=store)
    )
