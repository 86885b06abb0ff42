"""Finding sensors: for the person who asks what is in reach, and for a source that wants its own."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from bleak import BleakAdapter, BleakScanner
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner

from sensors.errors import RadioError
from sensors.ids import SensorId
from sensors.profiles.base import Profile
from sensors.profiles.match import heard_profile, service_filter
from sensors.profiles.registry import PROFILES
from sensors.sources.absence import SignalTrail
from sensors.sources.ble_errors import TROUBLE
from sensors.sources.ble_system import is_listened_to, scan_trouble
from sensors.sources.sensor_lock import default_lock_folder
from sensors.sources.stray_cancellation import no_stray_cancellation
from sensors.sources.timing import USUAL, RadioTiming
from sensors.sources.turns import Turns

_LEAST_RSSI_DBM, _MOST_RSSI_DBM = -126, 20
"""What the HCI allows; 127, and bleak's -127, stand for "not known" (Bluetooth Core, "LE Advertising Report"; from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Radio:
    """The one radio that all links of a source share, and how to use it."""

    profiles: tuple[Profile, ...] = tuple(PROFILES.values())
    """Kinds of sensor it may talk to; where two would fit one sensor, the first counts."""
    timing: RadioTiming = USUAL
    scanner_backend: type[BaseBleakScanner] | None = None
    client_backend: type[BaseBleakClient] | None = None
    """Other backends than this machine's own, for a virtual controller."""
    turns: Turns = field(default_factory=Turns)
    """Taken to scan and to connect: adapters do these one at a time, and not well together."""
    lock_folder: Path = field(default_factory=default_lock_folder)
    """Where programs of this machine tell each other which sensors they use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSensor:
    """A sensor in reach."""

    sensor: SensorId
    name: str
    """The name it advertises; empty when it has none."""
    rssi_dbm: int
    profile: Profile

    @property
    def kind(self) -> str:
        """What kind of sensor it is, in the words of its profile."""
        return self.profile.title


async def scan(
    seconds: float = 5.0,
    *,
    profiles: Sequence[Profile] = tuple(PROFILES.values()),
    scanner_backend: type[BaseBleakScanner] | None = None,
) -> list[FoundSensor]:
    """Listen for `seconds` and give the sensors of these profiles, strongest first.

    A sensor that is connected already does not advertise, and is not among them. Raises `RadioError`.
    """
    found: dict[SensorId, FoundSensor] = {}

    def heard(device: BLEDevice, advertisement: AdvertisementData) -> None:
        sensor = SensorId(device.address)
        earlier = found.get(sensor)
        name = advertisement.local_name or (earlier.name if earlier else "")
        profile = heard_profile(profiles, advertisement.service_uuids, name) or (earlier.profile if earlier else None)
        if profile is not None:
            found[sensor] = FoundSensor(sensor=sensor, name=name, rssi_dbm=advertisement.rssi, profile=profile)

    try:
        async with asyncio.timeout(seconds + USUAL.system_s):
            async with BleakScanner(heard, service_filter(profiles), backend=scanner_backend):
                await asyncio.sleep(seconds)
    except TROUBLE as error:
        raise RadioError(await scan_trouble(error), str(error)) from error
    return sorted(found.values(), key=lambda sensor: -sensor.rssi_dbm)


class Finder:
    """Finds wanted sensors. Whoever scans, scans for everyone who waits, so that two sensors cost one scan."""

    def __init__(self, radio: Radio) -> None:
        self._radio = radio
        self._wanted: set[str] = set()
        self._heard: dict[str, BLEDevice] = {}
        self._rssi_dbm: dict[str, int] = {}
        self._missed: set[str] = set()
        """Not heard in the last whole round that listened for them: nobody waits for these when another has been heard."""
        self._adopted: set[str] = set()
        """Taken as left connected since a scan last heard them. Not twice: after a crash of the system's Bluetooth
        service bleak goes on believing in its connections, and only a scan sets that right."""
        self._held: set[str] = set()
        """Connected to this machine, and used by another program of it."""
        self._signals: dict[str, SignalTrail] = {}

    def signal(self, sensor: SensorId) -> SignalTrail:
        """How strongly a sensor was heard of late."""
        return self._signals.setdefault(sensor.lower(), SignalTrail())

    def note_signal(self, sensor: SensorId, rssi_dbm: int) -> None:
        """Take in a signal strength, from a scan or from whatever else measures one."""
        if _LEAST_RSSI_DBM <= rssi_dbm <= _MOST_RSSI_DBM:
            self.signal(sensor).note(rssi_dbm, asyncio.get_running_loop().time())
            self._rssi_dbm[sensor.lower()] = rssi_dbm

    def is_held(self, sensor: SensorId) -> bool:
        """Whether another program of this machine used the sensor when it was looked for last."""
        return sensor.lower() in self._held

    def offer(self, device: BLEDevice) -> None:
        """Whoever wants this sensor next need not scan for it."""
        self._heard[device.address.lower()] = device

    async def find(self, sensor: SensorId) -> BLEDevice | None:
        """Look for one round; None when it was not heard. Raises what `TROUBLE` names when the radio is unusable."""
        key = sensor.lower()  # people type addresses in either case
        self._wanted.add(key)
        try:
            async with self._radio.turns.to_scan():
                if key not in self._heard:
                    with no_stray_cancellation():
                        async with asyncio.timeout(self._radio.timing.longest_scan_s):
                            await self._round()
                return self._heard.pop(key, None)
        finally:
            self._wanted.discard(key)

    def take_rssi_dbm(self, sensor: SensorId) -> int | None:
        """How strongly a scan heard it since this was last asked; None for one that was found connected already."""
        return self._rssi_dbm.pop(sensor.lower(), None)

    async def _round(self) -> None:
        timing = self._radio.timing
        one_heard, all_heard = asyncio.Event(), asyncio.Event()
        self._heard.clear()

        def note(device: BLEDevice) -> None:
            key = device.address.lower()
            if key in self._wanted:
                self._heard[key] = device
                one_heard.set()
            self._missed.discard(key)
            if self._wanted - self._missed <= self._heard.keys():
                all_heard.set()

        for device in await self.left_connected():
            key = device.address.lower()
            if key not in self._wanted or key in self._adopted:
                continue
            if await is_listened_to(device.details["path"] if isinstance(device.details, dict) else ""):
                self._held.add(key)
                continue
            self._held.discard(key)
            self._adopted.add(key)
            note(device)
        if all_heard.is_set():
            return

        def heard(device: BLEDevice, advertisement: AdvertisementData) -> None:
            key = device.address.lower()
            self._adopted.discard(key)
            self._held.discard(key)
            self.note_signal(SensorId(device.address), advertisement.rssi)
            note(device)

        wanted_services = service_filter(self._radio.profiles)
        async with BleakScanner(heard, wanted_services, backend=self._radio.scanner_backend):
            with suppress(TimeoutError):
                async with asyncio.timeout(timing.scan_round_s) as limit:
                    await one_heard.wait()
                    limit.reschedule(asyncio.get_running_loop().time() + timing.gather_s)
                    await all_heard.wait()
        if not one_heard.is_set():
            self._missed |= self._wanted

    async def left_connected(self) -> list[BLEDevice]:
        """Sensors that are connected to this machine, left so by a program that died: they do not advertise."""
        if self._radio.scanner_backend is not None:
            return []
        try:
            adapter = await BleakAdapter.get()
            services = {uuid for profile in self._radio.profiles for uuid in profile.service_uuids}
            return await adapter.get_connected_devices(sorted(services))
        except NotImplementedError:  # not every platform can tell
            return []
