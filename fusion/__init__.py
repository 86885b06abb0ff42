"""From samples to wrist bend, shaft pitch, swing phases and cues. Pure: no clock, no I/O, no logging."""
