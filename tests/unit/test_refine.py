import numpy as np
import pytest

from fusion.measure import Instant
from fusion.outputs.instant import Angles, Phase
from fusion.outputs.rep import RepFlag
from fusion.swing.detector import Step
from fusion.swing.refine import angles_at, refine
from fusion.swing.reps import RepBuilder, shaft_past_level
from tests.motion import NOWHERE

RATE_HZ = 190.0
TOP_S, IMPACT_S = 0.9, 1.17


def instant(t_s):
    """A swing in closed form: club and arm leave at 0 s, the shaft is level at 0.45, the arm at 0.63."""
    moved = max(t_s, 0.0)
    arm = np.radians(40.0 - (548.0 if t_s < TOP_S else 1800.0) * (t_s - TOP_S) ** 2)
    return Instant(
        t_s=t_s,
        angles=Angles(
            shaft_elevation_rad=np.sin(3.0 * (t_s - 0.45)), arm_elevation_rad=arm, bend_rad=t_s**2,
            face_twist_rad=None if t_s > 1.0 else 0.1,
        ),
        state=NOWHERE, wrist_possible=True, club_turn_rad=2.0 * moved**2, arm_turn_rad=moved, arm_off_rad=1.5,
        shaft_off_rad=float(np.hypot(0.06, 15.0 * (t_s - IMPACT_S))), shaft_rise_rad=0.0, shaft_trail=-0.5,
    )  # fmt: skip


INSTANTS = [instant(t_s) for t_s in np.arange(-0.4, 1.4, 1 / RATE_HZ)]
TRUE = {Phase.SHAFT_LEVEL: 0.45, Phase.ARM_LEVEL: TOP_S - np.sqrt(40 / 548), Phase.TOP: TOP_S, Phase.IMPACT: IMPACT_S}


def test_marks_some_milliseconds_off_are_put_right():
    rough = {phase: at_s + 0.004 for phase, at_s in TRUE.items()}
    out = refine(INSTANTS, 0.05, rough)
    assert out.takeaway_s == pytest.approx(0.0, abs=0.005)
    for phase, at_s in TRUE.items():  # the arm's curvature jumps threefold at this top: the worst case for a smooth fit
        assert out.marks[phase] == pytest.approx(at_s, abs=0.006 if phase is Phase.TOP else 5e-4), phase


def test_angles_between_samples_are_those_of_the_curve_and_unknown_stays_unknown():
    at = angles_at(INSTANTS, 0.5013)
    assert at.bend_rad == pytest.approx(0.5013**2, abs=1e-9)
    assert at.face_twist_rad == pytest.approx(0.1)
    assert at.hinge_rad is None
    assert angles_at(INSTANTS, 1.002).face_twist_rad is None
    assert angles_at(INSTANTS[:1], 5.0).bend_rad == pytest.approx(0.16)


def built(*phases):
    builder = RepBuilder(-0.2)
    for phase in phases:
        at_s = TRUE.get(phase, 0.0)
        builder.note(Step(phase, at_s, instant(at_s)), INSTANTS)
    return builder


def test_a_level_passed_again_after_a_hesitation_keeps_its_first_date_and_the_top_its_last():
    builder = built(Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP)
    again = [Step(phase, 0.95, instant(0.95)) for phase in (Phase.SHAFT_LEVEL, Phase.TOP)]
    for step in again:
        builder.note(step, INSTANTS)
    assert builder.checkpoints[Phase.SHAFT_LEVEL].t_s == 0.45
    assert builder.checkpoints[Phase.TOP].t_s == 0.95


def test_a_new_takeaway_forgets_the_marks_of_the_one_taken_back():
    builder = built(Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.TOP, Phase.TAKEAWAY)
    assert not builder.checkpoints
    assert builder.backswing_s is None
    assert builder.shaft_length_rad is None
    assert builder.arm_length_rad is None


def test_times_length_and_flags():
    builder = built(Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.TOP, Phase.IMPACT)
    assert builder.backswing_s == pytest.approx(0.9)
    assert builder.downswing_s == pytest.approx(0.27)
    assert builder.arm_length_rad == 1.5
    assert builder.flags(struck=None) == builder.flags(struck=True) == (RepFlag.HALF_SWING,)
    assert builder.flags(struck=False) == (RepFlag.HALF_SWING, RepFlag.NO_STRIKE)
    assert built(Phase.TAKEAWAY, Phase.ARM_LEVEL, Phase.TOP).flags(struck=None) == ()


def test_nothing_to_refine_before_the_takeaway():
    builder = RepBuilder(0.0)
    builder.refine(INSTANTS)
    assert builder.takeaway_s is None


@pytest.mark.parametrize(
    ("elevation_deg", "trail", "past_deg"),
    # Pointing to the target: level is 0, head below the hands past it; on the trail side it has still to come over.
    [(0.0, -1.0, 0.0), (-15.0, -0.9, 15.0), (30.0, -0.8, -30.0), (60.0, 0.4, -120.0), (0.0, 1.0, -180.0)],
)
def test_shaft_length(elevation_deg, trail, past_deg):
    angles = Angles(shaft_elevation_rad=np.radians(elevation_deg))
    assert np.degrees(shaft_past_level(angles, trail)) == pytest.approx(past_deg)
    assert shaft_past_level(Angles(), trail) is None
