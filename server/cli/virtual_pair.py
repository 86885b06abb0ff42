"""`pitchbend virtual-pair`: two sensors that do not exist, with a golfer behind them."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import time
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from sensors.events import PlayerSet
from sensors.ids import PAIR, Role, SensorId, Side
from sensors.record.paths import default_folder, practice_path
from server.api.wish import StoreWish
from server.bays.spec import BaySpec
from server.bus.address import BusAddress
from server.cli import serving
from server.cli.bumble_here import require_bumble
from server.cli.bus import bus_wished
from server.cli.failures import CommandFailed, tell
from server.cli.joining import joining_wishes
from server.cli.options import DEFAULT_PORT, BusPlace, Folder, Lan, NoBrowser, NoStore, Port, StorePlace, Tls
from server.cli.practice import remembering
from server.drills import our_drills
from server.habits import HabitStore, habits_folder
from server.joining.wishes import JoinWishes
from server.storing.storing import Storing
from server.trims import TrimStore, trims_folder
from server.wire import SourceView

if TYPE_CHECKING:
    from sensors.virtual.air.pair import PairNews, PairSetup

PLAYER: Final = "Virtual golfer"


class Fit(StrEnum):
    """Who begins the fit moves."""

    AUTO = "auto"
    ASKED = "asked"


def virtual_pair(
    *,
    transport: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KIND:PLACE",
            help="Put the sensors on the air: a Bluetooth controller for each (usb:0, serial:/dev/ttyACM0, …), or **vhci**.",
        ),
    ] = None,
    only: Annotated[Role | None, typer.Option(help="Play only this sensor.")] = None,
    lead_side: Annotated[Side, typer.Option(help="The golfer's lead arm: left for a right-handed player.")] = Side.LEFT,
    fit: Annotated[
        Fit,
        typer.Option(
            help="auto: the golfer makes the fit moves unasked. asked: tap them on the page, or type them here."
        ),
    ] = Fit.AUTO,
    swings: Annotated[
        int, typer.Option(min=1, metavar="NUMBER", help="Swings before the fit moves come again (with --transport).")
    ] = 12,
    seed: Annotated[int, typer.Option(min=0, metavar="NUMBER", help="Another one is another golfer.")] = 1,
    loss: Annotated[float, typer.Option(min=0.0, max=100.0, metavar="PERCENT", help="Packets that get lost.")] = 0.0,
    drop_every: Annotated[
        float | None, typer.Option(min=1.0, metavar="SECONDS", help="Let a link go down this often, by turns.")
    ] = None,
    reboot: Annotated[
        float | None, typer.Option(min=5.0, metavar="SECONDS", help="Let a sensor restart this often, by turns.")
    ] = None,
    low_battery: Annotated[bool, typer.Option("--low-battery", help="The club's battery is nearly empty.")] = False,
    speed: Annotated[
        float,
        typer.Option(min=0.5, max=4.0, metavar="NUMBER", help="2 plays twice as fast, on a computer that is not busy."),
    ] = 1.0,
    remember: Annotated[
        bool,
        typer.Option(
            "--remember",
            help="Remember this golfer, who is then fitted with fewer moves the next time, and how the sensors were calibrated.",
        ),
    ] = False,
    record: Annotated[bool, typer.Option("--record", help="Keep this practice, marked as virtual.")] = False,
    no_store: NoStore = False,
    store: StorePlace = None,
    folder: Folder = None,
    port: Port = DEFAULT_PORT,
    no_browser: NoBrowser = False,
    lan: Lan = False,
    tls: Tls = False,
    bus: BusPlace = None,
) -> None:
    """Try everything without sensors: a pair of virtual ones, and a golfer who wears them.

    Two sensors on a Bluetooth connection that exists only in this program are found, connected and read like real ones, on
    the page: fit moves first, then swings, with the fault and without. Type **drop**, **restart** or **battery 9** while it
    runs, or **help**. With **--transport** the two are on the real air instead, for **pitchbend live** on another computer.

    For example: **pitchbend virtual-pair**

    Taps on the page make the golfer move: **pitchbend virtual-pair --fit asked**

    A bad day: **pitchbend virtual-pair --loss 5 --drop-every 40 --low-battery**

    On two USB adapters: **pitchbend virtual-pair --transport usb:0 --transport usb:1**

    For this computer's own Bluetooth (Linux, as root): **pitchbend virtual-pair --transport vhci**
    """
    require_bumble()
    from sensors.virtual.air.faults import Faults  # noqa: PLC0415  # needs Bumble
    from sensors.virtual.air.pair import PairSetup  # noqa: PLC0415  # as above
    from sensors.virtual.stage.cast import Casting  # noqa: PLC0415  # as above
    from sensors.virtual.stage.script import FIT  # noqa: PLC0415  # as above

    logging.getLogger("bumble").setLevel(
        logging.ERROR
    )  # it warns of each packet that was under way when a link went down
    transports = tuple(transport or ())
    if only is not None and only not in PAIR:
        raise CommandFailed(f"The virtual golfer wears {' and '.join(PAIR)}: give one of these with --only.")
    roles = (only,) if only else PAIR
    _check(transports, roles, speed=speed)
    memory = _memory(seed) if remember else None
    setup = PairSetup(
        casting=Casting(seed=seed, lead_side=lead_side, n_strokes=2 if _known(memory) else 3),
        fit=FIT if fit is Fit.AUTO else (),
        n_swings=swings,
        refit=bool(transports),
        faults=Faults(loss=loss / 100.0, drop_every_s=drop_every, restart_every_s=reboot, low_battery=low_battery),
        speed=speed,
        transports=transports,
        roles=roles,
    )
    if transports:
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(play(setup))
        return
    joining = joining_wishes(port, lan=lan, tls=tls)
    on_bus = bus_wished(bus)
    _serve(
        setup,
        view=SourceView(kind="virtual", name="virtual pair", speed=speed),
        port=port,
        open_browser=not no_browser,
        memory=memory,
        record_to=practice_path(folder or default_folder(), PLAYER, datetime.now().astimezone()) if record else None,
        storing=Storing(store) if record and not no_store else None,
        store=StoreWish(place=store),
        joining=joining,
        bus=on_bus,
    )


def _memory(seed: int) -> tuple[TrimStore, HabitStore]:
    """Each seed has sensors and a golfer of its own, at the same addresses and by the same name."""
    own = f"virtual-{seed}"
    return TrimStore(trims_folder() / own), HabitStore(habits_folder() / own)


def _known(memory: tuple[TrimStore, HabitStore] | None) -> bool:
    """Whether the golfer will be asked for the short moves."""
    from sensors.virtual.air.pair import ADDRESSES  # noqa: PLC0415  # needs Bumble

    worn = (SensorId(ADDRESSES[role]) for role in PAIR)
    return memory is not None and memory[1].find(PLAYER, *worn) is not None


def _check(transports: tuple[str, ...], roles: tuple[Role, ...], *, speed: float) -> None:
    """Raise `CommandFailed` for options that do not go together."""
    if not transports:
        return
    if speed != 1.0:
        raise CommandFailed("On the air time runs as it does: leave --speed out with --transport.")
    kernel = [spec for spec in transports if spec.split(":", 1)[0] == "vhci"]
    if kernel and len(transports) > 1:
        raise CommandFailed("vhci carries both sensors: give it alone, or give a controller for each.")
    if not kernel and len(transports) != len(roles):
        needed = "one --transport" if len(roles) == 1 else "two --transport, or --only forearm or --only club with one"
        raise CommandFailed(f"A controller carries one sensor: give {needed}.")


def _serve(
    setup: PairSetup,
    *,
    view: SourceView,
    port: int,
    open_browser: bool,
    memory: tuple[TrimStore, HabitStore] | None,
    record_to: Path | None,
    storing: Storing | None,
    store: StoreWish,
    joining: JoinWishes,
    bus: BusAddress | None,
) -> None:
    """Read the pair in this process and show it."""
    from sensors.sources.virtual_pair import VirtualPairSource  # noqa: PLC0415  # needs Bumble
    from server.cli.virtual_keyboard import keyboard  # noqa: PLC0415  # as above

    source = VirtualPairSource(
        setup, tell=lambda news: _say_news(news, taps=False), beside=lambda pair: keyboard(pair, tell)
    )
    trims, habits = memory or (None, None)
    spec = BaySpec(
        make_source=lambda: source if memory is None else remembering(source, *memory, PLAYER),
        trims=trims,
        habits=habits,
        view=view,
        record_to=record_to,
        storing=storing,
        player=PlayerSet(arrival_ns=time.monotonic_ns(), name=PLAYER, lead_side=setup.casting.lead_side),
        asked=source.asked,
        tell=tell,
        drill=our_drills()[0],
        notes={
            "provenance": "Virtual sensors (pitchbend virtual-pair); no person or device in it is real.",
            "made_with": f"pitchbend virtual-pair --seed {setup.casting.seed}",
        },
    )
    serving.serve([spec], port=port, open_browser=open_browser, joining=joining, bus=bus, store=store)


async def play(setup: PairSetup) -> None:
    """Play on the transports until cancelled. Raises `CommandFailed` when one cannot be had."""
    from sensors.virtual.air.pair import ADDRESSES, VirtualPair  # noqa: PLC0415  # needs Bumble
    from sensors.virtual.air.transport import TransportFailed  # noqa: PLC0415  # as above
    from server.cli.virtual_keyboard import keyboard  # noqa: PLC0415  # as above
    from server.virtual_advice import transport_sentence  # noqa: PLC0415  # as above

    pair = VirtualPair(setup, tell=lambda news: _say_news(news, taps=True))
    try:
        async with pair, keyboard(pair, tell):
            for role in setup.roles:
                tell(f"{role.value}: {ADDRESSES[role]}")
            tell("On the air. Run `pitchbend live` where they can be heard; stop this with Ctrl-C.")
            await asyncio.Event().wait()
    except TransportFailed as failure:
        raise CommandFailed(transport_sentence(failure)) from failure


def _say_news(news: PairNews, *, taps: bool) -> None:
    from server.virtual_advice import news_sentence  # noqa: PLC0415  # needs Bumble

    sentence = news_sentence(news, taps=taps)
    if sentence:
        tell(sentence)
