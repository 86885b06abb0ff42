"""Drills: what is watched, in which band, and when the cue sounds."""
