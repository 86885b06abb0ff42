"""What `live` and `record` have in common: who swings, which sensors, where to record."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sensors.events import PlayerSet
from sensors.ids import SensorId, Side
from sensors.record.paths import default_folder, practice_path
from sensors.sources.base import Source
from sensors.trim import Trim
from server.cli import radio
from server.cli.choosing import choose_sensors
from server.cli.failures import tell
from server.cli.remembered import Remembered, recall, remember
from server.cli.sensors import profiles_for
from server.trim_advice import found_advice
from server.trimmed_source import TrimmedSource
from server.trims import Kept, TrimStore, trims_folder


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeSetup:
    """Everything chosen before the first packet."""

    player: PlayerSet
    make_source: Callable[[], Source]
    record_to: Path
    trims: TrimStore
    """Where a calibration made in this practice is to be kept."""


def prepare(
    *,
    forearm: str | None,
    club: str | None,
    lead_side: Side | None,
    player: str | None,
    folder: Path | None,
    profile: str | None = None,
) -> PracticeSetup:
    """Fill in from memory what was not said, choose the sensors, remember it all for next time.

    Raises `CommandFailed` when the sensors cannot be known, `RadioError` when the radio cannot be used.
    """
    known = recall()
    profiles = profiles_for(profile)
    chosen = choose_sensors(forearm, club, known, radio.BluetoothRadio(profiles))
    now = Remembered(
        forearm=chosen[0],
        club=chosen[1],
        lead_side=lead_side.value if lead_side else known.lead_side,
        player=player if player is not None else known.player,
    )
    if now != known:
        remember(now)
    store = TrimStore(trims_folder())
    trims = _stored_trims(store, {"forearm": chosen[0], "club": chosen[1]})
    return PracticeSetup(
        player=PlayerSet(arrival_ns=time.monotonic_ns(), name=now.player, lead_side=Side(now.lead_side)),
        make_source=lambda: TrimmedSource(radio.source_of(forearm=chosen[0], club=chosen[1], profiles=profiles), trims),
        record_to=practice_path(folder or default_folder(), now.player, datetime.now().astimezone()),
        trims=store,
    )


def _stored_trims(store: TrimStore, sensors: dict[str, SensorId]) -> dict[SensorId, Trim]:
    """Look up the calibration of each sensor, by the name of its place; say what the person should know of it."""
    trims: dict[SensorId, Trim] = {}
    for name, sensor in sensors.items():
        found = store.find(sensor)
        if isinstance(found, Kept):
            trims[sensor] = found.trim
        advice = found_advice(found, name, store.now())
        if advice:
            tell(advice)
    return trims
