"""A practice of the independent golfer (`tests/truth/physics`) as arrays of samples, calibrated and fitted by its own moves."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from fusion.pipeline import Pipeline
from sensors.ids import Role
from sensors.record.reader import read_events
from sensors.virtual.practice import SwingMark
from sensors.virtual.truth import SwingTruth
from server.analysis.analysis import Analysis
from server.drills import default_drill
from tests.bench.half_hour import HalfHour, Stream, streams_of
from tests.truth.physics.dataset import make
from tests.truth.physics.product import run_import

ADDRESS_BEFORE_TAKEAWAY_S = 0.2


def physics_practice(seed: int, minutes: float) -> HalfHour:
    """Simulate, import, and let the pipeline find trims and fit; every filter is then given both."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        make(seed, folder, minutes)
        recording = folder / "X.mcap"
        run_import(folder)
        pipeline = Pipeline(default_drill())
        analysis = Analysis(recording, pipeline=pipeline)
        for _ in analysis.run(None):
            pass
        events = tuple(read_events(recording))
        with np.load(folder / "truth.npz") as file:
            truth = dict(file)
    fit = pipeline.body_fit
    assert fit is not None, seed
    zero_s = analysis.clock.host_s(0.0)
    return HalfHour(
        side=fit.side,
        events=events,
        streams={role: _trimmed(stream, pipeline, role) for role, stream in streams_of(events).items()},
        q_sensor_from_forearm=fit.q_sensor_from_forearm,
        q_sensor_from_hand=fit.q_sensor_from_hand,
        shaft_sensor=np.array(fit.shaft_sensor),
        marks=tuple(
            SwingMark(start_s=start - zero_s, top_s=top - zero_s, impact_s=impact - zero_s)
            for start, top, impact in zip(
                truth["swing_takeaway_s"], truth["swing_top_s"], truth["swing_impact_s"], strict=True
            )
        ),
        truths=tuple(
            SwingTruth(
                t_s=truth["host_time_s"] - zero_s,
                angles={name: truth[name].astype(np.float64) for name in ("bend_deg", "shaft_elevation_deg")},
                address_s=truth["swing_takeaway_s"][k] - zero_s - ADDRESS_BEFORE_TAKEAWAY_S,
                shaft_level_s=truth["swing_shaft_level_s"][k] - zero_s,
                arm_level_s=truth["swing_lead_arm_level_s"][k] - zero_s,
                top_s=truth["swing_top_s"][k] - zero_s,
                impact_s=truth["swing_impact_s"][k] - zero_s,
            )
            for k in np.flatnonzero(truth["swing_hit"])
        ),
        fitted_by_moves=True,
    )


def _trimmed(stream: Stream, pipeline: Pipeline, role: Role) -> Stream:
    trim = pipeline._kit.tracks[role].trim
    return Stream(
        t_s=stream.t_s,
        device_s=stream.device_s,
        gyr_rad_s=trim.gyr(stream.gyr_rad_s),
        acc_m_s2=trim.acc(stream.acc_m_s2),
    )
