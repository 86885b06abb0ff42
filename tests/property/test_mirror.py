"""A left-handed player is a right-handed one in a mirror: the same packets reflected give the same numbers.

Reflection by x to -x takes a force F to MF and a rate w to -Mw; a sensor whose own z axis is flipped beside (so that it
stays right-handed) then reads (fx, fy, -fz) and (-wx, -wy, wz). No model is asked: any recording can be mirrored so.
"""

import math

import pytest

from fusion.outputs.cue import CueChange
from fusion.outputs.fit import FitProgress, FitState
from fusion.outputs.instant import Angles, Readout
from fusion.outputs.rep import PhaseChange, Rep
from sensors.ids import Move, Side
from tests.reworked import mirrored
from tests.virtual import run_pipeline, virtual_run

TOLERANCE_RAD = math.radians(0.1)
"""The search for the fit stops within a few hundredths of a degree; all else is rounding."""
TOLERANCE_M = 0.005
TOLERANCE_S = 1e-3


@pytest.fixture(scope="module", params=[(8, 3, Side.LEFT), (9, 3, Side.RIGHT)], ids=["left", "right"])
def pair(request):
    run = virtual_run(*request.param)
    # Only the move at address tells which end of each axis points down: before it the fit may be either of two.
    return tuple(since_fitted(outputs) for outputs in (run.outputs, run_pipeline(mirrored(run.events))))


def since_fitted(outputs):
    news = [output for output in outputs if isinstance(output, FitProgress)]
    assert news[-1].move is Move.ADDRESS
    assert news[-1].state is FitState.TAKEN
    return outputs[outputs.index(news[-1]) :]


def of(outputs, kind):
    return [output for output in outputs if isinstance(output, kind)]


def assert_same_angles(a: Angles, b: Angles):
    for name in Angles._fields:
        first, second = getattr(a, name), getattr(b, name)
        if name == "shaft_pitch_rad":
            # Whether a shaft at the limit of foreshortening shows its pitch is decided by the last digits; a line has no ends.
            if first is not None and second is not None:
                assert math.remainder(second - first, math.pi) == pytest.approx(0, abs=2 * TOLERANCE_RAD)
            continue
        assert (first is None) == (second is None), name
        if first is not None:
            tolerance = TOLERANCE_M if name.endswith("_m") else TOLERANCE_RAD
            assert second == pytest.approx(first, abs=tolerance), name


def test_every_readout_is_the_same(pair):
    plain, mirror = (of(outputs, Readout) for outputs in pair)
    assert len(plain) == len(mirror) > 500
    assert any(readout.angles.bend_rad is not None for readout in plain)
    for a, b in zip(plain, mirror, strict=True):
        assert (a.t_s, a.phase, a.doubt) == (b.t_s, b.phase, b.doubt)
        assert_same_angles(a.angles, b.angles)


def test_every_rep_mark_and_verdict_is_the_same(pair):
    plain, mirror = (of(outputs, Rep) for outputs in pair)
    assert len(plain) == len(mirror) >= 3
    for a, b in zip(plain, mirror, strict=True):
        assert (a.index, a.verdict, a.doubt) == (b.index, b.verdict, b.doubt)
        assert list(a.checkpoints) == list(b.checkpoints)
        for phase, mark in a.checkpoints.items():
            assert b.checkpoints[phase].t_s == pytest.approx(mark.t_s, abs=TOLERANCE_S)
            assert_same_angles(mark.angles, b.checkpoints[phase].angles)


def test_phases_and_cues_are_the_same(pair):
    for kind, key in ((PhaseChange, "phase"), (CueChange, "sounding")):
        plain, mirror = (of(outputs, kind) for outputs in pair)
        assert plain
        assert [getattr(output, key) for output in plain] == [getattr(output, key) for output in mirror]
        for a, b in zip(plain, mirror, strict=True):
            assert b.t_s == pytest.approx(a.t_s, abs=TOLERANCE_S)
