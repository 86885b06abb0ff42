"""Finds or installs what the tests need beyond Python: a Chromium for the page, a D-Bus daemon for the radio, a NATS server."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

CHROMIUM_NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)
CHROMIUM_PLACES = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
    r"C:\Program Files\Microsoft\Edge\Application\msedge.exe",
)
CHROMIUM_HELP = (
    "The browser tests need Chromium, and it could not be installed here.\n"
    "  Debian, Ubuntu:  sudo apt install chromium\n"
    "  Fedora:          sudo dnf install chromium\n"
    "  macOS, Windows:  install Chrome, Chromium or Edge as usual\n"
    "or set CHROMIUM=/path/to/it, then run the same command again."
)
DBUS_HELP = (
    "The radio tests need dbus-daemon, and it could not be installed here.\n"
    "  Debian, Ubuntu:  sudo apt install dbus\n"
    "  Fedora:          sudo dnf install dbus-daemon\n"
    "Then run the same command again."
)
NATS_HELP = (
    "The tests of the bus between computers need nats-server, and it could not be installed here.\n"
    "  Debian, Ubuntu:  sudo apt install nats-server\n"
    "  macOS:           brew install nats-server\n"
    "  elsewhere:       put the program nats-server on the PATH\n"
    "Then run the same command again."
)

Runner = Callable[[list[str]], bool]
"""Runs a command, letting it show its own progress; True when it succeeded."""


class Missing(Exception):
    """Something could not be found or installed; the message says exactly what to install."""


def run(command: list[str]) -> bool:
    print("  $", " ".join(command), flush=True)
    env = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    return subprocess.run(command, env=env, check=False).returncode == 0


def find_chromium() -> str | None:
    """$CHROMIUM, else PATH, else the usual places, else Playwright's own. Raises `Missing` for a wrong $CHROMIUM."""
    chosen = os.environ.get("CHROMIUM")
    if chosen:
        if shutil.which(chosen) is None:
            raise Missing(f"CHROMIUM={chosen}: there is no such program. Correct it, or unset it.")
        return chosen
    on_path = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if on_path is not None:
        return on_path
    return next((place for place in CHROMIUM_PLACES if Path(place).is_file()), None) or _playwrights_own()


def _playwrights_own() -> str | None:
    """Asked in a process of its own: Playwright's synchronous side does not run inside an event loop."""
    code = "from playwright.sync_api import sync_playwright as s\nwith s() as p: print(p.chromium.executable_path)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    path = answer.stdout.strip()
    return path if path and Path(path).is_file() else None


def can_apt() -> bool:
    """On Debian and its kin, as root."""
    return sys.platform == "linux" and shutil.which("apt-get") is not None and os.geteuid() == 0


def apt_install(package: str, runner: Runner) -> bool:
    return runner(["apt-get", "update", "-q"]) and runner(
        ["apt-get", "install", "-y", "-q", "--no-install-recommends", package]
    )


def provide_chromium(
    runner: Runner = run, find: Callable[[], str | None] = find_chromium, *, apt: Callable[[], bool] = can_apt
) -> str:
    """Give Chromium's path, installing it if need be. Raises `Missing`."""
    found = find()
    if found is None and apt():
        print("No Chromium here: installing it with apt-get…", flush=True)
        found = find() if apt_install("chromium", runner) else None
    if found is None:
        print("No Chromium here: fetching Playwright's own…", flush=True)
        with_deps = ["--with-deps"] if apt() else []
        found = find() if runner([sys.executable, "-m", "playwright", "install", *with_deps, "chromium"]) else None
    if found is None:
        raise Missing(CHROMIUM_HELP)
    return found


def provide_dbus_daemon(runner: Runner = run, *, apt: Callable[[], bool] = can_apt) -> str | None:
    """Give dbus-daemon's path, installing it if need be; None where no test needs it. Raises `Missing`."""
    if sys.platform != "linux":
        return None
    found = shutil.which("dbus-daemon")
    if found is None and apt():
        print("No dbus-daemon here: installing it with apt-get…", flush=True)
        found = shutil.which("dbus-daemon") if apt_install("dbus", runner) else None
    if found is None:
        raise Missing(DBUS_HELP)
    return found


def provide_certutil(runner: Runner = run, *, apt: Callable[[], bool] = can_apt) -> None:
    """Install what tells a Chromium of a test's own whom to trust, where that is easy; its test is skipped elsewhere."""
    if shutil.which("certutil") is None and apt():
        print("No certutil here: installing it with apt-get…", flush=True)
        apt_install("libnss3-tools", runner)


def find_nats_server() -> str | None:
    """Give its path; Debian puts it where only root's PATH looks."""
    places = os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin", "/usr/local/sbin"])
    return shutil.which("nats-server", path=places)


def provide_nats_server(
    runner: Runner = run, find: Callable[[], str | None] = find_nats_server, *, apt: Callable[[], bool] = can_apt
) -> str:
    """Give nats-server's path, installing it if need be. Raises `Missing`."""
    found = find()
    if found is None and apt():
        print("No nats-server here: installing it with apt-get…", flush=True)
        found = find() if apt_install("nats-server", runner) else None
    if found is None:
        raise Missing(NATS_HELP)
    return found
