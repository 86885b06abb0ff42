"""How each sensor fares: link, rate, loss, battery."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from sensors.events import BatteryLevel, LinkChange, LinkReason, LinkState, SensorInfo, SourceEvent
from sensors.ids import Role, SensorId
from sensors.readings import Gap, Malformed, Reading

_RATE_WINDOW_NS = 1_500_000_000
_USUAL_WAIT_NS = 150_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorHealth:
    """One sensor at one moment."""

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


@dataclass(slots=True)
class _Entry:
    role: Role
    name: str
    state: LinkState = LinkState.CONNECTING
    reason: LinkReason = LinkReason.NONE
    n_samples: int = 0
    n_lost: int = 0
    shows_loss: bool = True
    n_malformed: int = 0
    battery_pct: int | None = None
    recent: deque[tuple[int, int]] = field(default_factory=deque)
    """(arrival_ns, samples) of the packets of the last while."""


class HealthLog:
    """Counts what passes by. `rate_hz` is measured at the moment of asking."""

    def __init__(self) -> None:
        self._entries: dict[SensorId, _Entry] = {}

    def introduce(self, info: SensorInfo, *, shows_loss: bool = True) -> None:
        """Begin to follow a sensor, or note its name anew; counts go on."""
        entry = self._entries.setdefault(info.sensor, _Entry(role=info.role, name=info.name))
        entry.role, entry.name, entry.shows_loss = info.role, info.name, shows_loss

    def note(self, event: SourceEvent) -> None:
        """Take in a link change or a battery level."""
        match event:
            case LinkChange() if event.sensor in self._entries:
                entry = self._entries[event.sensor]
                entry.state, entry.reason = event.state, event.reason
            case BatteryLevel() if event.sensor in self._entries:
                self._entries[event.sensor].battery_pct = event.battery_pct
            case _:
                pass

    def count(self, item: Reading | Gap | Malformed) -> None:
        """Take in a decoded item of a sensor that has been introduced."""
        entry = self._entries[item.sensor]
        match item:
            case Reading():
                n = len(item.device_s)
                entry.n_samples += n
                entry.recent.append((item.arrival_ns, n))
                while item.arrival_ns - entry.recent[0][0] > _RATE_WINDOW_NS:
                    entry.recent.popleft()
            case Gap():
                entry.n_lost += item.n_lost
            case Malformed():
                entry.n_malformed += 1

    def at(self, now_ns: int) -> tuple[SensorHealth, ...]:
        """Health of every sensor, forearm first, with the rate as of host time `now_ns`."""
        entries = sorted(self._entries.items(), key=lambda item: list(Role).index(item[1].role))
        return tuple(
            SensorHealth(
                sensor=sensor,
                role=entry.role,
                name=entry.name,
                state=entry.state,
                reason=entry.reason,
                rate_hz=_rate_hz(entry.recent, now_ns),
                n_samples=entry.n_samples,
                n_lost=entry.n_lost if entry.shows_loss else None,
                n_malformed=entry.n_malformed,
                battery_pct=entry.battery_pct,
            )
            for sensor, entry in entries
        )


def _rate_hz(recent: deque[tuple[int, int]], now_ns: int) -> float:
    """Divide the samples in the window by the time since its first arrival; the usual wait for the next is free."""
    inside = [(at_ns, n) for at_ns, n in recent if now_ns - at_ns <= _RATE_WINDOW_NS]
    if len(inside) < 2:
        return 0.0
    end_ns = max(inside[-1][0], now_ns - _USUAL_WAIT_NS)
    return sum(n for _, n in inside[1:]) / ((end_ns - inside[0][0]) * 1e-9)
