"""Plausible messages with invented people, for a test to change what it is about."""

from __future__ import annotations

from typing import Any

from fusion.drills.course import CueShare
from fusion.drills.quantity import Quantity, Unit
from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import Verdict
from sensors.events import LinkReason, LinkState
from sensors.ids import WORN, Move, Role, Side
from server.choosing.sentences import next_instruction
from server.health_advice import HealthTrouble
from server.wire import (
    PROTOCOL_VERSION,
    BlockView,
    CourseView,
    DrillChoice,
    DrillView,
    FrameMessage,
    HelloMessage,
    MarkView,
    PlayerView,
    RepMessage,
    SensorView,
    SourceView,
)
from server.wire_choosing import CandidateView, ChoosingView
from server.wire_fit import FitView
from server.wire_health import AdviceView, ClockView, DropView, HealthView, JitterView, LossView, StretchView, TapeView


def drill(**changes: Any) -> DrillView:
    return DrillView(
        name="Flat wrist going back",
        feel="Feel the knuckles of your lead hand turn down to the ball as you start back.",
        quantity=Quantity.BEND_CHANGE,
        phases=[Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP],
        low_deg=-8.0,
        high_deg=14.0,
        unit=Unit.DEG,
        low=-8.0,
        high=14.0,
    ).model_copy(update=_both_ways(changes))


def _both_ways(changes: dict[str, Any]) -> dict[str, Any]:
    """A band given in degrees is the band in the drill's unit, too."""
    same = {"low_deg": "low", "high_deg": "high", "worst_deg": "worst"}
    return {same[key]: value for key, value in changes.items() if key in same} | changes


def course(*, block: int | None = 0, swung: int = 3) -> CourseView:
    """Four blocks, the ones before `block` done."""
    shares = (CueShare.EVERY, CueShare.HALF, CueShare.QUARTER, CueShare.NONE)
    reached = len(shares) if block is None else block
    blocks = [
        BlockView(
            reps=10,
            cue=share,
            swung=10 if i < reached else swung if i == reached else 0,
            judged=9 if i < reached else swung if i == reached else 0,
            in_band=4 + i if i < reached else 1 if i == reached and swung else 0,
        )
        for i, share in enumerate(shares)
    ]
    testing = block is not None and shares[block] is CueShare.NONE
    return CourseView(blocks=blocks, block=block, cued=block is not None and not testing, testing=testing)


def choices() -> list[DrillChoice]:
    return [
        DrillChoice(id="a", name="Flat wrist going back", aim="The lead wrist does not cup on the way back."),
        DrillChoice(id="b", name="Lay the shaft down", aim="From lead arm level to the top the shaft is not steep."),
    ]


def frame(**changes: Any) -> FrameMessage:
    """At address, inside the band."""
    return FrameMessage(
        seq=0,
        t_s=0.0,
        phase=Phase.ADDRESS,
        bend_change_deg=0.0,
        bend_deg=-12.0,
        hinge_change_deg=0.0,
        roll_change_deg=0.0,
        shaft_elevation_deg=-57.0,
        shaft_pitch_deg=57.0,
        arm_elevation_deg=-62.0,
        face_twist_deg=0.0,
        doubt=Doubt.NONE,
        pitch_doubt=Doubt.NONE,
        advice="",
        sounding=False,
        error_deg=0.0,
        since_rest_s=0.2,
        bend_change_sd_deg=0.4,
        shaft_pitch_sd_deg=1.0,
    ).model_copy(update=changes)


ARM_LEVEL = {
    "phase": Phase.ARM_LEVEL,
    "shaft_elevation_deg": 52.0,
    "arm_elevation_deg": 0.0,
    "face_twist_deg": -31.0,
    "since_rest_s": 0.9,
    "bend_change_sd_deg": 1.2,
    "shaft_pitch_sd_deg": 2.0,
}
"""Changes that put a frame at lead arm level."""
CUPPED = {**ARM_LEVEL, "bend_change_deg": -17.0, "shaft_pitch_deg": 66.0, "sounding": True, "error_deg": -9.0}
BOWED = {**ARM_LEVEL, "bend_change_deg": 26.0, "shaft_pitch_deg": 47.0, "sounding": True, "error_deg": 12.0}
INSIDE = {**ARM_LEVEL, "bend_change_deg": 3.0, "shaft_pitch_deg": 58.0, "sounding": False, "error_deg": 0.0}


def mark(bend_deg: float | None, pitch_deg: float | None, twist_deg: float | None = -20.0) -> MarkView:
    return MarkView(
        bend_change_deg=bend_deg, hinge_change_deg=-18.0, shaft_pitch_deg=pitch_deg, face_twist_deg=twist_deg
    )


def rep(index: int, **changes: Any) -> RepMessage:
    """Cupped at lead arm level."""
    return RepMessage(
        index=index,
        t_s=10.0 * index,
        verdict=Verdict.BELOW,
        worst_deg=-17.0,
        out_s=0.21,
        backswing_s=0.84,
        downswing_s=0.27,
        shaft_level=mark(-7.0, None),
        arm_level=mark(-17.0, 66.0, -31.0).model_copy(
            update={"pitch_per_bend": -0.62, "butt_line_m": 0.31, "butt_line_sd_m": 0.092}
        ),
        top=mark(-12.0, 41.0, -58.0),
        doubt=Doubt.NONE,
        advice="",
        tempo=3.111,
        worst=-17.0,
    ).model_copy(update=_both_ways(changes))


def good_rep(index: int) -> RepMessage:
    return rep(index, verdict=Verdict.IN_BAND, worst_deg=4.0, out_s=0.0, arm_level=mark(4.0, 58.0, -24.0))


def bowed_rep(index: int) -> RepMessage:
    return rep(index, verdict=Verdict.ABOVE, worst_deg=26.0, arm_level=mark(26.0, 47.0), top=mark(21.0, 38.0))


def unjudged_rep(index: int) -> RepMessage:
    return rep(
        index,
        verdict=Verdict.UNKNOWN,
        worst_deg=None,
        doubt=Doubt.GAP,
        arm_level=None,
        top=None,
        advice="Samples were lost in the swing; keep the phone or computer within a few metres.",
    )


def health(**changes: Any) -> HealthView:
    """All is well."""
    return HealthView(
        nominal_rate_hz=200.0,
        device_rate_hz=199.2,
        recent=LossView(n_samples=1990, n_lost=10, n_packets=199, n_packets_lost=1, lost_pct=0.5),
        overall=LossView(n_samples=24_000, n_lost=70, n_packets=2400, n_packets_lost=7, lost_pct=0.291),
        n_duplicates=0,
        n_restarts=0,
        saturated_s=0.2,
        jitter=JitterView(p50_ms=14.0, p95_ms=31.0, p99_ms=48.0),
        clock=ClockView(offset_s=-3.2, drift_ppm=-17.0, spread_ms=1.1, span_s=118.0, age_s=0.1),
        battery_pct_per_hour=-6.0,
        battery_hours_left=14.0,
        rssi_dbm=-61,
        rssi_age_s=125.0,
        n_drops=1,
        drops=[DropView(at_s=61.4, reason=LinkReason.DROPPED, back_s=63.0)],
        worst=[StretchView(start_s=61.3, end_s=63.1, n_lost=340, longest_wait_s=1.72)],
        advice=[],
    ).model_copy(update=changes)


def bad_health() -> HealthView:
    """Far away, empty, and nothing known of the signal."""
    return health(
        recent=LossView(n_samples=1500, n_lost=500, n_packets=150, n_packets_lost=50, lost_pct=25.0),
        jitter=JitterView(p50_ms=40.0, p95_ms=180.0, p99_ms=420.0),
        rssi_dbm=None,
        rssi_age_s=None,
        battery_pct_per_hour=None,
        battery_hours_left=None,
        drops=[DropView(at_s=61.4, reason=LinkReason.DROPPED, back_s=None)],
        advice=[
            AdviceView(
                trouble=HealthTrouble.LOSS,
                text=(
                    "25.0 % of the samples are lost. Bring the computer or phone nearer, within a few metres and in sight; "
                    "a body, a bag or metal between them weakens the radio. Switch off other Bluetooth devices near by."
                ),
            ),
            AdviceView(trouble=HealthTrouble.LATE, text="Packets come up to 180 ms late, and the sound with them."),
            AdviceView(
                trouble=HealthTrouble.BATTERY, text="The battery is at 9 %. Charge it before the next practice."
            ),
        ],
    )


def tape(**changes: Any) -> TapeView:
    return TapeView(
        path="/home/mara/Documents/Pitchbend/2026-05-03/2026-05-03_17-04-09_mara-voss.mcap",
        n_files=1,
        size_mb=4.13,
        held_s=0.4,
        n_missed=0,
        minutes_left=5400.0,
    ).model_copy(update=changes)


def sensor(role: Role, **changes: Any) -> SensorView:
    return SensorView(
        sensor=f"virtual-{role}",
        role=role,
        name=f"PB {role}",
        state=LinkState.STREAMING,
        reason=LinkReason.NONE,
        advice="",
        rate_hz=200.0,
        n_samples=24_000,
        n_lost=71,
        n_malformed=0,
        battery_pct=84,
        health=health(),
    ).model_copy(update=changes)


def candidate(letter: str, **changes: Any) -> CandidateView:
    """A sensor in reach that lies on the table."""
    return CandidateView(
        sensor=f"C0:00:00:00:00:0{letter}",
        name=f"Reed {letter}",
        role=Role.SPARE,
        state=LinkState.STREAMING,
        reason=LinkReason.NONE,
        advice="",
        activity=0.04,
        moving=False,
        battery_pct=84,
    ).model_copy(update=changes)


def choosing(*sensors: CandidateView, **changes: Any) -> ChoosingView:
    placed = {sensor.role for sensor in sensors}
    wanted = next((role for role in (Role.FOREARM, Role.CLUB) if role not in placed), None)
    return ChoosingView(
        open=True,
        wanted=wanted,
        instruction=next_instruction(wanted, n_heard=len(sensors), trouble=LinkReason.NONE),
        trouble=LinkReason.NONE,
        complete=wanted is None,
        places=list(WORN),
        sensors=list(sensors),
    ).model_copy(update=changes)


def reps() -> list[RepMessage]:
    """Twelve of all kinds, the last one cupped."""
    kinds = [rep, rep, bowed_rep, good_rep, rep, unjudged_rep, good_rep, rep, good_rep, good_rep, good_rep, rep]
    return [make(i + 1) for i, make in enumerate(kinds)]


def hello(**changes: Any) -> HelloMessage:
    return HelloMessage(
        protocol=PROTOCOL_VERSION,
        version="0.1.0",
        source=SourceView(kind="demo", name="Practice at Larkfield range", speed=1.0),
        player=PlayerView(name="Mara Voss", lead_side=Side.LEFT, club="7-iron"),
        drill=drill(),
        fit=FitView(complete=True, taken=list(Move)),
        sensors=[sensor(Role.FOREARM), sensor(Role.CLUB, battery_pct=61, n_lost=0)],
        frame=None,
        reps=[],
        recording=None,
    ).model_copy(update=changes)
