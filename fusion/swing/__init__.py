"""Phases of the swing and reps."""
