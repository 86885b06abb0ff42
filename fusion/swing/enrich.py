"""What a rep's marks say beside their angles: uncertainty, the coach's sensitivities, and the toe at a level shaft."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState, sensitivity, toe
from fusion.measure import Instant
from fusion.outputs.instant import NO_SPREAD, Phase, Spread
from fusion.outputs.rep import Rep
from fusion.spread import trusted


def enriched(
    rep: Rep,
    instants: Sequence[Instant],
    spreads: Sequence[tuple[float, Spread]],
    at_address: ClubState,
    fit: BodyFit,
) -> Rep:
    """Complete a rep's marks. `instants` and `spreads` (with their times) are those of its swing, in order."""
    marks = {}
    for phase, mark in rep.checkpoints.items():
        instant = min(instants, key=lambda i: abs(i.t_s - mark.t_s))
        spread = min(spreads, key=lambda s: abs(s[0] - mark.t_s))[1] if spreads else NO_SPREAD
        by_bend, by_roll = sensitivity(instant.state, fit)
        marks[phase] = replace(
            mark,
            angles=trusted(mark.angles, spread),
            spread=spread,
            pitch_per_bend=by_bend,
            pitch_per_roll=by_roll,
            toe_rad=toe(instant.state, at_address, fit) if phase is Phase.SHAFT_LEVEL else None,
        )
    return replace(rep, checkpoints=marks)
