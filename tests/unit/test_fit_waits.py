"""What the fit waits for: moves that do not come, and a golfer who takes his time to begin one."""

import numpy as np
import pytest

from fusion.calibration.session import IMPATIENT_S
from fusion.outputs.fit import FitProgress, FitReason, FitState
from fusion.outputs.rep import Rep
from sensors.events import MoveStart
from sensors.ids import Move, Side
from sensors.virtual.golfer import HANGING
from sensors.virtual.practice import Practice, body_curves
from sensors.virtual.session import Player, draw_session
from sensors.virtual.timeline import Timeline
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


@pytest.mark.parametrize(
    ("rests_s", "rolls", "comes"), [(1.5, True, FitReason.NONE), (5.0, False, FitReason.TOO_LITTLE)]
)
def test_the_way_to_a_move_is_no_part_of_it_and_nobody_is_refused_for_it(rests_s, rolls, comes):
    """Begun, as told, while the arm was still on its way: the roll that follows counts, and the way alone is too small."""
    timeline, rng = Timeline(HANGING), np.random.default_rng(4)
    timeline.hold(1.0)
    begun_s = timeline.now_s
    timeline.hold(2.0)
    timeline.move(1.0, plane=60.0)
    timeline.hold(rests_s)
    for side in (1, -1, 1, -1, 1, -1, 0) if rolls else ():
        timeline.move(0.85, roll=45.0 * side)
    timeline.hold(3.0)
    practice = Practice(
        curves=body_curves(timeline, rng, wander=1.0),
        duration_s=timeline.now_s,
        moves=((begun_s, Move.ROLL),),
        swings=(),
    )
    session = draw_session(practice, Player(name="Mara Voss", lead_side=Side.LEFT, club="7 iron"), 4)
    news = [out for out in run_pipeline(session.events()) if isinstance(out, FitProgress)]
    assert [(one.state, one.reason) for one in news[1:]] == [
        (FitState.TAKEN if comes is FitReason.NONE else FitState.REJECTED, comes)
    ]
