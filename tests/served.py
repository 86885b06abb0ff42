"""In place of the service: keeps what a command hands to it."""

from __future__ import annotations


class Served:
    def __init__(self):
        self.calls = []

    def __call__(self, make_source, **options):
        self.calls.append((make_source, options))
