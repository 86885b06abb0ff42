"""The calibration of each sensor, kept from practice to practice: one small JSON file a sensor, in this user's data folder.

A file that cannot be trusted is set aside under another name and reported; it is never used, and never in the way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Final, Literal

import platformdirs
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from sensors.ids import SensorId
from sensors.trim import Trim
from server.file_names import marked_name
from server.first_fault import first_fault
from server.whole_file import replace_text

VERSION: Final = 1
STALE_AFTER: Final = timedelta(days=90)
"""Common practice, no source: consumer parts drift by months, not by days."""


def trims_folder() -> Path:
    """Where they lie."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "sensors"


# Wider than any sensor that works; narrower than a file that means something else.
_Rate = Annotated[float, Field(ge=-0.5, le=0.5, allow_inf_nan=False)]
_Force = Annotated[float, Field(ge=-5.0, le=5.0, allow_inf_nan=False)]
_Diagonal = Annotated[float, Field(ge=0.8, le=1.2, allow_inf_nan=False)]
_Cross = Annotated[float, Field(ge=-0.2, le=0.2, allow_inf_nan=False)]
_Matrix = tuple[
    tuple[_Diagonal, _Cross, _Cross], tuple[_Cross, _Diagonal, _Cross], tuple[_Cross, _Cross, _Diagonal]
]  # fmt: skip


class _TrimJson(BaseModel):
    """`sensors.trim.Trim`, field by field."""

    model_config = ConfigDict(extra="forbid", strict=True)

    gyr_offset_rad_s: tuple[_Rate, _Rate, _Rate]
    gyr_matrix: _Matrix
    acc_offset_m_s2: tuple[_Force, _Force, _Force]
    acc_matrix: _Matrix
    gyr_scale_sd: Annotated[float, Field(gt=0, le=0.1, allow_inf_nan=False)]
    acc_sd_m_s2: Annotated[float, Field(gt=0, le=2.0, allow_inf_nan=False)]


class _FileJson(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    version: Literal[1]
    sensor: str
    made: AwareDatetime
    trim: _TrimJson


class _AnyVersion(BaseModel):
    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A calibration that can be used."""

    sensor: SensorId
    made: datetime
    trim: Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusable:
    """There is a file, and it was not used. `problem` is a clause, e.g. 'it is spoilt'."""

    sensor: SensorId
    problem: str
    path: Path
    """Where it is now."""


class TrimStore:
    """`find` at the start of a practice, `keep` when a sensor has been calibrated."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.now = now
        self._folder = folder

    def path_of(self, sensor: SensorId) -> Path:
        """The sensor's file."""
        return self._folder / f"{marked_name(sensor, sensor, nameless='sensor')}.json"

    def find(self, sensor: SensorId) -> Kept | Unusable | None:
        """What is kept of a sensor; None when nothing is."""
        path = self.path_of(sensor)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            return Unusable(sensor=sensor, problem=f"it cannot be read ({error.strerror or error})", path=path)
        try:
            file = _FileJson.model_validate_json(data)
        except ValidationError as error:
            if _version(data) > VERSION:
                return Unusable(sensor=sensor, problem="it was made by a newer version of Pitchbend", path=path)
            where, what = first_fault(error)
            return self._set_aside(sensor, path, f"it is spoilt ({where + ': ' if where else ''}{what})")
        if file.sensor != sensor:
            return self._set_aside(sensor, path, f"it belongs to another sensor ({file.sensor})")
        return Kept(sensor=sensor, made=file.made, trim=Trim(**file.trim.model_dump()))

    def keep(self, sensor: SensorId, trim: Trim) -> None:
        """Keep a new calibration in place of the old. Raises `OSError`, and `ValidationError` for one that no sensor can have."""
        values = {name: getattr(trim, name) for name in _TrimJson.model_fields}
        file = _FileJson(version=VERSION, sensor=sensor, made=self.now(), trim=_TrimJson(**values))
        replace_text(self.path_of(sensor), file.model_dump_json(indent=1))

    def _set_aside(self, sensor: SensorId, path: Path, problem: str) -> Unusable:
        aside = path.with_suffix(f".{self.now():%Y%m%d-%H%M%S}.spoilt")
        try:
            path.replace(aside)
        except OSError as error:
            return Unusable(sensor=sensor, problem=f"{problem}, and cannot be moved ({error.strerror})", path=path)
        return Unusable(sensor=sensor, problem=problem, path=aside)


def _version(data: bytes) -> int:
    try:
        return _AnyVersion.model_validate_json(data).version
    except ValidationError:
        return 0
