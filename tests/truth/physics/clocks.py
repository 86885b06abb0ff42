"""How far apart the product stamps one instant on the two sensors, while a practice goes on: the generator knows both clocks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fusion.pipeline import Pipeline
from sensors.events import RawPacket
from sensors.ids import Role
from sensors.record.reader import read_events
from server.drills import default_drill


@dataclass(frozen=True, slots=True)
class Apart:
    """Milliseconds by which the club is stamped later than the forearm, `at_s` after the beginning."""

    at_s: float
    arrivals_ms: float
    """By arrivals alone."""
    stamped_ms: float
    """As put in step."""


def apart(folder: Path, every_s: float) -> list[Apart]:
    """Run the pipeline over an imported practice (X.mcap beside truth.npz) and look up the instant that just passed."""
    with np.load(folder / "truth.npz") as file:
        clocks = {role: file[f"clock_{role}"] for role in (Role.FOREARM, Role.CLUB)}
    pipeline = Pipeline(default_drill())
    told: list[Apart] = []
    begin_ns = None
    for event in read_events(folder / "X.mcap"):
        pipeline.push(event)
        if not isinstance(event, RawPacket):
            continue
        begin_ns = begin_ns or event.arrival_ns
        passed_s = 1e-9 * (event.arrival_ns - begin_ns)
        if passed_s < (len(told) + 1) * every_s:
            continue
        forearm_s, club_s = (
            pipeline._in_step.session_s(role, offset_s + passed_s * (1.0 + drift))
            for role, (offset_s, drift) in clocks.items()
        )
        apart_s = club_s - forearm_s
        told.append(Apart(passed_s, 1e3 * apart_s, 1e3 * (apart_s - pipeline._in_step.skew_s())))
    return told
