"""The calibration of one sensor from gravity alone; `docs/sensor-calibration.md` explains it."""
