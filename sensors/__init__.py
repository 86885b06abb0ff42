"""From a radio notification to calibrated-unit samples on one clock. Imports neither `fusion` nor `server`."""
