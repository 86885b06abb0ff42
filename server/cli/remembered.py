"""What `live` and `record` remember from one practice to the next: a small JSON file of this user."""

from __future__ import annotations

import contextlib
import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import platformdirs

from sensors.ids import Side
from server.whole_file import replace_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """Empty strings where nothing is known yet."""

    forearm: str = ""
    club: str = ""
    lead_side: str = Side.LEFT.value
    player: str = ""

    @property
    def has_sensors(self) -> bool:
        """Whether both sensors are known."""
        return bool(self.forearm and self.club)


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
    names = [f.name for f in fields(Remembered)]
    known = {name: value for name, value in values.items() if name in names and isinstance(value, str)}
    if known.get("lead_side") not in tuple(Side):
        known.pop("lead_side", None)
    return Remembered(**known)


def remember(what: Remembered) -> None:
    """Keep it for next time. Failing to is no reason to stop a practice."""
    with contextlib.suppress(OSError):
        replace_text(settings_path(), json.dumps(asdict(what), indent=1))
