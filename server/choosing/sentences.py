"""What is said to a person who gives the sensors their places, on the page and in the terminal."""

from __future__ import annotations

from typing import Final

from sensors.events import LinkReason
from sensors.ids import Role
from sensors.sources.base import WornElsewhere
from server.advice import reason_advice

PLACE_WORDS: Final = {
    Role.FOREARM: "the lead forearm",
    Role.CLUB: "the club",
    Role.LEAD_UPPER_ARM: "the lead upper arm",
    Role.TRAIL_FOREARM: "the trail forearm",
    Role.PELVIS: "the pelvis",
    Role.SPARE: "nowhere",
}


def move_instruction(place: Role) -> str:
    """Ask for the sensor of a place."""
    return f"Take the sensor for {PLACE_WORDS[place]} in your hand and turn it about. Leave the others lying."


def next_instruction(
    wanted: Role | None, *, n_heard: int, trouble: LinkReason, unread: str | None = None, first: str | None = None
) -> str:
    """Say what to do now; `wanted` is the place to be given next, None when both of the pair are given.

    `unread` is the name of a sensor that has its place and cannot be read, `first` the bay that gives out its places
    before this one.
    """
    if first is not None:
        return (
            f"Bay {first} is choosing its sensors at this moment. Yours are next. If nobody is there, choose yours now."
        )
    if trouble is not LinkReason.NONE:
        return reason_advice(trouble) + " Pitchbend goes on by itself once that is put right."
    if wanted is None and unread is not None:
        return (
            f"Both places are given, but {unread} cannot be read: what to do stands beside it. "
            "Or give its place to another sensor."
        )
    if wanted is None:
        return "Both places are given. Start, or change them first."
    if not n_heard:
        return "Looking for sensors. Switch both on and lay them near this computer."
    lights = " The one that moves lights up: give it its place."
    alone = " Only one sensor is heard so far: switch the other on as well." if n_heard == 1 else ""
    return move_instruction(wanted) + lights + alone


def not_complete_advice(wanted: Role) -> str:
    """Refuse to begin while a place of the pair is empty."""
    return f"No sensor has been given to {PLACE_WORDS[wanted]} yet. Tap its name beside the sensor that you wear there."


def no_choice_advice(*, over: bool) -> str:
    """Say why sensors cannot be chosen now."""
    if over:
        return "The practice is over, so no sensor can be chosen. Start Pitchbend again."
    return "This is a recorded practice, and its sensors are part of it. To choose your own, start `pitchbend live`."


def unknown_sensor_advice() -> str:
    """Refuse a place for a sensor that is not there."""
    return "That sensor is no longer in reach. Switch it on and bring it near; it comes back into the list by itself."


def worn_elsewhere(worn: WornElsewhere) -> str:
    """Say where a sensor is that is not offered here."""
    return f"{worn.name or worn.sensor} is worn in bay {worn.bay}."


def worn_elsewhere_advice(worn: WornElsewhere) -> str:
    """Refuse a place for a sensor that another bay wears."""
    return f"{worn_elsewhere(worn)} Take it off there first, or choose another one here."


def no_pair_advice() -> str:
    """Refuse to exchange what is not there."""
    return "Forearm and club both need a sensor before the two can be exchanged."


def no_blink_advice(reason: LinkReason) -> str:
    """Say that a sensor could not be made to blink."""
    if reason is LinkReason.NOT_FOUND:
        return "That sensor is not connected at the moment, so it cannot blink. Move it instead: its line lights up."
    if reason is LinkReason.NO_BLINK:
        return "Sensors of that kind cannot blink. Move it instead: its line lights up."
    return "That sensor did not take the request to blink. Move it instead: its line lights up."
