"""Each trouble is told once, and once that it is over."""

from __future__ import annotations

from dataclasses import replace

from sensors.battery import BatteryState
from sensors.events import LinkReason, LinkState
from sensors.health import SensorHealth
from sensors.ids import Role
from server.troubles import Troubles


def health(state=LinkState.STREAMING, reason=LinkReason.NONE, role=Role.CLUB, pct=None, battery=BatteryState.UNKNOWN):
    return [
        SensorHealth(
            sensor="AA:01", role=role, name="clip", state=state, reason=reason, rate_hz=200.0, n_samples=1, n_lost=0,
            n_malformed=0, battery_pct=pct, battery=battery,
        )
    ]  # fmt: skip


def test_a_link_that_comes_and_goes_is_told_once_each_time():
    troubles = Troubles()
    searching = health(LinkState.SEARCHING)
    lost = health(LinkState.LOST, LinkReason.OUT_OF_RANGE)
    assert troubles.links(searching) == troubles.links(health()) == []
    (told,) = troubles.links(lost)
    assert told.startswith("Club: The sensor is out of range")
    assert troubles.links(lost) == troubles.links(health(LinkState.SEARCHING, LinkReason.OUT_OF_RANGE)) == []
    assert len(troubles.links(health(LinkState.SEARCHING, LinkReason.NOT_FOUND))) == 1
    assert troubles.links(health()) == ["Club: sending again."]
    assert troubles.links(health()) == []
    assert len(troubles.links(lost)) == 1


def test_what_is_of_the_computer_is_told_once_for_all_sensors():
    troubles = Troubles()
    of_club, of_forearm = (
        (health(state, reason, role)[0], health(LinkState.SEARCHING, LinkReason.ADAPTER_OFF, role)[0])
        for role, state, reason in (
            (Role.CLUB, LinkState.LOST, LinkReason.DROPPED),
            (Role.FOREARM, LinkState.LOST, LinkReason.DROPPED),
        )
    )
    of_forearm = tuple(replace(one, sensor="AA:02") for one in of_forearm)
    assert len(troubles.links([of_forearm[0], of_club[0]])) == 2
    (told,) = troubles.links([of_forearm[1], of_club[0]])
    assert told.startswith("Bluetooth is switched off on this computer.")
    assert troubles.links([of_forearm[1], of_club[1]]) == []
    back = replace(of_forearm[1], state=LinkState.STREAMING, reason=LinkReason.NONE)
    assert troubles.links([back, of_club[1]]) == ["Forearm: sending again."]
    (told,) = troubles.links([of_forearm[1], of_club[1]])
    assert told.startswith("Bluetooth is switched off")


def test_a_battery_is_told_as_it_runs_down_and_when_it_is_charged():
    troubles = Troubles()

    def told(pct, battery):
        return [news.text for news in troubles.batteries(health(pct=pct, battery=battery))]

    assert told(80, BatteryState.GOOD) == []
    assert told(20, BatteryState.LOW)[0].startswith("Club sensor: Its battery is low (20 %).")
    assert told(19, BatteryState.LOW) == []
    assert "nearly empty (5 %)" in told(5, BatteryState.NEARLY_EMPTY)[0]
    assert told(100, BatteryState.GOOD) == [""]


def test_a_spare_sensor_is_no_trouble():
    troubles = Troubles()
    spare = health(LinkState.LOST, LinkReason.DROPPED, Role.SPARE, 3, BatteryState.NEARLY_EMPTY)
    assert troubles.links(spare) == troubles.batteries(spare) == []
