"""What `live` and `record` have in common: who swings, which sensors, where to record."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sensors.events import PlayerSet
from sensors.ids import Side
from sensors.record.paths import default_folder, practice_path
from sensors.sources.base import Source
from server.cli import radio
from server.cli.choosing import choose_sensors
from server.cli.remembered import Remembered, recall, remember


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeSetup:
    """Everything chosen before the first packet."""

    player: PlayerSet
    make_source: Callable[[], Source]
    record_to: Path


def prepare(
    *,
    forearm: str | None,
    club: str | None,
    lead_side: Side | None,
    player: str | None,
    folder: Path | None,
) -> PracticeSetup:
    """Fill in from memory what was not said, choose the sensors, remember it all for next time.

    Raises `CommandFailed` when the sensors cannot be known, `RadioError` when the radio cannot be used.
    """
    known = recall()
    chosen = choose_sensors(forearm, club, known, radio.BluetoothRadio())
    now = Remembered(
        forearm=chosen[0],
        club=chosen[1],
        lead_side=lead_side.value if lead_side else known.lead_side,
        player=player if player is not None else known.player,
    )
    if now != known:
        remember(now)
    return PracticeSetup(
        player=PlayerSet(arrival_ns=time.monotonic_ns(), name=now.player, lead_side=Side(now.lead_side)),
        make_source=lambda: radio.source_of(forearm=chosen[0], club=chosen[1]),
        record_to=practice_path(folder or default_folder(), now.player, datetime.now().astimezone()),
    )
