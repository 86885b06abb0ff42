"""From device ticks to the one session clock."""
