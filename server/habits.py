"""What is remembered of each player with a pair of sensors: the last fits made with all moves, one small JSON file a pair.

Looked up when both sensors are there; a file that cannot be used is left alone and means that nothing is remembered.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Final, Literal

import platformdirs
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from sensors.habit import NAMES, Habit, Known
from sensors.ids import SensorId
from server.file_names import marked_name
from server.whole_file import replace_text

KEPT: Final = 8
"""So many fits are remembered..."""
STALE_AFTER: Final = timedelta(days=90)
"""... and none older: common practice, no source."""
WIDEST_RAD: Final = 2.0
_log = logging.getLogger(__name__)


def habits_folder() -> Path:
    """Where the files lie."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "players"


class _KnownJson(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    value: Annotated[float, Field(ge=-WIDEST_RAD, le=WIDEST_RAD, allow_inf_nan=False)]
    sd: Annotated[float, Field(gt=0, le=WIDEST_RAD, allow_inf_nan=False)]


class _FitJson(BaseModel):
    """`sensors.habit.Habit`, and when it was made."""

    model_config = ConfigDict(extra="forbid", strict=True)

    made: AwareDatetime
    lean_rad: _KnownJson
    toward_thumb_rad: _KnownJson
    skin_lag: _KnownJson
    address_bend_rad: _KnownJson
    address_hinge_rad: _KnownJson


class _FileJson(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    version: Literal[1]
    player: str
    forearm: str
    club: str
    fits: list[_FitJson]


class HabitStore:
    """`find` when both sensors are there, `keep` when a fit with all moves is made. One store serves one practice."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._folder = folder
        self._now = now
        self._begun = now()

    def path_of(self, player: str, forearm: SensorId, club: SensorId) -> Path:
        """The file of a player with these sensors."""
        name = marked_name(player, f"{player}\0{forearm}\0{club}", nameless="player")
        return self._folder / f"{name}.json"

    def find(self, player: str, forearm: SensorId, club: SensorId) -> Habit | None:
        """What to expect of the player; None when nothing of use is remembered."""
        from fusion.calibration.habit import expected_habit  # noqa: PLC0415  # every command that may serve loads this file

        fits = [_habit_of(fit) for fit in self._fits(player, forearm, club)]
        return expected_habit(fits) if fits else None

    def keep(self, player: str, forearm: SensorId, club: SensorId, habit: Habit) -> None:
        """Remember a fit beside the earlier ones, in place of one of the same practice.

        Raises `OSError`, and `ValidationError` for one that nobody can have.
        """
        known = {name: _KnownJson(value=one.value, sd=one.sd) for name in NAMES for one in (getattr(habit, name),)}
        earlier = [fit for fit in self._fits(player, forearm, club) if fit.made < self._begun]
        file = _FileJson(
            version=1, player=player, forearm=forearm, club=club,
            fits=[*earlier, _FitJson(made=self._now(), **known)][-KEPT:],
        )  # fmt: skip
        replace_text(self.path_of(player, forearm, club), file.model_dump_json(indent=1))

    def _fits(self, player: str, forearm: SensorId, club: SensorId) -> list[_FitJson]:
        path = self.path_of(player, forearm, club)
        try:
            file = _FileJson.model_validate_json(path.read_bytes())
        except FileNotFoundError:
            return []
        except (OSError, ValidationError) as error:
            _log.warning("%s is not used: %s", path, error)
            return []
        if (file.player, file.forearm, file.club) != (player, forearm, club):
            return []
        now = self._now()
        return [fit for fit in file.fits if now - STALE_AFTER < fit.made <= now]


def _habit_of(fit: _FitJson) -> Habit:
    known = {name: getattr(fit, name) for name in NAMES}
    return Habit(**{name: Known(value=one.value, sd=one.sd) for name, one in known.items()})
