"""A coach's answer: one file that is still the recording, and holds what was said and worked out.

The file is read back by the MCAP project's own reader and by pyarrow, neither of which shares code with ours.
"""

from __future__ import annotations

import json
import time

import pytest
from mcap.reader import make_reader
from pyarrow import BufferReader, parquet
from typer.testing import CliRunner

from fusion.drills.parse import drill_from
from sensors.record.attachments import MAX_BYTES, Attachment, read_attachments
from sensors.record.reader import read_events, read_head
from sensors.record.recover import is_whole
from sensors.record.writer import Recorder
from server.answer.form import Answer, AnswerInvalid, PinnedNote, answer_from
from server.answer.read import read_answer
from server.cli.demo_recording import demo_recording
from server.cli.main import app

DEMO = demo_recording()
PRIORITY = "Keep the back of the lead hand flat until the shaft is level"


def run(*args, fails=False):
    result = CliRunner().invoke(app, [str(arg) for arg in args])
    assert (result.exit_code != 0) is fails, result.output
    return result


@pytest.fixture(scope="module")
def answered(tmp_path_factory):
    path = tmp_path_factory.mktemp("answer") / "lesson.mcap"
    run(
        "answer", DEMO, "--by", "Wenna Hale", "--priority", PRIORITY, "--note", "4@0.55:here the wrist cups",
        "--note", "9:better", "--drill", "1-quiet-wrist", "-o", path,
    )  # fmt: skip
    return path


def test_the_file_is_still_the_recording(answered):
    assert list(read_events(answered)) == list(read_events(DEMO))
    assert read_head(answered).notes == read_head(DEMO).notes
    assert read_head(answered).wall_start_ns == read_head(DEMO).wall_start_ns
    assert is_whole(answered)


def test_what_was_said_is_in_it(answered):
    said = read_answer(answered)
    assert said is not None
    assert (said.author, said.player, said.priority) == ("Wenna Hale", "Maren Tolk", PRIORITY)
    assert [(note.rep, note.after_takeaway_s, note.text) for note in said.notes] == [
        (4, 0.55, "here the wrist cups"),
        (9, None, "better"),
    ]
    assert said.drill == drill_from((DEMO.parents[1] / "shared/drills/1-quiet-wrist.toml").read_text(encoding="utf-8"))
    assert abs(said.written_unix_s - time.time()) < 3600


def test_the_mcap_readers_of_others_find_the_numbers_that_analyse_gives(answered, tmp_path):
    with answered.open("rb") as file:
        found = {one.name: one for one in make_reader(file, validate_crcs=True).iter_attachments()}
    assert {name: one.media_type for name, one in found.items()} == {
        "answer.json": "application/json",
        "drill.toml": "application/toml",
        "reps.json": "application/json",
        "swings.parquet": "application/vnd.apache.parquet",
    }
    run("analyse", DEMO, "--reps", tmp_path / "r.json", "--series", tmp_path / "s.parquet")
    assert json.loads(found["reps.json"].data) == json.loads((tmp_path / "r.json").read_bytes())
    whole = parquet.read_table(tmp_path / "s.parquet").to_pylist()
    swings = parquet.read_table(BufferReader(found["swings.parquet"].data)).to_pylist()
    assert swings == [row for row in whole if row["phase"] not in ("idle", "address")]
    assert len(swings) > 1000


def test_inspect_tells_it(answered):
    shown = run("inspect", answered, "--no-reps").output
    assert f"Wenna Hale to Maren Tolk: {PRIORITY}" in shown
    assert "Rep 4, 0.55 s after takeaway: here the wrist cups" in shown
    assert json.loads(run("inspect", answered, "--no-reps", "--json").output)["answer"]["priority"] == PRIORITY
    assert json.loads(run("inspect", DEMO, "--no-reps", "--json").output)["answer"] is None


@pytest.mark.parametrize(
    ("wishes", "told"),
    [
        (["--note", "99:no such rep"], "A note is about rep 99"),
        (["--note", "four: the wrist"], "A note is written REP:TEXT"),
        (["--note", "4@99:late"], "A note's instant cannot be used"),
        (["--drill", "no-such-drill"], "There is no drill"),
        (["--by", "A\x1b[31mB"], "The name cannot be used"),
    ],
)
def test_what_cannot_be_said_is_refused_and_leaves_nothing_behind(tmp_path, wishes, told):
    out = tmp_path / "a.mcap"
    result = CliRunner().invoke(app, ["answer", str(DEMO), "--by", "W", "--priority", "P", "-o", str(out), *wishes])
    assert result.exit_code != 0
    assert told in str(result.exception or "") + result.output
    assert list(tmp_path.iterdir()) == []


def test_a_changed_byte_makes_an_attachment_none(answered, tmp_path):
    data = answered.read_bytes()
    at = data.index(b'"priority"')
    changed = tmp_path / "changed.mcap"
    changed.write_bytes(data[:at] + b"P" + data[at + 1 :])
    assert [one.name for one in read_attachments(changed)] == [
        one.name for one in read_attachments(answered) if one.name != "answer.json"
    ]
    assert list(read_events(changed)) == list(read_events(DEMO))
    cut = tmp_path / "cut.mcap"
    cut.write_bytes(data[:at])
    assert list(read_attachments(cut)) == []


def test_a_file_too_large_to_be_read_again_is_not_put_in(tmp_path):
    with Recorder(tmp_path / "r.mcap") as recorder, pytest.raises(ValueError, match="are the most"):
        recorder.attach(Attachment(name="big", media_type="text/plain", data=bytes(MAX_BYTES + 1)))


GOOD = Answer(author="W", written_unix_s=1.0, priority="P", notes=[PinnedNote(rep=1, text="t")])


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"version": 2}, "newer version"),
        ({"priority": ""}, "priority"),
        ({"priority": "two\nlines"}, "one line"),
        ({"author": "A" * 81}, "author"),
        ({"notes": [{"rep": 0, "text": "t"}]}, "notes.0.rep"),
        ({"notes": [{"rep": 1, "text": "t"}] * 201}, "notes"),
        ({"drill_text": "name = 3"}, "drill cannot be used"),
        ({"more": 1}, "more"),
        ({"written_unix_s": "now"}, "written_unix_s"),
    ],
)
def test_an_answer_of_a_wrong_form_is_refused_with_the_reason(change, told):
    assert answer_from(GOOD.model_dump_json().encode()) == GOOD
    with pytest.raises(AnswerInvalid, match=told):
        answer_from(json.dumps(GOOD.model_dump() | change).encode())


@pytest.mark.parametrize("data", [b"", b"[]", b"nonsense", b'{"version": NaN}', b"\xff\xfe"])
def test_what_is_no_answer_is_refused(data):
    with pytest.raises(AnswerInvalid):
        answer_from(data)
