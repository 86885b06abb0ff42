"""The drill this program starts with. Targets are a coach's choice and no norm."""

from __future__ import annotations

import math

from fusion.drills.drill import Drill, Quantity
from fusion.outputs import Phase


def default_drill() -> Drill:
    """Keep the lead wrist from cupping on the way back."""
    return Drill(
        name="Quiet wrist going back",
        feel=(
            "Turn your chest and let the lead forearm roll; "
            "feel the knuckles of your lead hand face the ground a little sooner."
        ),
        quantity=Quantity.BEND_CHANGE,
        phases=(Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL),
        low_rad=math.radians(-8.0),
        high_rad=math.radians(25.0),
        hysteresis_rad=math.radians(1.5),
    )
