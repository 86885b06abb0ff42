"""An export that is not sound is refused with a reason, and nothing of it is taken in."""

from __future__ import annotations

import json
import zipfile

import pytest
from store_samples import rows, store


@pytest.fixture(scope="module")
def export(demo_store, tmp_path_factory):
    place = tmp_path_factory.mktemp("export") / "player.zip"
    (player,) = rows(demo_store / "store.sqlite")
    store("export", player["player"], "-o", place, "--store", demo_store / "store.sqlite")
    return place


def rewritten(export, place, change):
    """The export with `change` made to its files, by name."""
    with zipfile.ZipFile(export) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)


def in_player(change):
    def made(files):
        about = json.loads(files["player.json"])
        change(about)
        files["player.json"] = json.dumps(about).encode()

    return made


def in_recording(files):
    (name,) = (name for name in files if name != "player.json")
    files[name] = files[name][:-1] + bytes([files[name][-1] ^ 1])


WRONG = {
    "has been changed": in_recording,
    "is not as long as it should be": lambda files: files.update({n: files[n] + b"0" for n in files if n[0] == "r"}),
    "there is no player.json": lambda files: files.pop("player.json"),
    "which it does not list": lambda files: files.update({"../../.profile": b"rm"}),
    "an earlier Pitchbend": in_player(lambda about: about.pop("version")),
    "a newer version": in_player(lambda about: about.update(version=99, more=1)),
    "(practices.0.reps.0.verdict": in_player(lambda about: about["practices"][0]["reps"][0].update(verdict="fine")),
    "(practices.0.reps.1.takeaway_s: Field": in_player(
        lambda about: about["practices"][0]["reps"][1].pop("takeaway_s")
    ),
    "(practices.0.key": in_player(lambda about: about["practices"][0].update(key="../../x")),
    "must be text": in_player(lambda about: about.update(player="a\0b")),
    "a rep is there twice": in_player(
        lambda about: about["practices"][0]["reps"].append(about["practices"][0]["reps"][0])
    ),
    "a block that is not there": in_player(lambda about: about["practices"][0]["reps"][-1].update(block=77)),
    "(JSON": lambda files: files.update({"player.json": b'{"version": 1, "player": '}),
}


def test_an_export_that_is_not_sound_is_refused_whole(export, tmp_path):
    place, folder = tmp_path / "store.sqlite", tmp_path / "received"
    broken = tmp_path / "broken.zip"
    for reason, change in WRONG.items():
        rewritten(export, broken, change)
        said = store("import", broken, "--folder", folder, "--store", place, fails=True)
        assert "was not taken in, and nothing was changed" in said
        assert reason in said
    whole = export.read_bytes()
    for piece in (whole[: len(whole) // 2], whole[:999] + bytes([whole[999] ^ 4]) + whole[1000:], b"", b"not a file"):
        broken.write_bytes(piece)
        assert "copy it again from where it came" in store(
            "import", broken, "--folder", folder, "--store", place, fails=True
        )
    assert "No such file" in store("import", tmp_path / "none.zip", "--folder", folder, "--store", place, fails=True)
    assert rows(place) == []
    assert list(folder.iterdir()) == []
    rewritten(export, broken, in_player(lambda about: about.update(player="Somebody else")))
    store("import", broken, "--folder", folder, "--store", place)
    before = rows(place), sorted(folder.iterdir())
    assert "under another player's name" in store("import", export, "--folder", folder, "--store", place, fails=True)
    assert (rows(place), sorted(folder.iterdir())) == before
