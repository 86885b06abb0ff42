"""What `live` and `record` remember from one practice to the next: a small JSON file of this user."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import platformdirs

from sensors.ids import PAIR, WORN, Role, SensorId, Side
from server.whole_file import replace_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """Empty where nothing is known yet."""

    places: Mapping[Role, SensorId] = field(default_factory=dict)
    """Which sensor is worn where."""
    lead_side: str = Side.LEFT.value
    player: str = ""

    @property
    def has_pair(self) -> bool:
        """Whether both sensors that angles are computed from are known."""
        return all(role in self.places for role in PAIR)


def settings_path() -> Path:
    """Where it lies."""
    return Path(platformdirs.user_config_dir("pitchbend", appauthor=False)) / "practice.json"


def recall() -> Remembered:
    """Read it; whatever is missing or spoilt counts as not known."""
    try:
        values = json.loads(settings_path().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return Remembered()
    if not isinstance(values, dict):
        return Remembered()
    texts = {name: value for name, value in values.items() if isinstance(value, str) and value}
    side = texts.get("lead_side")
    return Remembered(
        places={role: SensorId(texts[role.value]) for role in WORN if role.value in texts},
        lead_side=side if side in tuple(Side) else Side.LEFT.value,
        player=texts.get("player", ""),
    )


def remember(what: Remembered) -> None:
    """Keep it for next time. Failing to is no reason to stop a practice."""
    places = {role.value: sensor for role, sensor in what.places.items()}
    values = places | {"lead_side": what.lead_side, "player": what.player}
    with contextlib.suppress(OSError):
        replace_text(settings_path(), json.dumps(values, indent=1))
