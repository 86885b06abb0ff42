"""The two sensors of the radio tests."""

from __future__ import annotations

from sensors.virtual.air.sensor import Identity

_MADE_BY = {"manufacturer": "Lark & Sedge", "model": "Reedling 6", "firmware": "1.4.2"}

FOREARM = Identity(address="C0:00:00:00:00:0A", name="Reed A", **_MADE_BY)
CLUB = Identity(address="C0:00:00:00:00:0B", name="Reed B", **_MADE_BY)
