"""`pitchbend board` and `--bus`: what they hand to the service, and what they refuse before it starts."""

from __future__ import annotations

import importlib.util

import pytest
from typer.testing import CliRunner

from server.cli import main
from server.cli.failures import CommandFailed
from server.joining.wishes import JoinWishes
from tests.integration.bus.nats_server import free_port
from tests.served import Served


def run(*words):
    return CliRunner().invoke(main.app, [str(word) for word in words], catch_exceptions=False)


def test_a_board_is_handed_the_bus_and_a_practice_too(monkeypatch):
    given, served = [], Served()
    monkeypatch.setattr("server.cli.serving.serve_board", lambda bus, **options: given.append((bus, options)))
    monkeypatch.setattr("server.cli.serving.serve", served)
    port = free_port()
    assert run("board", "--bus", "nats://coach:pw@10.0.0.2", "--port", port, "--no-browser").stderr == ""
    ((bus, options),) = given
    assert (bus.shown, bus.url) == ("nats://10.0.0.2:4222", "nats://coach:pw@10.0.0.2:4222")
    assert options == {"port": port, "open_browser": False, "joining": JoinWishes()}
    assert "without a password" in run("demo", "--bus", "nats://10.0.0.2", "--port", port).stderr
    assert served.calls[0][1]["bus"].shown == "nats://10.0.0.2:4222"
    run("demo", "--port", port)
    assert served.calls[1][1]["bus"] is None
    monkeypatch.setenv("PITCHBEND_BUS", "nats://t0ken@10.0.0.3")
    run("board", "--port", port)
    assert given[1][0].url == "nats://t0ken@10.0.0.3:4222"


def test_what_cannot_be_a_bus_is_said_before_anything_starts(monkeypatch):
    for words, said in ((("board",), "Name the bus"), (("demo", "--bus", "http://10.0.0.2"), "nats:// or tls://")):
        with pytest.raises(CommandFailed, match=said):
            run(*words, "--port", free_port())
    found = importlib.util.find_spec
    monkeypatch.setattr("importlib.util.find_spec", lambda name, *rest: None if name == "nats" else found(name, *rest))
    with pytest.raises(CommandFailed, match=r"pitchbend\[board\]"):
        run("board", "--bus", "nats://a:b@10.0.0.2", "--port", free_port())
