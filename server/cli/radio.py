"""The real radio for the commands that choose and use sensors. Bluetooth is loaded only when one of them runs."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from sensors.ids import Role, SensorId
from sensors.profiles.base import Profile
from sensors.profiles.registry import PROFILES
from sensors.sources.base import Source
from server.cli.choosing import Places, Seen

if TYPE_CHECKING:
    from sensors.sources.ble import SharedRadio


class BluetoothRadio:
    """Raises `RadioError` when this machine's Bluetooth cannot be used."""

    def __init__(self, profiles: Sequence[Profile] = tuple(PROFILES.values())) -> None:
        self._profiles = profiles

    def scan(self) -> Sequence[Seen]:
        """Listen for a few seconds; strongest first."""
        from sensors.sources.ble import scan  # noqa: PLC0415  # see the top

        return asyncio.run(scan(profiles=self._profiles))

    def choose_by_moving(self, places: Mapping[Role, SensorId], say: Callable[[str], None]) -> Places:
        """Ask for one sensor after the other to be moved."""
        from server.cli.moving import choose_by_moving  # noqa: PLC0415  # see the top

        source = source_of(places=places, gather=True, profiles=self._profiles)
        return asyncio.run(choose_by_moving(source, places, say))


class OneAdapter:
    """What the practices of one service share, so that they do not get into each other's way."""

    def __init__(self, profiles: Sequence[Profile]) -> None:
        self._profiles = profiles
        self._shared: SharedRadio | None = None

    def source_of(self, *, places: Mapping[Role, SensorId], bay: str) -> Source:
        """Make a source that streams from the sensors of these places, from all in reach when there are none, for a practice."""
        from sensors.sources.ble import BleSource, SharedRadio  # noqa: PLC0415  # see the top

        self._shared = self._shared or SharedRadio(profiles=self._profiles)
        return BleSource(
            {sensor: role for role, sensor in places.items()}, gather=not places, shared=self._shared, bay=bay
        )


def source_of(
    *, places: Mapping[Role, SensorId], gather: bool = False, profiles: Sequence[Profile] = tuple(PROFILES.values())
) -> Source:
    """Make a source that streams from the sensors of these places, and from all in reach while it gathers."""
    from sensors.sources.ble import BleSource  # noqa: PLC0415  # see the top

    return BleSource({sensor: role for role, sensor in places.items()}, gather=gather, profiles=profiles)
