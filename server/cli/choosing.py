"""Which sensor is worn where: as told, as remembered, or found out on the terminal by which one is moved."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

from rich.console import Console
from rich.table import Table

from sensors.ids import PAIR, WORN, Role, SensorId
from server.cli.failures import CommandFailed
from server.cli.remembered import Remembered

Places = dict[Role, SensorId]


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

    def choose_by_moving(self, places: Mapping[Role, SensorId], say: Callable[[str], None]) -> Places:
        """Ask for one sensor after the other to be moved, until both of the pair have their place."""


def terminal_can_ask() -> bool:
    """Whether a person is there to be asked."""
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


def places_of(
    forearm: str | None, club: str | None, also: Sequence[str], known: Remembered, *, choose: bool, swap: bool
) -> Places:
    """Give the places as told, the rest as remembered unless `choose`. Raises `CommandFailed` for what cannot be."""
    places: Places = {} if choose else dict(known.places)
    if swap:
        if not known.has_pair:
            raise CommandFailed("There is no remembered pair to exchange yet. Start without --swap first.")
        places |= {Role.FOREARM: known.places[Role.CLUB], Role.CLUB: known.places[Role.FOREARM]}
    told = {Role.FOREARM: forearm, Role.CLUB: club} | dict(_also(one) for one in also)
    places |= {role: SensorId(address) for role, address in told.items() if address}
    for role, sensor in places.items():
        for other, its_sensor in places.items():
            if role is not other and sensor.lower() == its_sensor.lower():
                raise CommandFailed(
                    f"Each place needs a sensor of its own, and {sensor} is set for both {role.value} and {other.value}. "
                    "Give both: --forearm ADDRESS --club ADDRESS"
                )
    return places


def _also(text: str) -> tuple[Role, str]:
    name, _, address = text.partition("=")
    others = [role for role in WORN if role not in PAIR]
    role = next((role for role in others if role.value == name.strip().replace("-", "_")), None)
    if role is None or not address.strip():
        places = ", ".join(role.value for role in others)
        raise CommandFailed(f"--also takes PLACE=ADDRESS with one of these places: {places}. It was given {text!r}.")
    return role, address.strip()


def choose_sensors(
    places: Places,
    radio: Radio,
    *,
    can_ask: Callable[[], bool] = terminal_can_ask,
    console: Console | None = None,
) -> Places:
    """Give places to both of the pair. Raises `CommandFailed` when they cannot be known."""
    if all(role in places for role in PAIR):
        return places
    console = console or Console(stderr=True)
    if can_ask():
        return radio.choose_by_moving(places, lambda text: console.print(text, soft_wrap=True, highlight=False))
    console.print("Looking for sensors…")
    taken = {sensor.lower() for sensor in places.values()}
    seen = [sensor for sensor in radio.scan() if sensor.sensor.lower() not in taken]
    n_needed = sum(role not in places for role in PAIR)
    if len(seen) < n_needed:
        needed = "Two sensors are" if n_needed == 2 else "One more sensor is"
        found = "only one was found" if seen else "none was found"
        raise CommandFailed(f"{needed} needed and {found}. Switch it on, bring it near, and try again.")
    console.print(sensors_table(seen))
    raise CommandFailed("Say which is which: --forearm ADDRESS --club ADDRESS, with addresses from the list above.")
