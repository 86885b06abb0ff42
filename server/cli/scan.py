"""`pitchbend scan`: which sensors are near."""

from __future__ import annotations

from rich.console import Console

from server.cli.choosing import sensors_table
from server.cli.failures import CommandFailed
from server.cli.radio import BluetoothRadio


def scan() -> None:
    """List the sensors nearby.

    Shows each sensor's address, which **pitchbend live** takes, and how well it is heard.
    """
    with Console(stderr=True).status("Listening for sensors…"):
        seen = BluetoothRadio().scan()
    if not seen:
        raise CommandFailed("No sensors found. Switch them on, bring them near, and try again.")
    Console().print(sensors_table(seen))
