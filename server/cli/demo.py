"""`pitchbend demo`: the bundled practice, over and over."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated

import typer

from server.api.wish import StoreWish
from server.bays.spec import BaySpec
from server.cli import serving
from server.cli.bus import bus_wished
from server.cli.demo_lesson import MOST, DemoWishes, lesson_specs
from server.cli.demo_recording import demo_recording
from server.cli.drills import chosen_drill
from server.cli.joining import joining_wishes
from server.cli.options import DEFAULT_PORT, BusPlace, DrillName, Lan, NoBrowser, Port, SecondName, Tls
from server.wire import SourceView


def demo(
    *,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
    lan: Lan = False,
    tls: Tls = False,
    bus: BusPlace = None,
    speed: Annotated[
        float, typer.Option(min=0.1, max=20.0, metavar="NUMBER", help="2 plays twice as fast, 0.5 half as fast.")
    ] = 1.0,
    drill: DrillName = None,
    second: SecondName = None,
    students: Annotated[
        int,
        typer.Option(
            min=1, max=MOST, metavar="NUMBER", help="So many invented players at once, for the coach's page (up to 6)."
        ),
    ] = 1,
) -> None:
    """Watch and hear a practice without any sensors.

    Plays a recorded practice of an invented player, again and again, exactly as it would arrive from two sensors.
    Open the page it names, press "sound on", and watch a dozen swings. Stop with Ctrl-C.

    A lesson with four players, each with a fault of their own: **pitchbend demo --students 4**
    """
    from server.replay.deck import Deck  # noqa: PLC0415  # brings what tells the pages: not for other commands

    path, chosen = demo_recording(), chosen_drill(drill)
    beside = chosen_drill(second)
    joining = joining_wishes(port, lan=lan, tls=tls)
    on_bus = bus_wished(bus)
    spec = BaySpec(
        deck=Deck(path, speed=speed, hurry_fit=True, repeat=True),
        view=SourceView(kind="demo", name=path.stem, speed=speed),
        name="Maren Tolk" if students > 1 else "",
        drill=chosen,
        second=beside,
    )
    with tempfile.TemporaryDirectory(prefix="pitchbend-", ignore_cleanup_errors=True) as folder:
        others = DemoWishes(speed=speed, drill=chosen, second=beside)
        specs = [spec, *(lesson_specs(students - 1, others, Path(folder)) if students > 1 else ())]
        serving.serve(
            specs, port=port, open_browser=not no_browser, joining=joining, bus=on_bus, store=StoreWish(shown=(path,))
        )
