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
from sensors.events import LinkChange, LinkState, PlayerSet, RawPacket
from sensors.health import SensorHealth
from sensors.ids import SensorId
from sensors.ingest import Ingest
from sensors.record.writer import Recorder
from sensors.sources.base import Source
from server.advice import reason_advice
from server.cli.failures import CommandFailed
from server.cli.options import Club, Folder, Forearm, LeadSide, Player, SensorProfile
from server.cli.practice import prepare
from server.cli.tables import minutes

_STATUS_S = 0.25


def record(
    *,
    forearm: Forearm = None,
    club: Club = None,
    lead_side: LeadSide = None,
    player: Player = None,
    folder: Folder = None,
    profile: SensorProfile = None,
    seconds: Annotated[
        float | None, typer.Option(min=1.0, metavar="NUMBER", help="Stop by itself after so long.")
    ] = None,
) -> None:
    """Record two sensors to a file, without the page.

    Shows how both sensors fare while it records. Stop with Ctrl-C; the recording is kept whole. Watch it later with
    **pitchbend replay FILE**.
    """
    setup = prepare(forearm=forearm, club=club, lead_side=lead_side, player=player, folder=folder, profile=profile)
    console = Console(stderr=True)
    with Recorder(setup.record_to) as recorder:
        recording = Recording(setup.make_source(), recorder, setup.player)
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(recording.run(seconds, console))
    if not recording.n_packets:
        setup.record_to.unlink()
        raise CommandFailed("Nothing was recorded: no sensor answered. Switch both on, bring them near, and try again.")
    console.print(f"Recorded {minutes(recording.duration_s)} to")
    print(setup.record_to)


class Recording:
    """Takes everything from a source to a file until the source ends, the time is up, or someone stops it."""

    def __init__(self, source: Source, recorder: Recorder, player: PlayerSet) -> None:
        self._source = source
        self._recorder = recorder
        self._player = player
        self._ingest = Ingest()
        self._links: dict[SensorId, LinkChange] = {}
        self._first_ns: int | None = None
        self._last_ns = 0
        self.n_packets = 0

    @property
    def duration_s(self) -> float:
        """From the first event to the last."""
        return (self._last_ns - self._first_ns) * 1e-9 if self._first_ns is not None else 0.0

    async def run(
        self, seconds: float | None, console: Console, *, sleep: Callable[[float], Awaitable[None]] = asyncio.sleep
    ) -> None:
        """Record. Raises `RecorderError` when the disk fails, `RadioError` when the radio does."""
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
                if self._first_ns is None:
                    self._first_ns = event.arrival_ns
                    self._recorder.write(replace(self._player, arrival_ns=event.arrival_ns))
                self._last_ns = event.arrival_ns
                self._recorder.write(event)
                self._ingest.push(event)
                self.n_packets += isinstance(event, RawPacket)
                if isinstance(event, LinkChange):
                    self._links[event.sensor] = event

    async def _show_status(self, view: Live, sleep: Callable[[float], Awaitable[None]]) -> None:
        start_s = time.monotonic()
        while True:
            lines = [Text(f"Recording {minutes(time.monotonic() - start_s)}, Ctrl-C to stop", style="bold")]
            known = {health.sensor: health for health in self._ingest.health(self._last_ns)}
            lines += [Text(status_line(link, known.get(sensor))) for sensor, link in self._links.items()]
            view.update(Group(*lines), refresh=True)
            await sleep(_STATUS_S)


def status_line(link: LinkChange, health: SensorHealth | None) -> str:
    """Say in one line how a sensor fares, and what to do when it does not."""
    name = health.role.value if health else str(link.sensor)
    if link.state is not LinkState.STREAMING or health is None:
        return f"  {name}: {link.state.value}. {reason_advice(link.reason)}".rstrip()
    battery = "" if health.battery_pct is None else f", battery {health.battery_pct} %"
    return f"  {name}: {health.rate_hz:.0f} samples a second, {_lost(health)}{battery}"


def _lost(health: SensorHealth) -> str:
    return "loss unknown" if health.n_lost is None else f"{health.n_lost} lost"
