"""`pitchbend scan`: which sensors are near."""

from __future__ import annotations

from rich.console import Console

from server.cli.choosing import sensors_table
from server.cli.failures import CommandFailed
from server.cli.options import SensorProfile
from server.cli.radio import BluetoothRadio
from server.cli.sensors import profiles_for


def scan(*, profile: SensorProfile = None) -> None:
    """List the sensors nearby.

    Shows each sensor's address, which **pitchbend live** takes, and how well it is heard.
    """
    with Console(stderr=True).status("Listening for sensors…"):
        seen = BluetoothRadio(profiles_for(profile)).scan()
    if not seen:
        raise CommandFailed(
            "No sensors found. Switch them on, bring them near, and try again. "
            "One that is connected to another program or a phone is not heard: close that."
        )
    Console().print(sensors_table(seen))
