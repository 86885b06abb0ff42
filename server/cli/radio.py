"""The real radio for the commands that choose and use sensors. Bluetooth is loaded only when one of them runs."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

from sensors.errors import RadioError
from sensors.events import LinkReason
from sensors.ids import Role, SensorId
from sensors.profiles.base import Profile
from sensors.profiles.registry import PROFILES
from sensors.sources.base import Source
from server.cli.choosing import Seen

_UNREACHABLE = (LinkReason.NOT_FOUND, LinkReason.CONNECT_FAILED, LinkReason.WRONG_DEVICE)
"""Trouble with one sensor, where the others may still answer."""


class BluetoothRadio:
    """Scans, and lets sensors blink. Raises `RadioError` when this machine's Bluetooth cannot be used."""

    def __init__(self, profiles: Sequence[Profile] = tuple(PROFILES.values())) -> None:
        self._profiles = profiles

    def scan(self) -> Sequence[Seen]:
        """Listen for a few seconds; strongest first."""
        from sensors.sources.ble import scan  # noqa: PLC0415  # see the top

        return asyncio.run(scan(profiles=self._profiles))

    def blink(self, sensor: SensorId) -> bool:
        """Let one sensor blink for three seconds; False if it could not be reached, or is of a kind that cannot."""
        from sensors.sources.ble import identify  # noqa: PLC0415  # see the top

        try:
            return asyncio.run(identify(sensor, profiles=self._profiles))
        except RadioError as error:
            if error.reason in _UNREACHABLE:
                return False
            raise


def source_of(*, forearm: SensorId, club: SensorId, profiles: Sequence[Profile] = tuple(PROFILES.values())) -> Source:
    """Make a source that streams from two sensors."""
    from sensors.sources.ble import BleSource  # noqa: PLC0415  # see the top

    return BleSource({forearm: Role.FOREARM, club: Role.CLUB}, profiles=profiles)
