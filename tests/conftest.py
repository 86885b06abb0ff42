"""Settings of the whole suite."""

from __future__ import annotations

from hypothesis import settings

# The same examples at each run, however long each takes: whether a commit passes must not hang on luck, nor on what else the
# machine does. New ones: `--hypothesis-profile=default`.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
