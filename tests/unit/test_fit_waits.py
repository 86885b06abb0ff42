"""A practice that lacks a move is fitted all the same, a while after the last one, and says so."""

from fusion.calibration.session import IMPATIENT_S
from fusion.outputs import FitProgress, FitState, Rep
from sensors.events import MoveStart
from sensors.ids import Move
from tests.virtual import run_pipeline, virtual_session


def test_without_the_palm_the_fit_comes_late_and_is_told():
    events = list(virtual_session(6, 6).events())
    without = [event for event in events if not (isinstance(event, MoveStart) and event.move is Move.PALM)]
    outputs = run_pipeline(without)
    taken = [out for out in outputs if isinstance(out, FitProgress) and out.state is FitState.TAKEN]
    assert [out.complete for out in taken[-2:]] == [False, True]
    assert taken[-1].move is taken[-2].move  # the last one, said again
    assert (taken[-1].arrival_ns - taken[-2].arrival_ns) * 1e-9 > IMPATIENT_S - 0.1
    assert [out for out in outputs if isinstance(out, Rep)]
