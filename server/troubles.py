"""What of the sensors' health is news to a person: each trouble once, and once that it is over.

For the terminal, which scrolls, and for notices that come up by themselves. The list of sensors on the page needs none of this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sensors.battery import BatteryState
from sensors.events import OF_THE_MACHINE, LinkReason, LinkState
from sensors.health import SensorHealth
from sensors.ids import Role, SensorId
from server.advice import link_advice, reason_advice
from server.battery_advice import battery_advice

NAMES: Final = {
    Role.FOREARM: "Forearm",
    Role.CLUB: "Club",
    Role.LEAD_UPPER_ARM: "Lead upper arm",
    Role.TRAIL_FOREARM: "Trail forearm",
    Role.PELVIS: "Pelvis",
    Role.SPARE: "Spare",
}
_WORSE: Final = (BatteryState.LOW, BatteryState.NEARLY_EMPTY)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryNews:
    """A battery's state got worse (with a sentence), or well again (with none)."""

    sensor: SensorId
    text: str


def unheard_sentences(health: Sequence[SensorHealth]) -> list[str]:
    """Say of each sensor that never sent anything why, and what to do; what is of the computer is said once."""
    out: list[str] = []
    for one in health:
        if one.role is Role.SPARE or one.n_samples:
            continue
        why = reason_advice(one.reason) or "Switch it on and bring it near."
        text = why if one.reason in OF_THE_MACHINE else f"Nothing came from the {NAMES[one.role].lower()} sensor. {why}"
        if text not in out:
            out.append(text)
    return out


class Troubles:
    """Ask with the health of all sensors whenever something may have changed."""

    def __init__(self) -> None:
        self._told: dict[SensorId, set[LinkReason]] = {}
        """Reasons told since the sensor streamed last."""
        self._machine = LinkReason.NONE
        """What was told of the computer's own Bluetooth, for all sensors at once; NONE once one streams again."""
        self._batteries: dict[SensorId, BatteryState] = {}

    def links(self, health: Sequence[SensorHealth]) -> list[str]:
        """Give what is to be said of the links now."""
        out = []
        for one in health:
            if one.role is Role.SPARE:
                continue
            told = self._told.setdefault(one.sensor, set())
            name = NAMES[one.role]
            if one.state is LinkState.STREAMING and one.reason is LinkReason.NONE:
                if told & OF_THE_MACHINE:
                    self._machine = LinkReason.NONE
                if told:
                    out.append(f"{name}: sending again.")
                    told.clear()
            elif one.reason is not LinkReason.NONE and one.reason not in told:
                told.add(one.reason)
                if one.reason not in OF_THE_MACHINE:
                    out.append(f"{name}: {link_advice(one.state, one.reason)}")
                elif one.reason is not self._machine:
                    self._machine = one.reason
                    out.append(link_advice(one.state, one.reason))
        return out

    def batteries(self, health: Sequence[SensorHealth]) -> list[BatteryNews]:
        """Give what is to be said of the batteries now."""
        out = []
        for one in health:
            before = self._batteries.get(one.sensor, BatteryState.UNKNOWN)
            if one.role is Role.SPARE or one.battery is before:
                continue
            self._batteries[one.sensor] = one.battery
            if one.battery in _WORSE:
                text = f"{NAMES[one.role]} sensor: {battery_advice(one.battery, one.battery_pct)}"
                out.append(BatteryNews(sensor=one.sensor, text=text))
            elif before in _WORSE:
                out.append(BatteryNews(sensor=one.sensor, text=""))
        return out
