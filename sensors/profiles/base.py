"""What a device profile knows. A profile is data: `load.py` reads it from a TOML file, `docs/adding-a-sensor.md` explains it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from sensors.profiles.layout import Layout, Unpacked
from sensors.profiles.write import Write


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedSamples:
    """One payload whose samples carry their own time, in SI units."""

    device_s: NDArray[np.float64]
    """Device time of each sample, seconds, shape (n,), in the order of sending."""
    gyr_rad_s: NDArray[np.float64]
    """Shape (n, 3)."""
    acc_m_s2: NDArray[np.float64]
    """Shape (n, 3)."""


class ClockKind(StrEnum):
    """What a notification says of its time."""

    PER_PACKET_LAST = "per_packet_last"
    """One stamp, of its last sample."""
    PER_PACKET_FIRST = "per_packet_first"
    """One stamp, of its first sample."""
    PER_SAMPLE = "per_sample"
    NONE = "none"
    """Nothing: time is worked out from the moments of arrival and the usual rate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """The device's clock."""

    kind: ClockKind
    tick_s: float = 0.0
    modulus: int = 0
    """Ticks after which it begins anew; 0 for a clock that never does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axes:
    """How the device's axes become the sensor's own, which are right-handed: by place and sign."""

    order: tuple[int, int, int] = (0, 1, 2)
    """Which raw axis becomes x, y, z."""
    signs: tuple[int, int, int] = (1, 1, 1)

    @property
    def is_straight(self) -> bool:
        """Whether nothing changes."""
        return self.order == (0, 1, 2) and self.signs == (1, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """The gyroscope (SI: rad/s) or the accelerometer (m/s^2): from raw numbers to SI."""

    si_per_count: float
    axes: Axes
    range_si: float
    """End of the range in force."""
    lowest: float
    """At this raw number and below, the true motion was beyond the range."""
    highest: float
    _turned: tuple[list[int], NDArray[np.float64]] | None = field(init=False, repr=False, compare=False)
    """Order and factors of the axes; None where nothing changes but the scale."""
    _clear_square: float = field(init=False, repr=False, compare=False)
    """Values whose squares come to less than this stand at no end."""

    def __post_init__(self) -> None:
        turned = (list(self.axes.order), self.si_per_count * np.array(self.axes.signs, dtype=np.float64))
        object.__setattr__(self, "_turned", None if self.axes.is_straight else turned)
        clear_si = (1.0 - 1e-9) * self.si_per_count * min(-self.lowest, self.highest)
        object.__setattr__(self, "_clear_square", clear_si * abs(clear_si))

    def si(self, raw: NDArray[np.generic]) -> NDArray[np.float64]:
        """Convert raw numbers, shape (n, 3)."""
        if self._turned is None:
            return np.asarray(raw.astype(np.float64) * self.si_per_count)
        order, factors = self._turned
        return np.asarray(raw[:, order].astype(np.float64) * factors)

    def saturated(self, raw: NDArray[np.generic], si: NDArray[np.float64]) -> bool:
        """Tell whether a raw number stands at the end of the range; `si` are the same, converted."""
        # All squares together clear nearly every packet, in a tenth of the time of looking at both ends.
        if np.vdot(si, si) < self._clear_square:
            return False
        return bool(raw.min() <= self.lowest or raw.max() >= self.highest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Messages longer than a notification: the first part begins as usual, the others with `continues`, which is dropped."""

    continues: bytes
    most_parts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Commands:
    """What is written to the sensor, each in order; empty where it needs none."""

    start: tuple[Write, ...] = ()
    stop: tuple[Write, ...] = ()
    identify: tuple[Write, ...] = ()
    """Makes it show itself, by a blink for instance."""
    rate: tuple[Write, ...] = ()
    """This and the ranges are written before `start` when they differ from what the device does by itself."""
    gyr_range: tuple[Write, ...] = ()
    acc_range: tuple[Write, ...] = ()

    @property
    def all(self) -> tuple[Write, ...]:
        """Every write."""
        return (*self.start, *self.stop, *self.identify, *self.rate, *self.gyr_range, *self.acc_range)


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """Where the level stands: one byte, percent."""

    service_uuid: str
    level_uuid: str
    offset: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What can be chosen about a sensor, by the names that stand in writes and in recordings."""

    rate_hz: float
    gyr_range_deg_s: float
    acc_range_g: float

    def as_dict(self) -> dict[str, float]:
        """Give the values by name."""
        return {"rate_hz": self.rate_hz, "gyr_range_deg_s": self.gyr_range_deg_s, "acc_range_g": self.acc_range_g}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """The values that each setting may have; the first is what the device does by itself."""

    rates_hz: tuple[float, ...]
    gyr_ranges_deg_s: tuple[float, ...]
    acc_ranges_g: tuple[float, ...]

    def as_dict(self) -> dict[str, tuple[float, ...]]:
        """Give the values by name of the setting."""
        return {
            "rate_hz": self.rates_hz, "gyr_range_deg_s": self.gyr_ranges_deg_s, "acc_range_g": self.acc_ranges_g,
        }  # fmt: skip

    @property
    def own(self) -> Settings:
        """What the device does by itself."""
        return Settings(
            rate_hz=self.rates_hz[0], gyr_range_deg_s=self.gyr_ranges_deg_s[0], acc_range_g=self.acc_ranges_g[0]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Worn:
    """How this kind of sensor is meant to sit, in its own axes. Any other way is measured as well."""

    up: tuple[float, float, float]
    """Toward the elbow, or the butt of the club."""
    top: tuple[float, float, float]
    """Away from the arm, out of the face of the case that is seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How one kind of radio sensor is found, started and read, with settings in force."""

    name: str
    """As it stands in a recording: that of the file, and any settings that are not the device's own."""
    title: str
    source: str
    """Where the device's maker, or whoever, has described it."""
    text: str
    """The TOML that it was read from."""
    advertised_uuids: tuple[str, ...]
    """Services in the advertising data that give such a sensor away."""
    name_patterns: tuple[str, ...]
    """Advertised names that do, with `*` for anything."""
    service_uuid: str
    data_uuid: str
    more_service_uuids: tuple[str, ...]
    """Services that its writes and its battery need besides."""
    commands: Commands
    battery: Battery | None
    choices: Choices
    settings: Settings
    layout: Layout
    ignored: tuple[bytes, ...]
    """Notifications that begin so hold no samples."""
    split: Split | None
    clock: Clock
    sequence_modulus: int | None
    gyr: Instrument
    acc: Instrument
    filter_delay_s: float = 0.0
    """How long after a motion the part's low-pass shows it; taken off a sample's time."""
    worn: Worn | None = None
    """How it is meant to sit, if its axes lie in its case in a way that is known."""

    @property
    def nominal_rate_hz(self) -> float:
        """Samples a second."""
        return self.settings.rate_hz

    @property
    def gyr_rad_s_per_count(self) -> float:
        """Angular rate of one raw number of the gyroscope."""
        return self.gyr.si_per_count

    @property
    def acc_m_s2_per_count(self) -> float:
        """Specific force of one raw number of the accelerometer."""
        return self.acc.si_per_count

    @property
    def shows_loss(self) -> bool:
        """Whether a packet that never came leaves a trace in the others: a step of a counter or a clock."""
        return self.sequence_modulus is not None or self.clock.kind is not ClockKind.NONE

    @property
    def service_uuids(self) -> tuple[str, ...]:
        """Every service that is used."""
        return (self.service_uuid, *self.more_service_uuids)

    def values(self, writes: tuple[Write, ...]) -> tuple[tuple[Write, bytes], ...]:
        """Give what to write, with the settings in force put in."""
        settings = self.settings.as_dict()
        return tuple((write, write.value(settings)) for write in writes)

    @property
    def needed_writes(self) -> tuple[Write, ...]:
        """Every write that a practice makes; the one to show itself is not among them."""
        return (*self._setting_templates, *self.commands.start, *self.commands.stop)

    @property
    def start_writes(self) -> tuple[tuple[Write, bytes], ...]:
        """What is written to begin a stream, once notifications are on."""
        return self.values(self.commands.start)

    @property
    def setting_writes(self) -> tuple[tuple[Write, bytes], ...]:
        """What is written before that: settings that are not the device's own."""
        return self.values(self._setting_templates)

    @property
    def _setting_templates(self) -> tuple[Write, ...]:
        own, now = self.choices.own, self.settings
        changes = (
            (self.commands.rate, now.rate_hz != own.rate_hz),
            (self.commands.gyr_range, now.gyr_range_deg_s != own.gyr_range_deg_s),
            (self.commands.acc_range, now.acc_range_g != own.acc_range_g),
        )
        return tuple(write for writes, differs in changes if differs for write in writes)

    def unpack(self, payload: bytes) -> Unpacked:
        """Split one notification; raises `DecodeError` when it is not of this profile."""
        return self.layout.unpack(payload)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedProfile:
    """How data of any other origin is read: every sample has its time and stands in SI units."""

    name: str
    nominal_rate_hz: float
    """As measured when the data was taken over."""
    gyr_full_scales_rad_s: tuple[float, ...]
    """Ends of the ranges that gyroscopes usually have: a rate held at one of them is saturated."""
    full_scale_tolerance: float
    """How near to it, as a share of it."""
    unpack: Callable[[bytes], TimedSamples]
    """Pure; raises `DecodeError` when the payload is not of this profile."""
    filter_delay_s: float = 0.0
    """How long after a motion the part's low-pass shows it; taken off a sample's time."""
    worn: None = None
    """Of data from elsewhere nobody knows how the axes lie in a case."""

    @property
    def shows_loss(self) -> bool:
        """Whether lost samples leave a trace: they do, as a step of time."""
        return True


AnyProfile = Profile | TimedProfile
