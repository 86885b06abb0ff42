"""How each sensor fares: link, rate, loss, jitter, clock, battery, signal. The same figures live and of a recording."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from sensors.battery import BatteryState, battery_state
from sensors.clock.envelope import ClockFit
from sensors.events import (
    BatteryLevel,
    LinkChange,
    LinkReason,
    LinkState,
    SensorInfo,
    SensorPlaced,
    SignalStrength,
    SourceEvent,
)
from sensors.ids import Role, SensorId
from sensors.readings import Gap, Malformed, Reading
from sensors.tally.battery import BatteryTrend
from sensors.tally.drops import Drop, Drops
from sensors.tally.lateness import Jitter, Lateness
from sensors.tally.loss import NO_LOSS, Loss, RecentLoss
from sensors.tally.stretches import Stretch, Stretches

_RATE_WINDOW_NS = 1_500_000_000
_USUAL_WAIT_NS = 150_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorHealth:
    """One sensor at one moment. Times of events are seconds on the session clock."""

    sensor: SensorId
    role: Role
    name: str
    state: LinkState
    reason: LinkReason
    rate_hz: float
    """Samples a second over the last second and a half; 0 when silent."""
    n_samples: int
    n_lost: int | None
    """None for a sensor whose packets have neither counter nor clock: what it loses cannot be seen."""
    n_malformed: int
    battery_pct: int | None
    battery: BatteryState = BatteryState.UNKNOWN
    nominal_rate_hz: float | None = None
    """What its profile says; None for a profile without."""
    device_rate_hz: float | None = None
    """Samples a second by the device's own clock, over stretches without loss; None until there is one."""
    n_packets: int = 0
    n_packets_lost: int = 0
    n_duplicates: int = 0
    """Packets (samples, where each carries its time) that came again or too late, and were left out."""
    n_restarts: int = 0
    """How often the device began anew."""
    recent: Loss = NO_LOSS
    """Of the last ten seconds."""
    saturated_s: float = 0.0
    """Seconds of packets in which the motion outran the sensor's range."""
    jitter: Jitter | None = None
    """Of the last ten seconds; None without packets."""
    jitter_overall: Jitter | None = None
    clock: ClockFit | None = None
    clock_age_s: float | None = None
    """Since the newest packet that the clock fit knows."""
    battery_pct_per_hour: float | None = None
    battery_hours_left: float | None = None
    rssi_dbm: int | None = None
    """As it was heard before it was connected; None when the source does not tell."""
    rssi_age_s: float | None = None
    n_drops: int = 0
    drops: tuple[Drop, ...] = ()
    """The newest losses of the link, oldest first."""
    worst: tuple[Stretch, ...] = ()
    """The stretches with most lost or the longest silence, the worst first."""


@dataclass(slots=True)
class _Entry:
    role: Role
    name: str
    nominal_rate_hz: float | None
    state: LinkState = LinkState.CONNECTING
    reason: LinkReason = LinkReason.NONE
    n_samples: int = 0
    n_lost: int = 0
    shows_loss: bool = True
    n_malformed: int = 0
    battery_state: BatteryState = BatteryState.UNKNOWN
    n_packets: int = 0
    n_packets_lost: int = 0
    n_duplicates: int = 0
    n_restarts: int = 0
    saturated_s: float = 0.0
    lost_since_reading: int = 0
    last_arrival_ns: int | None = None
    last_n: int = 0
    last_device_s: float | None = None
    spanned_s: float = 0.0
    spanned_samples: int = 0
    battery: BatteryTrend = field(default_factory=BatteryTrend)
    drops: Drops = field(default_factory=Drops)
    lateness: Lateness = field(default_factory=Lateness)
    loss: RecentLoss = field(default_factory=RecentLoss)
    stretches: Stretches = field(default_factory=Stretches)
    recent: deque[tuple[int, int]] = field(default_factory=deque)
    """(arrival_ns, samples) of the packets of the last while."""


class HealthLog:
    """Counts what passes by. Rates and everything recent are measured at the moment of asking."""

    def __init__(self) -> None:
        self.start_ns = 0
        """Stamp of session time zero."""
        self._entries: dict[SensorId, _Entry] = {}
        self._signals: dict[SensorId, SignalStrength] = {}

    def introduce(self, info: SensorInfo, *, nominal_rate_hz: float | None = None, shows_loss: bool = True) -> None:
        """Begin to follow a sensor, or note its name anew; counts go on."""
        entry = self._entries.setdefault(
            info.sensor, _Entry(role=info.role, name=info.name, nominal_rate_hz=nominal_rate_hz)
        )
        entry.role, entry.name, entry.nominal_rate_hz = info.role, info.name, nominal_rate_hz
        entry.shows_loss = shows_loss

    def note(self, event: SourceEvent) -> None:
        """Take in a place, a link change, a battery level or a signal strength."""
        match event:
            case SignalStrength():
                self._signals[event.sensor] = event  # it is heard before it introduces itself
            case SensorPlaced():
                self._place(event)
            case LinkChange() if event.sensor in self._entries:
                entry = self._entries[event.sensor]
                entry.state, entry.reason = event.state, event.reason
                entry.drops.note(self._s(event.arrival_ns), event.state, event.reason)
            case BatteryLevel() if event.sensor in self._entries:
                entry = self._entries[event.sensor]
                entry.battery.note(self._s(event.arrival_ns), event.battery_pct)
                entry.battery_state = battery_state(event.battery_pct, before=entry.battery_state)
            case _:
                pass

    def _place(self, placed: SensorPlaced) -> None:
        """One that has not been heard yet is listed all the same."""
        entry = self._entries.get(placed.sensor)
        if entry is None:
            self._entries[placed.sensor] = _Entry(
                role=placed.role, name="", nominal_rate_hz=None, state=LinkState.SEARCHING
            )
        else:
            entry.role = placed.role

    def count(self, item: Reading | Gap | Malformed) -> None:
        """Take in a decoded item of a sensor that has been introduced."""
        entry = self._entries[item.sensor]
        match item:
            case Reading():
                self._count_reading(entry, item)
            case Gap():
                n_packets = -(-item.n_lost // entry.last_n) if entry.last_n else 0
                entry.n_lost += item.n_lost
                entry.n_packets_lost += n_packets
                entry.n_restarts += item.restarted
                entry.lost_since_reading += item.n_lost
                entry.last_device_s = None  # the device's rate is measured over unbroken stretches only
                entry.loss.note(item.arrival_ns, n_lost=item.n_lost, n_packets_lost=n_packets)
            case Malformed():
                entry.n_malformed += 1

    def count_duplicates(self, sensor: SensorId, n: int) -> None:
        """Take in what a decoder has left out as come before."""
        self._entries[sensor].n_duplicates += n

    def note_late(self, sensor: SensorId, arrival_ns: int, late_s: float) -> None:
        """Take in how long after the clock fit's line a packet arrived."""
        self._entries[sensor].lateness.note(arrival_ns, late_s)

    def at(self, now_ns: int, clocks: Mapping[SensorId, ClockFit | None] | None = None) -> tuple[SensorHealth, ...]:
        """Health of every sensor, forearm first, with the rates as of host time `now_ns`, and the clock fits as given."""
        entries = sorted(self._entries.items(), key=lambda item: list(Role).index(item[1].role))
        return tuple(self._health(sensor, entry, now_ns, (clocks or {}).get(sensor)) for sensor, entry in entries)

    def _health(self, sensor: SensorId, entry: _Entry, now_ns: int, clock: ClockFit | None) -> SensorHealth:
        signal = self._signals.get(sensor)
        return SensorHealth(
            sensor=sensor,
            role=entry.role,
            name=entry.name,
            state=entry.state,
            reason=entry.reason,
            rate_hz=_rate_hz(entry.recent, now_ns),
            n_samples=entry.n_samples,
            n_lost=entry.n_lost if entry.shows_loss else None,
            n_malformed=entry.n_malformed,
            battery_pct=entry.battery.level_pct,
            battery=entry.battery_state,
            nominal_rate_hz=entry.nominal_rate_hz,
            device_rate_hz=entry.spanned_samples / entry.spanned_s if entry.spanned_s > 0.0 else None,
            n_packets=entry.n_packets,
            n_packets_lost=entry.n_packets_lost,
            n_duplicates=entry.n_duplicates,
            n_restarts=entry.n_restarts,
            recent=replace(entry.loss.at(now_ns), known=entry.shows_loss),
            saturated_s=entry.saturated_s,
            jitter=entry.lateness.recent(now_ns),
            jitter_overall=entry.lateness.overall(),
            clock=clock,
            clock_age_s=None if entry.last_arrival_ns is None else (now_ns - entry.last_arrival_ns) * 1e-9,
            battery_pct_per_hour=entry.battery.pct_per_hour,
            battery_hours_left=entry.battery.hours_left,
            rssi_dbm=None if signal is None else signal.rssi_dbm,
            rssi_age_s=None if signal is None else (now_ns - signal.arrival_ns) * 1e-9,
            n_drops=entry.drops.n_drops,
            drops=entry.drops.newest(),
            worst=entry.stretches.worst(),
        )

    def _count_reading(self, entry: _Entry, reading: Reading) -> None:
        n, arrival_ns = len(reading.device_s), reading.arrival_ns
        end_s = float(reading.device_s[-1])
        entry.n_samples += n
        entry.n_packets += 1
        entry.last_n = n
        entry.loss.note(arrival_ns, n_samples=n, n_packets=1)
        if reading.saturated:
            entry.saturated_s += (end_s - float(reading.device_s[0])) * n / max(1, n - 1)
        if entry.last_device_s is not None:
            entry.spanned_s += end_s - entry.last_device_s
            entry.spanned_samples += n
        entry.last_device_s = end_s
        if entry.last_arrival_ns is not None:
            entry.stretches.note(self._s(entry.last_arrival_ns), self._s(arrival_ns), entry.lost_since_reading)
        entry.lost_since_reading = 0
        entry.last_arrival_ns = arrival_ns
        entry.recent.append((arrival_ns, n))
        while arrival_ns - entry.recent[0][0] > _RATE_WINDOW_NS:
            entry.recent.popleft()

    def _s(self, arrival_ns: int) -> float:
        return (arrival_ns - self.start_ns) * 1e-9


def _rate_hz(recent: deque[tuple[int, int]], now_ns: int) -> float:
    """Divide the samples in the window by the time since its first arrival; the usual wait for the next is free."""
    inside = [(at_ns, n) for at_ns, n in recent if now_ns - at_ns <= _RATE_WINDOW_NS]
    if len(inside) < 2:
        return 0.0
    end_ns = max(inside[-1][0], now_ns - _USUAL_WAIT_NS)
    return sum(n for _, n in inside[1:]) / ((end_ns - inside[0][0]) * 1e-9)
