"""One adapter for all sources of this program: one scan for all who wait, one connection at a time, one bay to a sensor.

Rule 1: who scans or connects has the turn (`radio.turns`), whatever bay it does it for.
Rule 2: one bay at a time gathers. Two people who turn a sensor about at once could not be told apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from bleak.backends.client import BaseBleakClient
from bleak.backends.scanner import BaseBleakScanner

from sensors.ids import SensorId
from sensors.profiles.base import Profile
from sensors.profiles.registry import PROFILES
from sensors.sources.base import WornElsewhere
from sensors.sources.ble_farewell import Farewells
from sensors.sources.ble_scan import Finder, Radio
from sensors.sources.sensor_lock import default_lock_folder
from sensors.sources.timing import USUAL, RadioTiming


class Sharer(Protocol):
    """One of those that share the adapter: the cast of one bay."""

    @property
    def n_followed(self) -> int:
        """Links that it has, or tries for."""

    @property
    def worn(self) -> tuple[WornElsewhere, ...]:
        """Its sensors that have a place, as the other bays see them."""

    def holds(self, sensor: SensorId) -> bool:
        """Whether it follows a sensor, or is still taking leave of it."""

    def wears(self, sensor: SensorId) -> bool:
        """Whether that sensor has a place there."""

    def let_go(self, sensor: SensorId) -> None:
        """Leave a sensor without a place to another bay."""

    def turn_changed(self) -> None:
        """Who may gather is another one now, perhaps."""


class SharedRadio:
    """Give the same one to every `BleSource` of a service. The backends, `timing` and `lock_folder` are for tests."""

    def __init__(
        self,
        *,
        profiles: Sequence[Profile] = tuple(PROFILES.values()),
        timing: RadioTiming = USUAL,
        scanner_backend: type[BaseBleakScanner] | None = None,
        client_backend: type[BaseBleakClient] | None = None,
        lock_folder: Path | None = None,
    ) -> None:
        self.radio = Radio(
            profiles=tuple(profiles),
            timing=timing,
            scanner_backend=scanner_backend,
            client_backend=client_backend,
            lock_folder=lock_folder or default_lock_folder(),
        )
        self.finder = Finder(self.radio)
        self.farewells = Farewells()
        self._sharers: list[Sharer] = []
        self._waiting: list[tuple[Sharer, str]] = []
        """Who wants to gather, and of which bay; the first does."""

    @property
    def n_followed(self) -> int:
        """Links of all bays together."""
        return sum(sharer.n_followed for sharer in self._sharers)

    def join(self, sharer: Sharer) -> None:
        """A bay begins."""
        self._sharers.append(sharer)

    def leave(self, sharer: Sharer) -> None:
        """A bay has ended, and with it all that it followed."""
        self._sharers.remove(sharer)
        self.end_turn(sharer)

    def holder(self, sensor: SensorId, but: Sharer) -> Sharer | None:
        """Which other bay follows a sensor."""
        return next((one for one in self._sharers if one is not but and one.holds(sensor)), None)

    def worn_elsewhere(self, but: Sharer) -> tuple[WornElsewhere, ...]:
        """Every sensor that is worn in another bay."""
        return tuple(worn for one in self._sharers if one is not but for worn in one.worn)

    def ask_turn(self, sharer: Sharer, bay: str) -> None:
        """A bay wants to gather. Asked again while another one does, it gets the turn: somebody stands there and taps."""
        waits = any(one is sharer for one, _ in self._waiting)
        self._waiting = [entry for entry in self._waiting if entry[0] is not sharer]
        self._waiting.insert(0 if waits else len(self._waiting), (sharer, bay))
        self._tell(but=sharer)

    def end_turn(self, sharer: Sharer) -> None:
        """A bay gathers no more."""
        self._waiting = [entry for entry in self._waiting if entry[0] is not sharer]
        self._tell(but=sharer)

    def has_turn(self, sharer: Sharer) -> bool:
        """Whether this bay is the one that gathers."""
        return bool(self._waiting) and self._waiting[0][0] is sharer

    def waits_for(self, sharer: Sharer) -> str | None:
        """Which bay gathers while this one would like to; None when it need not wait."""
        waits = any(one is sharer for one, _ in self._waiting[1:])
        return self._waiting[0][1] if waits else None

    def _tell(self, *, but: Sharer) -> None:
        for sharer in self._sharers:
            if sharer is not but:
                sharer.turn_changed()
