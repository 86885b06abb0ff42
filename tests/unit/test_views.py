from __future__ import annotations

import json
import math

import pytest
from pydantic import ValidationError

from fusion.calibration.session import FitStatus
from fusion.outputs.fit import FitProgress, FitReason, FitState
from fusion.outputs.instant import Angles, Doubt, Phase, Spread
from fusion.outputs.rep import Checkpoint, Rep, RepFlag, Verdict
from sensors.events import LinkReason, LinkState, PlayerSet
from sensors.health import SensorHealth
from sensors.ids import Move, Role, SensorId, Side
from server import views
from server.drill_views import drill_view
from server.drills import default_drill
from server.wire import SERVER_MESSAGE, FrameMessage
from tests.live_service import cue, phase, readout

SHOWN = [name for name in Angles._fields if name not in ("hinge_rad", "butt_line_m")]  # not for the page
ANGLES = Angles(**{name: math.radians(10.0 + i) for i, name in enumerate(Angles._fields)})


def frame(shown, *, sounding=False, replayed=False) -> FrameMessage:
    return views.frame_message(shown, seq=5, sounding=sounding, replayed=replayed)


def test_every_angle_comes_out_in_degrees_under_its_own_name():
    message = frame(readout(2.5, angles=ANGLES))
    for name in SHOWN:
        expected_deg = math.degrees(getattr(ANGLES, name))
        assert getattr(message, name.replace("_rad", "_deg")) == pytest.approx(expected_deg, abs=1e-3)
    assert (message.seq, message.t_s, message.phase, message.advice) == (5, 2.5, Phase.TAKEAWAY, "")


def test_what_is_not_known_is_null_with_a_reason():
    message = frame(readout(doubt=Doubt.GAP))
    shown = json.loads(message.model_dump_json())
    assert [shown[name.replace("_rad", "_deg")] for name in SHOWN] == [None] * 8
    assert shown["doubt"] == "gap"
    assert "did not reach" in shown["advice"]


def test_spreads_come_out_in_degrees_and_only_beside_their_angle():
    spread = Spread(bend_change_rad=math.radians(1.25), shaft_pitch_rad=math.radians(2.5))
    message = frame(readout(angles=ANGLES, spread=spread))
    assert (message.bend_change_sd_deg, message.shaft_pitch_sd_deg) == (pytest.approx(1.25), pytest.approx(2.5))
    assert (frame(readout(angles=ANGLES)).bend_change_sd_deg, frame(readout(angles=ANGLES)).shaft_pitch_sd_deg) == (
        None,
        None,
    )
    alone = frame(readout(angles=Angles(bend_change_rad=0.1), spread=spread))
    assert (alone.bend_change_sd_deg, alone.shaft_pitch_sd_deg) == (pytest.approx(1.25), None)


def test_a_missing_pitch_alone_is_explained_too():
    message = frame(readout(angles=ANGLES, pitch_doubt=Doubt.FORESHORTENED))
    assert message.doubt is Doubt.NONE
    assert "line of view" in message.advice


def test_nan_never_reaches_the_wire():
    with pytest.raises(ValidationError):
        frame(readout(angles=Angles(bend_rad=math.nan)))


def test_a_frame_sounds_only_with_a_trusted_angle():
    assert frame(readout(error_rad=math.radians(-4.0)), sounding=True).sounding
    assert frame(readout(error_rad=math.radians(-4.0)), sounding=True).error_deg == pytest.approx(-4.0)
    doubtful = frame(readout(doubt=Doubt.SENSOR_MISSING, error_rad=0.1), sounding=True)
    assert (doubtful.sounding, doubtful.error_deg) == (False, 0.0)


def test_cue_and_phase():
    message = views.cue_message(cue(3.0, sounding=True, error_rad=math.radians(-2.0)))
    assert (message.t_s, message.sounding, message.error_deg) == (3.0, True, pytest.approx(-2.0))
    assert views.phase_message(phase(1.5, Phase.TOP)).model_dump() == {"type": "phase", "t_s": 1.5, "phase": Phase.TOP}


def rep(**changes):
    given = {
        "arrival_ns": 0, "index": 4, "address_s": 1.0, "takeaway_s": 2.0, "backswing_s": 0.8, "downswing_s": None,
        "checkpoints": {Phase.TOP: Checkpoint(t_s=2.8, angles=ANGLES)}, "verdict": Verdict.BELOW,
        "worst": math.radians(-17.0), "out_s": 0.2, "doubt": Doubt.NONE,
    }  # fmt: skip
    return Rep(**(given | changes))


def test_a_mark_tells_where_the_shaft_line_meets_the_ground():
    mark = Checkpoint(t_s=2.6, angles=ANGLES._replace(butt_line_m=0.31234), spread=Spread(butt_line_m=0.09))
    message = views.rep_message(rep(checkpoints={Phase.ARM_LEVEL: mark}), replayed=False)
    assert message.arm_level is not None
    assert (message.arm_level.butt_line_m, message.arm_level.butt_line_sd_m) == (0.312, 0.09)


def test_a_rep_has_the_marks_that_were_passed():
    message = views.rep_message(rep(), replayed=False)
    assert (message.index, message.t_s, message.worst_deg) == (4, 2.0, pytest.approx(-17.0))
    assert (message.shaft_level, message.arm_level) == (None, None)
    assert message.top is not None
    assert message.top.bend_change_deg == pytest.approx(math.degrees(ANGLES.bend_change_rad), abs=1e-3)
    assert message.top.shaft_pitch_deg == pytest.approx(math.degrees(ANGLES.shaft_pitch_rad), abs=1e-3)
    assert message.advice == ""


def test_a_rep_tells_tempo_flags_and_what_more_bow_would_have_done():
    marks = {Phase.ARM_LEVEL: Checkpoint(t_s=2.5, angles=ANGLES, pitch_per_bend=-0.625)}
    message = views.rep_message(rep(downswing_s=0.25, checkpoints=marks, flags=(RepFlag.NO_STRIKE,)), replayed=False)
    assert message.tempo == pytest.approx(3.2)
    assert message.flags == [RepFlag.NO_STRIKE]
    assert message.arm_level is not None
    assert message.arm_level.pitch_per_bend == pytest.approx(-0.625)
    SERVER_MESSAGE.validate_json(message.model_dump_json())
    bare = views.rep_message(rep(), replayed=False)
    assert bare.top is not None
    assert (bare.tempo, bare.flags, bare.top.pitch_per_bend) == (None, [], None)


def test_an_unjudged_rep_says_why():
    message = views.rep_message(rep(verdict=Verdict.UNKNOWN, worst=None, doubt=Doubt.SATURATED), replayed=False)
    assert message.worst_deg is None
    assert "faster" in message.advice


def test_fit_news():
    progress = FitProgress(
        arrival_ns=0, move=Move.NEUTRAL, state=FitState.REJECTED, reason=FitReason.MOVING, measured=14.0, limit=12.0
    )
    message = views.fit_message(progress, FitStatus(taken=(Move.STILL,), complete=False))
    assert message.fit.taken == [Move.STILL]
    assert "14.0" in message.advice
    SERVER_MESSAGE.validate_json(message.model_dump_json())


def health(**changes):
    given = {
        "sensor": SensorId("a"), "role": Role.CLUB, "name": "clip", "state": LinkState.STREAMING, "reason": LinkReason.NONE,
        "rate_hz": 199.96, "n_samples": 400, "n_lost": 1, "n_malformed": 0, "battery_pct": None,
    }  # fmt: skip
    return SensorHealth(**(given | changes))


def test_a_sensor_that_sends_needs_no_advice():
    view = views.sensor_view(health(), None)
    assert (view.rate_hz, view.advice, view.battery_pct) == (200.0, "", None)


def test_a_sensor_that_sends_nothing_is_silent_whatever_its_link_says():
    before = views.sensor_view(health(), None)
    still = views.sensor_view(health(rate_hz=0.0), before)
    assert still.reason is LinkReason.SILENT
    assert "sends nothing" in still.advice
    assert views.sensor_view(health(rate_hz=0.0), still).reason is LinkReason.SILENT
    assert views.sensor_view(health(rate_hz=0.0, n_samples=410), before).reason is LinkReason.NONE
    connecting = views.sensor_view(health(rate_hz=0.0, state=LinkState.CONNECTING), None)
    assert views.sensor_view(health(rate_hz=0.0), connecting).reason is LinkReason.NONE


def test_drill_and_player():
    drill = drill_view(default_drill())
    assert (drill.low_deg, drill.high_deg) == (-8.0, 25.0)
    who = PlayerSet(arrival_ns=0, name="Mara Voss", lead_side=Side.RIGHT, club="7-iron", arm_length_m=0.61)
    player = views.player_view(who)
    assert player is not None
    assert player.model_dump() == {
        "name": "Mara Voss", "lead_side": Side.RIGHT, "club": "7-iron", "club_length_m": None, "arm_length_m": 0.61,
    }  # fmt: skip
    assert views.player_view(None) is None
