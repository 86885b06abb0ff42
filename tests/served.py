"""In place of the service: keeps what a command hands to it."""

from __future__ import annotations

from dataclasses import fields


class Served:
    """`calls` has, for each practice, its source and all that was chosen for it and for the service."""

    def __init__(self):
        self.calls = []

    def __call__(self, specs, **options):
        for spec in specs:
            chosen = {field.name: getattr(spec, field.name) for field in fields(spec)}
            self.calls.append((chosen.pop("make_source"), chosen | options))
