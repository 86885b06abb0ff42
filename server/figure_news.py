"""What of the sensors' figures is news in a terminal: loss, lateness, a sensor that begins anew, each once, and when it is over.

Links and batteries have news of their own. A trouble is told when it has lasted, and is over when it has been away as long:
what one lost link leaves in the figures of the last seconds goes by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from sensors.events import LinkState
from sensors.health import SensorHealth
from sensors.ids import Role, SensorId
from server.health_advice import HealthTrouble, health_advice
from server.troubles import NAMES

LASTS_NS: Final = 15_000_000_000
"""Longer than the figures of the last seconds reach back."""
_TOLD_ELSEWHERE: Final = frozenset({HealthTrouble.DROPS, HealthTrouble.BATTERY})
_OVER: Final = {
    HealthTrouble.LOSS: "hardly a sample is lost any more.",
    HealthTrouble.LATE: "packets come in time again.",
    HealthTrouble.CLOCK: "its time fits the other's again.",
    HealthTrouble.DUPLICATES: "packets come once again.",
}
"""The others are counts, and stay."""


@dataclass(slots=True)
class _Case:
    """One trouble of one sensor, from when it was first seen."""

    turned_ns: int
    """Since when it has been as it is now: bad while it is not told, well once it is."""
    told: bool = False


class FigureNews:
    """Ask with the health of all sensors every now and then."""

    def __init__(self) -> None:
        self._cases: dict[tuple[SensorId, HealthTrouble], _Case] = {}

    def look(self, health: Sequence[SensorHealth], now_ns: int) -> list[str]:
        """Give what is to be said at host time `now_ns`."""
        streaming = [one for one in health if one.role is not Role.SPARE and one.state is LinkState.STREAMING]
        return [f"{NAMES[one.role]}: {text}" for one in streaming for text in self._news(one, now_ns)]

    def _news(self, health: SensorHealth, now_ns: int) -> Iterator[str]:
        bad = {one.trouble: one.text for one in health_advice(health, overall=False)}
        for trouble in HealthTrouble:
            key = health.sensor, trouble
            case = self._cases.get(key)
            if trouble in bad and trouble not in _TOLD_ELSEWHERE:
                case = self._cases.setdefault(key, _Case(turned_ns=now_ns))
                if case.told:
                    case.turned_ns = now_ns
                elif now_ns - case.turned_ns >= LASTS_NS:
                    case.turned_ns, case.told = now_ns, True
                    yield bad[trouble]
            elif case is not None and (not case.told or now_ns - case.turned_ns >= LASTS_NS):
                del self._cases[key]
                if case.told and trouble in _OVER:
                    yield _OVER[trouble]
