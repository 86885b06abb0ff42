"""What to tell a person about a sensor's battery."""

from __future__ import annotations

from typing import assert_never

from sensors.battery import BatteryState


def battery_advice(state: BatteryState, battery_pct: int | None) -> str:
    """Say what a battery's level means for the practice; "" when it means nothing."""
    match state:
        case BatteryState.GOOD | BatteryState.UNKNOWN:
            return ""
        case BatteryState.LOW:
            return f"Its battery is low ({battery_pct} %). It should last for now; charge or change it after this practice."
        case BatteryState.NEARLY_EMPTY:
            return (
                f"Its battery is nearly empty ({battery_pct} %) and it may stop at any moment. Charge or change it now."
            )
        case _:
            assert_never(state)
