"""From the values inside (radians, enums) to wire messages (degrees, advice). Pure functions."""

from __future__ import annotations

import math
from typing import Final

from fusion.calibration.session import FitStatus
from fusion.calibration.standing import Standing
from fusion.drills.quantity import Unit
from fusion.outputs.cue import CueChange, Signal
from fusion.outputs.fit import FitProgress, FitReport
from fusion.outputs.instant import Doubt, Phase, Readout
from fusion.outputs.rep import Checkpoint, PhaseChange, Rep
from sensors.events import LinkReason, LinkState, PlayerSet
from sensors.health import SensorHealth
from sensors.ids import Role
from server.advice import doubt_advice, link_advice, rep_advice
from server.battery_advice import battery_advice
from server.drill_views import judged_view, shown
from server.fit_advice import fit_advice
from server.health_views import health_view
from server.mounting_advice import mounting_advice
from server.wire import (
    CueMessage,
    FrameMessage,
    MarkView,
    PhaseMessage,
    PlayerView,
    RepMessage,
    SensorView,
    StandingView,
)
from server.wire_drills import SignalMessage
from server.wire_fit import ConstantView, FitMessage, FitView

_DIGITS: Final = 3
"""Thousandths of a degree: far below what a sensor can tell, and shorter on the wire."""


def deg(angle_rad: float) -> float:
    """Radians to wire degrees."""
    return round(math.degrees(angle_rad), _DIGITS)


def deg_or_none(angle_rad: float | None) -> float | None:
    """Radians to wire degrees; absent stays absent."""
    return None if angle_rad is None else deg(angle_rad)


def frame_message(
    readout: Readout, *, seq: int, sounding: bool, replayed: bool, standing: Standing | None = None
) -> FrameMessage:
    """Show one instant. `sounding` is what the last cue said; without a trusted angle it is silent all the same."""
    angles, spread = readout.angles, readout.spread
    doubt = readout.doubt
    return FrameMessage(
        seq=seq,
        t_s=readout.t_s,
        phase=readout.phase,
        bend_change_deg=deg_or_none(angles.bend_change_rad),
        bend_deg=deg_or_none(angles.bend_rad),
        hinge_change_deg=deg_or_none(angles.hinge_change_rad),
        roll_change_deg=deg_or_none(angles.roll_change_rad),
        shaft_elevation_deg=deg_or_none(angles.shaft_elevation_rad),
        shaft_pitch_deg=deg_or_none(angles.shaft_pitch_rad),
        arm_elevation_deg=deg_or_none(angles.arm_elevation_rad),
        face_twist_deg=deg_or_none(angles.face_twist_rad),
        doubt=doubt,
        pitch_doubt=readout.pitch_doubt,
        advice=doubt_advice(readout.pitch_doubt if doubt is Doubt.NONE else doubt, replayed=replayed),
        sounding=sounding and doubt is Doubt.NONE,
        error_deg=deg(readout.error_rad) if doubt is Doubt.NONE else 0.0,
        cue_error_deg=deg(readout.cue_error_rad) if doubt is Doubt.NONE else 0.0,
        since_rest_s=readout.since_rest_s,
        bend_change_sd_deg=_sd_deg(spread.bend_change_rad, angles.bend_change_rad),
        shaft_pitch_sd_deg=_sd_deg(spread.shaft_pitch_rad, angles.shaft_pitch_rad),
        standing=None if standing is None else _standing_view(standing),
    )


def _standing_view(standing: Standing) -> StandingView:
    return StandingView(
        forearm_still_s=round(standing.still_s[Role.FOREARM], 2),
        club_still_s=round(standing.still_s[Role.CLUB], 2),
        lies=standing.lies,
        arm_deg=deg_or_none(standing.arm_rad),
        shaft_deg=deg_or_none(standing.shaft_rad),
    )


def _sd_deg(sd_rad: float | None, angle_rad: float | None) -> float | None:
    """What is absent has no spread."""
    return None if angle_rad is None else deg_or_none(sd_rad)


def signal_message(signal: Signal) -> SignalMessage:
    """Give a short sound."""
    return SignalMessage(t_s=signal.t_s, kind=signal.kind)


def phase_message(change: PhaseChange) -> PhaseMessage:
    """Announce a phase."""
    return PhaseMessage(t_s=change.t_s, phase=change.phase)


def cue_message(change: CueChange) -> CueMessage:
    """Start or stop the cue."""
    return CueMessage(t_s=change.t_s, sounding=change.sounding, error_deg=deg(change.error_rad))


def rep_message(rep: Rep, *, replayed: bool) -> RepMessage:
    """Tell how a swing went; its `t_s` is the takeaway's."""
    return RepMessage(
        index=rep.index,
        t_s=rep.takeaway_s,
        verdict=rep.verdict,
        worst_deg=deg_or_none(rep.worst) if rep.quantity.unit is Unit.DEG else None,
        out_s=rep.out_s,
        backswing_s=rep.backswing_s,
        downswing_s=rep.downswing_s,
        shaft_level=_mark(rep.checkpoints.get(Phase.SHAFT_LEVEL)),
        arm_level=_mark(rep.checkpoints.get(Phase.ARM_LEVEL)),
        top=_mark(rep.checkpoints.get(Phase.TOP)),
        doubt=rep.doubt,
        advice=rep_advice(rep.verdict, rep.doubt, replayed=replayed),
        tempo=_rounded(rep.tempo),
        flags=list(rep.flags),
        cued=rep.cued,
        testing=rep.testing,
        paused=rep.paused,
        drill=rep.drill,
        quantity=rep.quantity,
        worst=shown(rep.quantity, rep.worst),
        second=judged_view(rep.second) if rep.second is not None else None,
        arm_length_deg=deg_or_none(rep.arm_length_rad),
        shaft_length_deg=deg_or_none(rep.shaft_length_rad),
    )


def _rounded(number: float | None) -> float | None:
    return None if number is None else round(number, _DIGITS)


def _mark(checkpoint: Checkpoint | None) -> MarkView | None:
    if checkpoint is None:
        return None
    angles = checkpoint.angles
    return MarkView(
        bend_change_deg=deg_or_none(angles.bend_change_rad),
        hinge_change_deg=deg_or_none(angles.hinge_change_rad),
        shaft_pitch_deg=deg_or_none(angles.shaft_pitch_rad),
        face_twist_deg=deg_or_none(angles.face_twist_rad),
        pitch_per_bend=_rounded(checkpoint.pitch_per_bend),
        bend_deg=deg_or_none(angles.bend_rad),
        roll_change_deg=deg_or_none(angles.roll_change_rad),
        butt_line_m=_rounded(angles.butt_line_m),
        butt_line_sd_m=None if angles.butt_line_m is None else _rounded(checkpoint.spread.butt_line_m),
    )


def fit_message(progress: FitProgress, status: FitStatus) -> FitMessage:
    """Tell how a fit move goes, and where that leaves the fit."""
    return FitMessage(
        move=progress.move,
        state=progress.state,
        reason=progress.reason,
        measured=progress.measured,
        limit=progress.limit,
        advice=fit_advice(progress, status),
        fit=fit_view(status, progress.report),
    )


def fit_view(status: FitStatus, report: FitReport | None = None) -> FitView:
    """Say which moves are in, and how good the fit is."""
    view = FitView(complete=status.complete, taken=list(status.taken), known=status.known, due=list(status.due))
    if report is None:
        return view
    constants = [ConstantView(constant=name, sd_deg=deg(sd_rad)) for name, sd_rad in report.sd_rad.items()]
    notes = [mounting_advice(mounting) for mounting in report.mountings]
    return view.model_copy(update={"constants": constants, "notes": [note for note in notes if note]})


def sensor_view(health: SensorHealth, before: SensorView | None, trim_due: str = "") -> SensorView:
    """Tell how one sensor fares. One that streams and has sent nothing since `before` is silent, whatever its link says."""
    silent = health.reason is LinkReason.NONE and health.rate_hz == 0.0 and _unchanged(health, before)
    reason, advice = link_view(health, silent=silent)
    return SensorView(
        sensor=health.sensor,
        role=health.role,
        name=health.name,
        state=health.state,
        reason=reason,
        advice=advice,
        rate_hz=round(health.rate_hz, 1),
        n_samples=health.n_samples,
        n_lost=health.n_lost,
        n_malformed=health.n_malformed,
        battery_pct=health.battery_pct,
        battery=health.battery,
        # One that has gone for want of charge is not about to.
        battery_advice="" if reason is LinkReason.BATTERY_EMPTY else battery_advice(health.battery, health.battery_pct),
        trim_due=trim_due,
        health=health_view(health),
    )


def link_view(health: SensorHealth, *, silent: bool = False) -> tuple[LinkReason, str]:
    """Give the reason of a link's state as it is to be told, and what to do."""
    reason = LinkReason.SILENT if silent else health.reason
    return reason, link_advice(health.state, reason)


def _unchanged(health: SensorHealth, before: SensorView | None) -> bool:
    streaming = health.state is LinkState.STREAMING
    return streaming and before is not None and (before.state, before.n_samples) == (health.state, health.n_samples)


def player_view(player: PlayerSet | None) -> PlayerView | None:
    """Show who swings."""
    if player is None:
        return None
    return PlayerView(
        name=player.name,
        lead_side=player.lead_side,
        club=player.club,
        club_length_m=player.club_length_m or None,
        arm_length_m=player.arm_length_m or None,
    )
