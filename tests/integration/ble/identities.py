"""The two sensors of the radio tests."""

from __future__ import annotations

from tests.integration.ble.virtual_sensor import Identity

FOREARM = Identity(address="C0:00:00:00:00:0A", name="Reed A")
CLUB = Identity(address="C0:00:00:00:00:0B", name="Reed B")
