"""How much longer a disk has room for the recording."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

USUAL_BYTES_S: Final = 7_000.0
"""Two sensors at 200 samples a second, as measured (recordings/README.md), until the recording's own rate is known."""
_RATE_AFTER_S: Final = 30.0


def free_bytes(folder: Path) -> int | None:
    """Room on the disk of `folder`, or of the nearest folder above it that exists; None when that cannot be told."""
    for place in (folder, *folder.parents):
        try:
            return shutil.disk_usage(place).free
        except FileNotFoundError:
            continue
        except OSError:
            return None
    return None


def minutes_left(free: int, size_bytes: int, age_s: float) -> float:
    """Minutes until `free` bytes are full, at the rate of a recording that reached `size_bytes` in `age_s`.

    Never at less than the usual rate: a sensor that has been away may come back.
    """
    rate_bytes_s = size_bytes / age_s if age_s >= _RATE_AFTER_S else 0.0
    return free / max(rate_bytes_s, USUAL_BYTES_S) / 60.0
