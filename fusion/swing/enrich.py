"""What a rep's marks say beside their angles: uncertainty, the coach's sensitivities, and the toe at a level shaft."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState, sensitivity, toe
from fusion.measure import Instant
from fusion.outputs.instant import NO_SPREAD, Phase
from fusion.outputs.rep import Rep
from fusion.spread import Known, trusted
from fusion.swing.misdated import with_date
from fusion.swing.refine import rates_at

_NOTHING = Known(0.0, NO_SPREAD, 0.0)


def enriched(
    rep: Rep,
    instants: Sequence[Instant],
    known: Sequence[Known],
    at_address: ClubState,
    fit: BodyFit,
) -> Rep:
    """Complete a rep's marks. `instants` and what is `known` of some of them are those of its swing, in order."""
    marks = {}
    for phase, mark in rep.checkpoints.items():
        instant = min(instants, key=lambda i: abs(i.t_s - mark.t_s))
        near = min(known, key=lambda one: abs(one.t_s - mark.t_s), default=_NOTHING)
        by_bend, by_roll = sensitivity(instant.state, fit)
        marks[phase] = replace(
            mark,
            angles=trusted(mark.angles, near.spread),
            spread=with_date(phase, near.spread, near.arm_sd_rad, rates_at(instants, mark.t_s)),
            pitch_per_bend=by_bend,
            pitch_per_roll=by_roll,
            toe_rad=toe(instant.state, at_address, fit) if phase is Phase.SHAFT_LEVEL else None,
        )
    return replace(rep, checkpoints=marks)
