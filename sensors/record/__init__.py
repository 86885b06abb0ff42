"""Recordings: MCAP files of everything a source emitted."""
