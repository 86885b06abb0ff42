from __future__ import annotations

import pytest

from server.joining.hosts import called_by, is_host, is_loopback, same_origin


def scope(*, client="127.0.0.1", scheme="http", **headers):
    raw = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    return {"type": "http", "scheme": scheme, "client": (client, 50_000), "headers": raw}


@pytest.mark.parametrize(
    ("headers", "same"),
    [
        ({"host": "127.0.0.1:8787"}, True),
        ({"host": "127.0.0.1:8787", "origin": "http://127.0.0.1:8787"}, True),
        ({"host": "127.0.0.1:8787", "origin": "http://127.0.0.1:8788"}, False),
        ({"host": "127.0.0.1:8787", "origin": "http://localhost:8787"}, False),
        ({"host": "127.0.0.1:8787", "origin": "https://127.0.0.1:8787"}, False),
        ({"host": "127.0.0.1:8787", "origin": "null"}, False),
        ({"host": "127.0.0.1:8787", "origin": ""}, False),
        ({"host": "192.168.1.20:8787", "origin": "http://192.168.1.20:8787"}, True),
        ({"host": "192.168.1.20:8787", "origin": "http://192.168.1.21:8787"}, False),
        ({"origin": "http://127.0.0.1:8787"}, False),
    ],
)
@pytest.mark.parametrize("scheme", ["http", "ws"])
def test_the_origin_must_be_the_service_itself(headers, same, scheme):
    assert same_origin(scope(scheme=scheme, **headers)) is same


@pytest.mark.parametrize("scheme", ["https", "wss"])
def test_over_tls_a_page_without_it_is_somebody_else(scheme):
    host = "192.168.1.20:8787"
    assert same_origin(scope(scheme=scheme, host=host, origin=f"https://{host}"))
    assert not same_origin(scope(scheme=scheme, host=host, origin=f"http://{host}"))


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("localhost:8787", "localhost"),
        ("LOCALHOST", "localhost"),
        ("[::1]:8787", "[::1]"),
        ("192.168.1.20", "192.168.1.20"),
        ("localhost@evil.example", None),
        ("localhost/evil", None),
        ("localhost:8787:1", None),
        ("localhost:x", None),
        ("", None),
    ],
)
def test_the_name_without_its_port(host, name):
    assert called_by(scope(host=host)) == name


@pytest.mark.parametrize(
    ("address", "answer"),
    [("127.0.0.1", True), ("127.9.9.9", True), ("::1", True), ("::ffff:127.0.0.1", True), ("192.168.1.5", False), ("?", False)],
)  # fmt: skip
def test_which_addresses_are_this_computer(address, answer):
    assert is_loopback(address) is answer


@pytest.mark.parametrize(
    ("given", "answer"),
    [
        ({"host": "127.0.0.1:8787"}, True),
        ({"host": "localhost:8787"}, True),
        ({"host": "127.0.0.1:8787", "client": "192.168.1.5"}, False),
        ({"host": "192.168.1.20:8787"}, False),
        ({"host": "evil.example"}, False),
        ({"host": "localhost", "x_forwarded_for": "127.0.0.1"}, False),
        ({"host": "localhost", "forwarded": "for=1.2.3.4"}, False),
        ({"host": "localhost", "via": "1.1 tunnel"}, False),
        ({"host": "localhost", "x_real_ip": ""}, False),
        ({}, False),
    ],
)
def test_only_this_very_computer_is_let_in_without_a_link(given, answer):
    assert is_host(scope(**given)) is answer


def test_a_connection_without_an_address_is_not_this_computer():
    assert not is_host(scope(host="localhost") | {"client": None})
