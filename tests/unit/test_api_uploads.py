"""Recordings that come from elsewhere: good ones are taken in, others refused with a reason, and nothing of them is left."""

from __future__ import annotations

import gzip
import io
import zipfile
from itertools import islice

import pytest
from mcap.opcode import Opcode
from mcap.writer import CompressionType, Writer

from sensors.record.reader import read_events
from sensors.record.salvage import MAGIC
from sensors.record.writer import Recorder
from server.api import receiving
from server.api.archive import Archive
from server.api.receiving import Received, keep
from server.api.wish import StoreWish
from server.cli.demo_recording import demo_recording
from server.store import people
from server.store.database import Database
from server.store.incoming import take_in
from tests.api_client import problem

DEMO = demo_recording().read_bytes()


@pytest.fixture
def archive(tmp_path):
    archive = Archive(StoreWish(place=str(tmp_path / "store.sqlite"), keep_in=tmp_path / "received"))
    yield archive
    archive.close()


def left(archive):
    return sorted(path.name for path in archive.wish.keep_in.glob("*"))


@pytest.fixture(scope="module")
def half(tmp_path_factory):
    """A whole recording of the first half of the demo."""
    path = tmp_path_factory.mktemp("half") / "half.mcap"
    with Recorder(path) as recorder:
        for event in islice(read_events(demo_recording()), 6000):
            recorder.write(event)
    return path.read_bytes()


async def test_a_good_one_is_taken_in_once(api, archive, half):
    sent = await api.post("/recordings", content=half, params={"name": "../../Ida.mcap"})
    assert sent.status_code == 202, sent.text
    sha256 = sent.json()["id"]
    archive.incoming(sha256).over.wait(100)
    told = (await api.get(f"/recordings/{sha256}")).json()
    assert (told["outcome"], told["detail"]) == ("stored", "")
    assert left(archive) == [f"ida-{sha256[:8]}.mcap"]
    practice = (await api.get(f"/practices/{told['key']}")).json()
    assert practice["has_recording"] is True
    assert practice["n_reps"] >= 1
    assert (await api.get(f"/practices/{told['key']}/reps/1/trace")).status_code == 200
    assert (await api.get(f"/practices/{told['key']}/recording")).content == half
    again = (await api.post("/recordings", content=half, params={"name": "another"})).json()
    assert (again["outcome"], again["key"], again["done"]) == ("known", told["key"], 1.0)
    assert len(left(archive)) == 1
    problem(await api.get(f"/recordings/{'0' * 64}"), 404, "no_such_upload")


def records(content):
    """Where each record begins, by the lengths alone: opcode, eight bytes of length (mcap.dev/spec)."""
    at = len(MAGIC)
    while at < len(content) - len(MAGIC):
        yield at, content[at]
        at += 9 + int.from_bytes(content[at + 1 : at + 9], "little")


def test_what_shows_only_when_it_is_looked_through(half, tmp_path):
    """Cut off, damaged, or with the chunk of a bomb among sound ones: it is refused, unread, and gone."""
    chunks = [at for at, opcode in records(half) if opcode == Opcode.CHUNK]
    bomb, *_ = [at for at, opcode in records(BOMB) if opcode == Opcode.CHUNK]
    end = bomb + 9 + int.from_bytes(BOMB[bomb + 1 : bomb + 9], "little")
    middle, spot = chunks[len(chunks) // 2], chunks[-3] + 100
    database = Database(tmp_path / "store.sqlite")
    for content, why in (
        (half[: len(half) // 2], "cut off"),
        (half[:spot] + bytes([half[spot] ^ 1]) + half[spot + 1 :], "damaged or packed"),
        (half[:middle] + BOMB[bomb:end] + half[middle:], "damaged or packed"),
    ):
        (tmp_path / "sent.mcap").write_bytes(content)
        taken = take_in(database, tmp_path / "sent.mcap", "", lambda _: None)
        assert (taken.outcome, taken.key) == ("refused", None)
        assert why in taken.detail
        assert not (tmp_path / "sent.mcap").exists()
    with database.reading() as connection:
        assert people.players(connection) == []
    database.close()


def mcap(profile, compression, size):
    """A file by the MCAP library's own writer."""
    out = io.BytesIO()
    writer = Writer(out, compression=compression)
    writer.start(profile=profile)
    schema = writer.register_schema("x", "", b"")
    channel = writer.register_channel("/x", "json", schema)
    writer.add_message(channel, 0, bytes(size), 0)
    writer.finish()
    return out.getvalue()


def zipped(content):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("../../evil.mcap", content)
    return out.getvalue()


BOMB = mcap("pitchbend", CompressionType.ZSTD, 100_000_000)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "not a Pitchbend recording"),
        (b"\x89PNG\r\n\x1a\n" + bytes(1000), "not a Pitchbend recording"),
        (b"a letter", "not a Pitchbend recording"),
        (MAGIC[:4], "not a Pitchbend recording"),
        (MAGIC, "cut off before anything was recorded"),
        (MAGIC + bytes(1000), "its beginning is damaged"),
        (mcap("another", CompressionType.NONE, 10), "another program"),
        (BOMB, "compressed"),
        (mcap("pitchbend", CompressionType.LZ4, 50_000_000), "compressed"),
        (zipped(DEMO), "not a Pitchbend recording"),
        (gzip.compress(DEMO), "not a Pitchbend recording"),
    ],
)
async def test_what_is_no_recording_is_refused_at_once(api, archive, content, why):
    told = problem(await api.post("/recordings", content=content), 415, "not_a_recording")
    assert why in told["detail"]
    assert left(archive) == []


async def test_packed_too_long_and_broken_off(api, archive, monkeypatch):
    assert len(BOMB) < 100_000
    packed = await api.post("/recordings", content=gzip.compress(DEMO), headers={"Content-Encoding": "gzip"})
    problem(packed, 415, "not_a_recording")
    monkeypatch.setattr(receiving, "MOST_BYTES", 2**20 // 2)
    problem(await api.post("/recordings", content=DEMO), 413, "too_large")  # by what it announces

    async def endless():
        yield MAGIC
        while True:
            yield bytes(2**16)

    problem(await api.post("/recordings", content=endless()), 413, "too_large")
    less = await api.post("/recordings", content=DEMO[:1000], headers={"Content-Length": "2000"})
    problem(less, 422, "not_a_recording")
    monkeypatch.setattr(receiving.shutil, "disk_usage", lambda _: shutil_usage(free=1000))
    problem(await api.post("/recordings", content=DEMO[:1000]), 507, "disk")
    assert left(archive) == []


def shutil_usage(*, free):
    return type("Usage", (), {"free": free})()


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd", "..\\..\\boot.ini", "/etc/passwd", "C:\\x.mcap", "a\0b", "..", ".", "", "CON", "x" * 500,
        "ü/../y", "\u202emcap.exe",
    ],
)  # fmt: skip
def test_of_a_name_nothing_but_letters_and_digits_is_taken(tmp_path, name):
    (tmp_path / "part").write_bytes(b"x")
    place = keep(Received(tmp_path / "part", "ab" * 32), tmp_path, name)
    assert place.resolve().parent == tmp_path.resolve()
    assert place.name.endswith("-abababab.mcap")
    assert place.read_bytes() == b"x"
    assert place.name.removesuffix(".mcap").replace("-", "").isalnum()
