"""`pitchbend live`: a practice with two sensors, on the page, recorded as it goes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

import typer

from server.api.wish import StoreWish
from server.bays.spec import BaySpec
from server.choosing.choice import Choice
from server.cli import serving
from server.cli.bus import bus_wished
from server.cli.drills import chosen_drill
from server.cli.failures import tell
from server.cli.joining import joining_wishes
from server.cli.options import (
    DEFAULT_PORT,
    Also,
    BusPlace,
    Choose,
    Club,
    DrillName,
    Folder,
    Forearm,
    Lan,
    LeadSide,
    NoBrowser,
    NoStore,
    Player,
    Port,
    SecondName,
    SensorProfile,
    StorePlace,
    Students,
    Swap,
    Tls,
)
from server.cli.practice import Wishes, prepare
from server.cli.students import prepare_lesson, refuse_for_one, students_of
from server.drills import our_drills
from server.storing.storing import Storing
from server.wire import SourceView


def live(
    *,
    student: Students = None,
    forearm: Forearm = None,
    club: Club = None,
    also: Also = None,
    choose: Choose = False,
    swap: Swap = False,
    lead_side: LeadSide = None,
    player: Player = None,
    folder: Folder = None,
    drill: DrillName = None,
    second: SecondName = None,
    profile: SensorProfile = None,
    no_record: Annotated[bool, typer.Option("--no-record", help="Do not keep this practice.")] = False,
    no_store: NoStore = False,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
    lan: Lan = False,
    store: StorePlace = None,
    tls: Tls = False,
    bus: BusPlace = None,
) -> None:
    """Practise with two sensors, seen and heard live.

    The first time the page shows the sensors in reach: move one, and it lights up; tap where you wear it. After that it
    knows them. The page leads through a few short moves, then swing. Every practice is recorded unless told not to.

    For example: **pitchbend live**, or for a left-handed player:

    **pitchbend live --player "Maren" --lead-side right**

    A lesson with two students, each with a page and a recording of their own, and a coach's page that shows both:

    **pitchbend live --student "Anna" --student "Bodil"**
    """
    chosen = chosen_drill(drill) or our_drills()[0]
    beside = chosen_drill(second)
    joining = joining_wishes(port, lan=lan, tls=tls)
    on_bus = bus_wished(bus)
    wishes = Wishes(
        forearm=forearm, club=club, also=also or (), choose=choose, swap=swap,
        lead_side=lead_side, player=player, folder=folder, profile=profile,
    )  # fmt: skip
    if student:
        refuse_for_one(wishes)
        setups = prepare_lesson(students_of(student), folder=folder, profile=profile)
    else:
        setups = (prepare(wishes, on_page=True),)
    if any(setup.choosing for setup in setups):
        tell("Choose the sensors on the page: move one, and it lights up.")
    storing = None if no_record or no_store else Storing(store)
    specs = [
        BaySpec(
            make_source=setup.make_source,
            view=SourceView(kind="live", name="Bluetooth", speed=1.0),
            record_to=None if no_record else setup.record_to,
            player=setup.player,
            trims=setup.trims,
            habits=setup.habits,
            drill=chosen,
            second=beside,
            choice=Choice(is_open=setup.choosing, on_made=setup.keep_places),
            storing=storing,
            tell=_teller(setup.player.name) if len(setups) > 1 else tell,
        )
        for setup in setups
    ]
    serving.serve(
        specs, port=port, open_browser=not no_browser, joining=joining, bus=on_bus, store=StoreWish(place=store)
    )


def _teller(name: str) -> Callable[[str], None]:
    return lambda text: tell(f"{name}: {text}")
