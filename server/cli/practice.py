"""What `live` and `record` have in common: who swings, which sensors, where to record."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path

from sensors.events import PlayerSet
from sensors.ids import PAIR, Role, SensorId, Side
from sensors.record.paths import default_folder, practice_path
from sensors.sources.base import Source
from sensors.trim import Trim
from server.cli import radio
from server.cli.choosing import choose_sensors, places_of
from server.cli.failures import tell
from server.cli.remembered import Remembered, recall, remember
from server.cli.sensors import profiles_for
from server.habit_source import HabitSource
from server.habits import HabitStore, habits_folder
from server.trim_advice import found_advice
from server.trimmed_source import TrimmedSource
from server.trims import Kept, TrimStore, trims_folder


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What was said on the command line; None, empty and False where nothing was."""

    forearm: str | None = None
    club: str | None = None
    also: Sequence[str] = ()
    choose: bool = False
    swap: bool = False
    lead_side: Side | None = None
    player: str | None = None
    folder: Path | None = None
    profile: str | None = None
    """Which kind of sensor, by name or file; None for every kind that is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeSetup:
    """Everything chosen before the first packet."""

    player: PlayerSet
    make_source: Callable[[], Source]
    record_to: Path
    trims: TrimStore
    """Where a calibration made in this practice is to be kept."""
    habits: HabitStore
    """The same for what its fit shows of the player."""
    choosing: bool
    """The sensors are still to be chosen, on the page."""
    keep_places: Callable[[Mapping[Role, SensorId]], None]
    """To be told which sensors were chosen, for next time."""


def prepare(wishes: Wishes, *, on_page: bool) -> PracticeSetup:
    """Fill in from memory what was not said, choose the sensors, remember it all for next time.

    `on_page` leaves it to the page to choose what is not known. Raises `CommandFailed` when the sensors cannot be known,
    `RadioError` when the radio cannot be used.
    """
    known = recall()
    profiles = profiles_for(wishes.profile)
    places = places_of(wishes.forearm, wishes.club, wishes.also, known, choose=wishes.choose, swap=wishes.swap)
    choosing = on_page and not all(role in places for role in PAIR)
    if not choosing:
        places = choose_sensors(places, radio.BluetoothRadio(profiles))
    now = Remembered(
        places=known.places if choosing else places,
        lead_side=wishes.lead_side.value if wishes.lead_side else known.lead_side,
        player=wishes.player if wishes.player is not None else known.player,
    )
    if now != known:
        remember(now)
    store, habits = told_store(places), HabitStore(habits_folder())
    return PracticeSetup(
        player=PlayerSet(arrival_ns=time.monotonic_ns(), name=now.player, lead_side=Side(now.lead_side)),
        make_source=lambda: remembering(
            radio.source_of(places=places, gather=choosing, profiles=profiles), store, habits, now.player
        ),
        record_to=practice_path(wishes.folder or default_folder(), now.player, datetime.now().astimezone()),
        trims=store,
        habits=habits,
        choosing=choosing,
        keep_places=lambda chosen: remember(replace(now, places=dict(chosen))),
    )


def told_store(places: Mapping[Role, SensorId], whose: str = "") -> TrimStore:
    """Open the kept calibrations, and tell what the person should know of those of these sensors."""
    store = TrimStore(trims_folder())
    for role, sensor in places.items():
        advice = found_advice(store.find(sensor), whose + role.value.replace("_", " "), store.now())
        if advice:
            tell(advice)
    return store


def remembering(source: Source, trims: TrimStore, habits: HabitStore, player: str) -> Source:
    """Give a source with what is kept of the sensors and of the player in its stream."""
    return HabitSource(TrimmedSource(source, partial(_stored_trim, trims)), partial(habits.find, player))


def _stored_trim(store: TrimStore, sensor: SensorId) -> Trim | None:
    """Look up the calibration of a sensor."""
    found = store.find(sensor)
    return found.trim if isinstance(found, Kept) else None
