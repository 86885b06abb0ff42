"""The catalogue: ours, one's own, and files that cannot be used; and how the commands take a drill."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from server.cli import main
from server.cli.drills import chosen_drill
from server.cli.failures import CommandFailed
from server.drills import DrillFileError, catalogue, our_drills, own_drills, own_folder, read_drill
from tests.unit.test_drill_text import TEXT


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    own_folder().mkdir(parents=True)
    return tmp_path


def test_ours_come_in_teaching_order_and_without_a_folder_of_ones_own():
    own_folder().rmdir()
    assert [one.id[0] for one in catalogue()] == ["1", "2", "3", "4"]
    assert own_drills() == ((), ())


def test_ones_own_come_after_and_may_take_the_place_of_ours():
    (own_folder() / "zz-mine.toml").write_text(TEXT, encoding="utf-8")
    (own_folder() / f"{our_drills()[1].id}.toml").write_text(TEXT, encoding="utf-8")
    drills = catalogue()
    assert [one.drill.name for one in drills][1] == "Quiet"
    assert (len(drills), drills[-1].id) == (5, "zz-mine")


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"name = 3", "line 1"), (b"\xff\xfe", "UTF-8"), (b"", "missing"), (b"a" * 50_000, "longer")],
)
def test_a_bad_file_is_named_and_left_out(data, said):
    path = own_folder() / "bad.toml"
    path.write_bytes(data)
    with pytest.raises(DrillFileError, match=said):
        read_drill(path)
    assert len(catalogue()) == len(our_drills())
    answer = CliRunner().invoke(main.app, ["drills"])
    assert answer.exit_code == 0
    assert "1-quiet-wrist" in answer.output
    assert "bad.toml" in answer.output


def test_a_drill_is_chosen_by_name_or_by_file(home):
    assert chosen_drill(None) is None
    assert chosen_drill("3-flatter-shaft").drill.name == "Lay the shaft down"
    path = home / "mine.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert chosen_drill(str(path)).text == TEXT
    with pytest.raises(CommandFailed, match="There is no drill 'steep'"):
        chosen_drill("steep")
    with pytest.raises(CommandFailed, match="cannot be used"):
        chosen_drill(str(home / "none.toml"))
