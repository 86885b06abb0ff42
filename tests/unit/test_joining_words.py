from __future__ import annotations

import ipaddress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import zxingcpp

from server.joining import addresses
from server.joining.addresses import LanAddress, is_public, lan_addresses
from server.joining.book import GuestBook, Place
from server.joining.device import device_name
from server.joining.opened import Joining
from server.joining.qr import qr_blocks, qr_view
from server.joining.words import CAUTION, NO_NETWORK, NOTHING_COVERED, invitation, renewed, trust_lines

URL = "http://192.168.1.20:8787/join/abcdefghijKLMNOPQR_-1234"


def read(squares: np.ndarray) -> str:
    """Decode with ZXing, which shares no code with the library that draws."""
    image = np.kron(np.where(squares, 0, 255).astype(np.uint8), np.ones((6, 6), np.uint8))
    (found,) = zxingcpp.read_barcodes(image)
    return found.text


def test_an_independent_reader_reads_the_picture_on_the_page():
    view = qr_view(URL)
    squares = np.zeros((view.size, view.size), bool)
    for one in view.path.split("M")[1:]:
        x, y = map(int, one.removesuffix("h1v1h-1z").split())
        squares[y, x] = True
    assert not squares[:4].any()
    assert not squares[:, -4:].any()
    assert read(squares) == URL


def test_an_independent_reader_reads_the_picture_in_the_terminal():
    rows = qr_blocks(URL).splitlines()
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    halves = [[light[sign][half] for sign in row] for row in rows for half in (0, 1)]
    assert read(~np.array(halves, bool)) == URL


# As browsers send them; from memory.
@pytest.mark.parametrize(
    ("user_agent", "name"),
    [
        (
            (
                "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
                "Version/18.5 Mobile/15E148 Safari/604.1"
            ),
            "iPhone, Safari",
        ),
        (
            "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36",
            "Android phone, Chrome",
        ),
        (
            "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36",
            "Android tablet, Chrome",
        ),
        (
            (
                "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 "
                "Safari/537.36 Edg/140.0.0.0"
            ),
            "Windows computer, Edge",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Linux computer, Firefox"),
        ("curl/8.5.0", ""),
        ("", ""),
        ("<script>alert(1)</script>", ""),
    ],
)
def test_a_device_in_plain_words(user_agent, name):
    assert device_name(user_agent) == name


def test_the_addresses_are_this_machines_own_and_loopback_is_none():
    for one in lan_addresses():
        assert not ipaddress.ip_address(one.address).is_loopback


class Ip:
    def __init__(self, ip):
        self.ip, self.nice_name = ip, f"adapter of {ip}"
        self.is_IPv4 = isinstance(ip, str)


class Adapter:
    def __init__(self, *ips):
        self.ips = [Ip(ip) for ip in ips]


def test_the_address_on_the_way_out_comes_first_and_makeshift_ones_last(monkeypatch):
    there = [Adapter("127.0.0.1", ("::1", 0, 0)), Adapter("169.254.7.7"), Adapter("10.0.0.4"), Adapter("192.168.1.20")]
    monkeypatch.setattr(addresses.ifaddr, "get_adapters", lambda: there)
    monkeypatch.setattr(addresses, "_on_the_way_out", lambda: "192.168.1.20")
    assert [one.address for one in lan_addresses()] == ["192.168.1.20", "10.0.0.4", "169.254.7.7"]
    monkeypatch.setattr(addresses, "_on_the_way_out", lambda: None)
    assert [one.address for one in lan_addresses()] == ["10.0.0.4", "192.168.1.20", "169.254.7.7"]
    monkeypatch.setattr(addresses, "_on_the_way_out", lambda: "172.20.10.2")
    assert lan_addresses()[0] == LanAddress(address="172.20.10.2", adapter="")


def test_the_terminal_names_every_link_once_and_the_students_last():
    joining = Joining(book=GuestBook([Place(id="l", name="Left"), Place(id="r", name="Right")]), port=8787)
    here = [LanAddress(address=address, adapter="") for address in ("192.168.1.20", "10.0.0.4")]
    lines = [line for line, _ in invitation(joining.book.links, here, joining.url, pictures=False)]
    told = "\n".join(lines)
    urls = [f"http://192.168.1.20:8787/join/{link.token}" for link in joining.book.links]
    assert [told.count(url) for url in urls] == [1, 1, 1, 1]
    assert told.index(urls[2]) < told.index(urls[1]) < told.index(urls[0])
    assert "To practise (student), Left: " in told
    assert "10.0.0.4" in told
    assert lines[-1] == CAUTION
    assert "internet" not in told
    drawn = invitation(joining.book.links, here, joining.url, pictures=True)
    assert sum(is_picture for _, is_picture in drawn) == 4
    (line,) = renewed(joining.book.links[:1], here, joining.url)
    assert line == f"New link. To practise (student), Left: {urls[0]}"


def test_the_terminal_says_when_there_is_no_network_and_when_it_is_the_internet():
    joining = Joining(book=GuestBook(), port=1)
    assert invitation(joining.book.links, [], joining.url, pictures=True) == [(NO_NETWORK, False)]
    public = [LanAddress(address="8.8.8.8", adapter="")]
    told = [line for line, _ in invitation(joining.book.links, public, joining.url, pictures=False)]
    assert any("anybody on the internet" in line for line in told)
    assert is_public("8.8.8.8")
    assert not is_public("192.168.1.20")


def test_the_terminal_leads_to_trust_first_and_says_where_the_certificate_does_not_reach():
    joining = Joining(book=GuestBook(), port=8788, scheme="https", plain_port=8787)
    home = tuple(LanAddress(address=one, adapter="") for one in ("192.168.1.20", "198.51.100.7"))
    lines = [
        line
        for line, _ in invitation(joining.book.links, home, joining.url, pictures=False, trust_url=joining.trust_url)
    ]
    trust = next(i for i, line in enumerate(lines) if "http://192.168.1.20:8787/trust" in line)
    assert all(i > trust for i, line in enumerate(lines) if "/join/" in line)
    assert [line for line in lines if "does not cover it" in line and "198.51.100.7" in line]
    assert NOTHING_COVERED not in lines
    public = invitation(joining.book.links, home[1:], joining.url, pictures=False, trust_url=joining.trust_url)
    assert (NOTHING_COVERED, False) in public
    unencrypted = invitation(joining.book.links, home[1:], joining.url, pictures=False)
    assert (NOTHING_COVERED, False) not in unencrypted
    soon = datetime(2026, 1, 10, tzinfo=UTC)
    told = {"fingerprint": "AB", "made_now": False, "path": Path("key"), "now": soon - timedelta(days=9)}
    assert "in 9 days" in trust_lines(ends=soon, **told)[-1]
    assert len(trust_lines(ends=soon + timedelta(days=30), **told)) == 1
