"""A D-Bus daemon of our own, which bleak and the fake BlueZ take for the system's. Nobody else is on it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

_VARIABLE = "DBUS_SYSTEM_BUS_ADDRESS"
_CONFIG = """\
<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>system</type>
  <listen>unix:path={socket}</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
    {deny}
  </policy>
</busconfig>
"""


@contextmanager
def system_bus_at(address: str) -> Iterator[str]:
    """Point programs of this process at a bus, and back afterwards."""
    before = os.environ.get(_VARIABLE)
    os.environ[_VARIABLE] = address
    try:
        yield address
    finally:
        if before is None:
            del os.environ[_VARIABLE]
        else:
            os.environ[_VARIABLE] = before


@contextmanager
def private_bus(folder: Path, *, deny_bluetooth: bool = False) -> Iterator[str]:
    """Run a daemon and make it the system bus; `deny_bluetooth` forbids everyone to talk to BlueZ. Gives the address."""
    daemon_path = shutil.which("dbus-daemon")
    if daemon_path is None:
        pytest.fail("dbus-daemon is missing: install it (Debian, Ubuntu: `apt install dbus`; Fedora: `dbus-daemon`)")
    socket = folder / "bus"
    config = folder / "bus.conf"
    deny = '<deny send_destination="org.bluez"/>' if deny_bluetooth else ""
    config.write_text(_CONFIG.format(socket=socket, deny=deny), encoding="utf-8")
    daemon = subprocess.Popen(
        [daemon_path, f"--config-file={config}", "--nofork", "--nopidfile", "--print-address=1"],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert daemon.stdout is not None
    try:
        (folder / "bus.pid").write_text(str(daemon.pid))
        if not daemon.stdout.readline():  # printed once it listens
            pytest.fail(f"dbus-daemon did not start: exit code {daemon.wait(5)}")
        with system_bus_at(f"unix:path={socket}") as address:
            yield address
    finally:
        daemon.terminate()
        daemon.wait(5)
        daemon.stdout.close()
