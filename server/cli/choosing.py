"""Which sensor is worn where: as told, as remembered, or asked on the terminal while one of them blinks."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Protocol

from rich.console import Console
from rich.table import Table

from sensors.ids import SensorId
from server.cli.failures import CommandFailed
from server.cli.remembered import Remembered

_STOPPED = "Stopped: no sensors chosen."


class Seen(Protocol):
    """A sensor that the radio has heard."""

    @property
    def sensor(self) -> SensorId:
        """Its address."""

    @property
    def name(self) -> str:
        """What it calls itself."""

    @property
    def kind(self) -> str:
        """What kind of sensor it is."""

    @property
    def rssi_dbm(self) -> int:
        """How strongly it is heard."""


class Radio(Protocol):
    """What choosing needs of the radio; `server.cli.radio` is the real one."""

    def scan(self) -> Sequence[Seen]:
        """Listen for a few seconds."""

    def blink(self, sensor: SensorId) -> bool:
        """Let one sensor blink for three seconds; False if it could not be reached."""


def terminal_can_ask() -> bool:
    """Whether a person can be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def sensors_table(seen: Sequence[Seen]) -> Table:
    """List what was heard, nearest first."""
    table = Table()
    for heading in ("", "sensor", "address", "signal", "kind"):
        table.add_column(heading)
    for number, sensor in enumerate(seen, start=1):
        table.add_row(str(number), sensor.name or "no name", sensor.sensor, strength(sensor.rssi_dbm), sensor.kind)
    return table


def strength(rssi_dbm: int) -> str:
    """Say how well it is heard."""
    words = "good" if rssi_dbm >= -65 else "fair" if rssi_dbm >= -80 else "weak, come nearer"
    return f"{words} ({rssi_dbm} dBm)"


def choose_sensors(
    forearm: str | None,
    club: str | None,
    known: Remembered,
    radio: Radio,
    *,
    can_ask: Callable[[], bool] = terminal_can_ask,
    ask: Callable[[str], str] = input,
    console: Console | None = None,
) -> tuple[SensorId, SensorId]:
    """Give the addresses on forearm and club. Raises `CommandFailed` when they cannot be known."""
    on_forearm, on_club = SensorId(forearm or known.forearm), SensorId(club or known.club)
    if on_forearm and on_club:
        if on_forearm.lower() == on_club.lower():
            raise CommandFailed(
                f"Forearm and club need a sensor each, and {on_forearm} is set for both. Give both: "
                "--forearm ADDRESS --club ADDRESS"
            )
        return on_forearm, on_club
    console = console or Console(stderr=True)
    console.print("Looking for sensors…")
    taken = {on_forearm.lower(), on_club.lower()}
    seen = [sensor for sensor in radio.scan() if sensor.sensor.lower() not in taken]
    n_needed = 2 - bool(on_forearm) - bool(on_club)
    if len(seen) < n_needed:
        needed = "Two sensors are" if n_needed == 2 else "One more sensor is"
        found = "only one was found" if seen else "none was found"
        raise CommandFailed(f"{needed} needed and {found}. Switch it on, bring it near, and try again.")
    console.print(sensors_table(seen))
    if not can_ask():
        raise CommandFailed("Say which is which: --forearm ADDRESS --club ADDRESS, with addresses from the list above.")
    if not on_forearm:
        on_forearm = _ask_for("the lead forearm", seen, radio, ask, console)
        seen = [sensor for sensor in seen if sensor.sensor != on_forearm]
    if not on_club:
        on_club = _ask_for("the club", seen, radio, ask, console)
    return on_forearm, on_club


def _ask_for(place: str, seen: Sequence[Seen], radio: Radio, ask: Callable[[str], str], console: Console) -> SensorId:
    """Let sensors blink by turns until the person says that it is the one; the last one left needs no asking."""
    if len(seen) == 1:
        return seen[0].sensor
    while True:
        for sensor in seen:
            name = sensor.name or sensor.sensor
            if not radio.blink(sensor.sensor):
                console.print(f"{name} could not be reached, or cannot blink.")
                continue
            answer = _asked(ask, f"{name} is blinking. Is it the one on {place}? [y/n/q] ")
            if answer.startswith("y"):
                return sensor.sensor
            if answer.startswith("q"):
                raise CommandFailed(_STOPPED)
        if not _asked(ask, "That was all of them. Once more? [y/n] ").startswith("y"):
            raise CommandFailed(_STOPPED)


def _asked(ask: Callable[[str], str], question: str) -> str:
    try:
        return ask(question).strip().lower()
    except EOFError:
        return "q"
