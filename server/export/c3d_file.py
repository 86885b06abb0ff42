"""A swing as C3D, the common file of motion laboratories: points in millimetres, marks of the swing as events."""

from __future__ import annotations

import warnings
from pathlib import Path

import c3d
import numpy as np
from numpy.typing import NDArray

from server.export.motion import SwingMotion

_UNKNOWN = -1.0
"""Residual of a point that is not known."""


def write_c3d(path: Path, motion: SwingMotion, points_m: dict[str, NDArray[np.float64]]) -> None:
    """Write the points, shape (n, 3) each, in metres in the earth of the address. Raises OSError when the disk fails."""
    writer = c3d.Writer(point_rate=motion.rate_hz, point_units="mm  ")
    writer.set_point_labels(list(points_m))
    writer.set_screen_axis(X="+X", Y="+Z")
    writer.set_start_frame(1)
    _events(writer, motion)
    stacked = np.stack(list(points_m.values()), axis=1) * 1e3
    for known, points in zip(motion.known, stacked, strict=True):
        frame = np.zeros((len(points), 5), dtype=np.float32)
        if known:
            frame[:, :3] = points
        else:
            frame[:, 3] = _UNKNOWN
        writer.add_frames([(frame, np.empty((0, 0), dtype=np.float32))])
    with path.open("wb") as handle, warnings.catch_warnings():
        warnings.filterwarnings("ignore", "No analog data")  # there is none
        writer.write(handle)


def _events(writer: c3d.Writer, motion: SwingMotion) -> None:
    """Times count from the first frame; the form wants minutes and seconds."""
    marks = motion.marks()
    names, width = c3d.Writer.pack_labels([name for name, _ in marks])
    group = writer.get_create("EVENT")
    group.add("USED", "Number of events", 2, "<h", len(marks))
    group.add_str("LABELS", "What happened", names, width, len(marks))
    times_s = [t_s - float(motion.t_s[0]) for _, t_s in marks]
    minutes_seconds = np.array([[t_s // 60.0, t_s % 60.0] for t_s in times_s], dtype=np.float32)
    group.add("TIMES", "When, minutes and seconds", 4, "<f", minutes_seconds.tobytes(), 2, len(marks))
