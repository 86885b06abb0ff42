"""Two programs of this machine must not use one sensor: whoever stops first would stop the stream of the other.

An operating-system lock on a small file a sensor, so that a program that dies lets go of it at once.
"""

from __future__ import annotations

import hashlib
import logging
from pathlib import Path

import platformdirs
from filelock import FileLock, Timeout

from sensors.ids import SensorId

_log = logging.getLogger(__name__)


def default_lock_folder() -> Path:
    """A folder of this user."""
    return Path(platformdirs.user_state_dir("pitchbend", appauthor=False)) / "sensors"


class SensorLock:
    """`take` it before the first connection, `release` it after the last."""

    def __init__(self, sensor: SensorId, folder: Path) -> None:
        # Addresses are typed in either case, and hold characters that not every file system takes.
        name = hashlib.sha256(sensor.lower().encode("utf-8", "surrogatepass")).hexdigest()[:16]
        self._path = folder / f"{name}.lock"
        self._lock = FileLock(self._path, timeout=0)
        self._taken = False

    def take(self) -> bool:
        """Whether the sensor is ours now. Where no lock can be made, it is: that is no reason not to practise."""
        if self._taken:
            return True
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._lock.acquire()
        except Timeout:
            return False
        except (OSError, NotImplementedError):
            _log.debug("no lock at %s", self._path, exc_info=True)
        self._taken = True
        return True

    def release(self) -> None:
        """Let others have it; does nothing when it was not taken."""
        if self._taken:
            self._taken = False
            self._lock.release()
