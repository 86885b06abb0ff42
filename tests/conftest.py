"""Settings of the whole suite."""

from __future__ import annotations

from hypothesis import settings

# The same examples at each run: whether a commit passes must not hang on luck. New ones: `--hypothesis-profile=default`.
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")
