"""`pitchbend record`: a practice to a file, without the page."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Annotated

import typer
from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from sensors.errors import SensorsError
from sensors.events import ClockJump, LinkState, PlayerSet, RawPacket, SourceEvent
from sensors.health import SensorHealth
from sensors.ingest import Ingest
from sensors.record.paths import default_folder
from sensors.sources.base import Source
from sensors.sources.clock_watch import ClockWatch
from server.advice import clock_advice, link_advice
from server.battery_advice import battery_advice
from server.cli.failures import CommandFailed
from server.cli.options import (
    Also,
    Choose,
    Club,
    Folder,
    Forearm,
    LeadSide,
    NoStore,
    Player,
    SensorProfile,
    StorePlace,
    Swap,
)
from server.cli.practice import Wishes, prepare
from server.cli.tables import minutes
from server.health_advice import health_advice
from server.storing.storing import Storing
from server.tape import Tape
from server.tape_advice import end_sentences, tape_problems
from server.troubles import NAMES, unheard_sentences

_STATUS_S = 0.25


def record(
    *,
    forearm: Forearm = None,
    club: Club = None,
    also: Also = None,
    choose: Choose = False,
    swap: Swap = False,
    lead_side: LeadSide = None,
    player: Player = None,
    folder: Folder = None,
    profile: SensorProfile = None,
    seconds: Annotated[
        float | None, typer.Option(min=1.0, metavar="NUMBER", help="Stop by itself after so long.")
    ] = None,
    no_store: NoStore = False,
    store: StorePlace = None,
) -> None:
    """Record two sensors to a file, without the page.

    The first time it asks for one sensor after the other to be moved, to learn which is which. Shows how they fare while it
    records. Stop with Ctrl-C; the recording is kept whole. Watch it later with
    **pitchbend replay FILE**.
    """
    wishes = Wishes(
        forearm=forearm, club=club, also=also or (), choose=choose, swap=swap,
        lead_side=lead_side, player=player, folder=folder, profile=profile,
    )  # fmt: skip
    setup = prepare(wishes, on_page=False)
    console = Console(stderr=True)
    storing = None if no_store else Storing(store)
    tape = Tape(
        setup.record_to,
        fallback=default_folder(),
        on_closed=storing.expect(setup.record_to) if storing is not None else lambda _: None,
    )
    if storing is not None:
        storing.begin()
    recording = Recording(setup.make_source(), tape, setup.player, watch=ClockWatch())
    try:
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(recording.run(seconds, console))
    finally:
        status = tape.close()
    if not recording.n_packets:
        raise CommandFailed(" ".join(["Nothing was recorded.", *recording.unheard]))
    for text in [*recording.told.values(), *recording.unheard]:
        console.print(text, soft_wrap=True, highlight=False)
    troubles = end_sentences(status)[len(status.paths) :]
    console.print(f"Recorded {minutes(recording.duration_s)} to")
    for path in status.paths:
        print(path)
    if status.n_held or status.n_missed or status.path is None:
        raise CommandFailed(" ".join(troubles))
    for text in troubles:
        console.print(text, soft_wrap=True, highlight=False)
    if storing is not None:
        storing.finish(lambda text: console.print(text, soft_wrap=True, highlight=False))


class Recording:
    """Takes everything from a source to a file until the source ends, the time is up, or someone stops it."""

    def __init__(self, source: Source, tape: Tape, player: PlayerSet, *, watch: ClockWatch | None = None) -> None:
        self._source = source
        self._tape = tape
        self._player = player
        self._watch = watch
        self.told: dict[str, str] = {}
        """What a person should know of the clocks, the newest of each kind."""
        self._ingest = Ingest()
        self._first_ns: int | None = None
        self._last_ns = 0
        self.n_packets = 0

    @property
    def duration_s(self) -> float:
        """From the first event to the last."""
        return (self._last_ns - self._first_ns) * 1e-9 if self._first_ns is not None else 0.0

    @property
    def unheard(self) -> list[str]:
        """What is to be said at the end of sensors that sent nothing."""
        return unheard_sentences(self._ingest.health(self._last_ns))

    async def run(
        self, seconds: float | None, console: Console, *, sleep: Callable[[float], Awaitable[None]] = asyncio.sleep
    ) -> None:
        """Record. Raises `RadioError` when the radio fails; a disk that fails shows in the tape's status."""
        with Live(console=console, auto_refresh=False, transient=True) as view:
            try:
                async with asyncio.timeout(seconds), asyncio.TaskGroup() as tasks:
                    status = tasks.create_task(self._show_status(view, sleep), name="record status")
                    await self._take_everything()
                    status.cancel()
            except TimeoutError:
                pass
            except ExceptionGroup as group:
                errors, others = group.split(SensorsError)
                if others is not None or errors is None:
                    raise
                raise errors.exceptions[0] from None

    async def _take_everything(self) -> None:
        async with self._source as source:
            async for event in source:
                self._take(event)

    def _take(self, event: SourceEvent) -> None:
        if self._first_ns is None:
            self._first_ns = event.arrival_ns
            self._tape.write(replace(self._player, arrival_ns=event.arrival_ns))
        elif event.arrival_ns < self._last_ns:
            # A packet that was already on its way here when the clocks were looked at.
            event = replace(event, arrival_ns=self._last_ns)
        self._last_ns = event.arrival_ns
        self._tape.write(event)
        self._ingest.push(event)
        self.n_packets += isinstance(event, RawPacket)
        if isinstance(event, ClockJump):
            self.told[event.cause] = clock_advice(event)

    async def _show_status(self, view: Live, sleep: Callable[[float], Awaitable[None]]) -> None:
        start_s = time.monotonic()
        while True:
            for jump in self._watch.look() if self._watch is not None else ():
                self._take(jump)
            lines = [Text(f"Recording {minutes(time.monotonic() - start_s)}, Ctrl-C to stop", style="bold")]
            for health in self._ingest.health(self._last_ns):
                lines.append(Text(status_line(health)))
                lines += [Text(f"    {one.text}") for one in health_advice(health, overall=False)]
            lines += [Text(text, style="bold red") for text in tape_problems(self._tape.status).values()]
            view.update(Group(*lines), refresh=True)
            await sleep(_STATUS_S)


def status_line(health: SensorHealth) -> str:
    """Say in one line how a sensor fares, and what to do when it does not."""
    name = NAMES[health.role].lower()
    if health.state is not LinkState.STREAMING:
        return f"  {name}: {health.state.value}. {link_advice(health.state, health.reason)}".rstrip()
    battery = "" if health.battery_pct is None else f", battery {health.battery_pct} %"
    line = f"  {name}: {health.rate_hz:.0f} samples a second, {_lost(health)}{battery}"
    advice = battery_advice(health.battery, health.battery_pct)
    return f"{line}. {advice}" if advice else line


def _lost(health: SensorHealth) -> str:
    return "loss unknown" if health.n_lost is None else f"{health.n_lost} lost"
