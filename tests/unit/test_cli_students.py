"""Several students on the command line: what is understood, what is refused, and what the service is given."""

from __future__ import annotations

import socket

import pytest
from typer.testing import CliRunner

from fusion.outputs.rep import Rep, Verdict
from fusion.pipeline import Pipeline
from sensors.ids import Role, Side
from sensors.record.reader import read_events
from sensors.sources.made_replay import MadeReplay
from sensors.virtual.lesson import LEARNERS
from server.cli import main
from server.cli.demo_lesson import MOST, DemoWishes, lesson_specs
from server.cli.failures import CommandFailed
from server.cli.remembered import Remembered, recall
from server.cli.students import students_of

pytestmark = pytest.mark.usefixtures("home")


def run(*words):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    return CliRunner().invoke(main.app, [*map(str, words), "--port", str(port)], catch_exceptions=False)


def test_a_student_is_a_name_and_two_sensors_and_perhaps_the_lead_arm():
    anna, bo = students_of(["Anna  Reed = AA , BB", "x=y=CC,DD,Right"])
    assert (anna.name, anna.places, anna.lead_side) == ("Anna Reed", {Role.FOREARM: "AA", Role.CLUB: "BB"}, Side.LEFT)
    assert (bo.name, bo.places, bo.lead_side) == ("x=y", {Role.FOREARM: "CC", Role.CLUB: "DD"}, Side.RIGHT)
    for student in (anna, bo):
        assert students_of([student.said.removeprefix('--student "').removesuffix('"')]) == (student,)


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        (["AA,BB"], "left or right.*given 'AA,BB'"),
        (["AA,BB,CC"], "NAME=FOREARM,CLUB.*given 'AA,BB,CC'"),
        ([" "], "NAME=FOREARM,CLUB"),
        (["Anna=AA"], "NAME=FOREARM,CLUB"),
        (["Anna=AA,"], "NAME=FOREARM,CLUB"),
        (["=AA,BB"], "NAME=FOREARM,CLUB"),
        (["Anna=AA,BB,right,CC"], "NAME=FOREARM,CLUB"),
        (["Anna=AA,BB,up"], "left or right"),
        (["Anna=AA,aa"], "AA is given to Anna twice"),
        (["Anna=AA,BB", "Bodil=CC,bb"], "bb is given to both Anna and Bodil"),
        (["Anna=AA,BB", "anna=CC,DD"], "Two students are called anna"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(texts, sentence):
    with pytest.raises(CommandFailed, match=sentence):
        students_of(texts)


def test_each_student_has_a_practice_a_sound_of_the_terminal_and_a_recording_of_their_own(served, home, capsys):
    run("live", "--student", "Anna!=AA,BB", "--student", "Anna?=CC,DD,right", "--folder", home / "lesson")
    first, second = (options for _, options in served.calls)
    assert [(one["player"].name, one["player"].lead_side) for one in (first, second)] == [
        ("Anna!", Side.LEFT), ("Anna?", Side.RIGHT),
    ]  # fmt: skip
    paths = [one["record_to"] for one in (first, second)]
    assert len(set(paths)) == 2, "both names come down to the same letters"
    assert all(path.is_relative_to(home / "lesson") and "anna" in path.name for path in paths)
    sources = [make_source()._source._source for make_source, _ in served.calls]
    assert sources[0]._shared is sources[1]._shared
    assert [dict(source._first[0]) for source in sources] == [
        {"AA": Role.FOREARM, "BB": Role.CLUB}, {"CC": Role.FOREARM, "DD": Role.CLUB},
    ]  # fmt: skip
    second["tell"]("Forearm: sending again.")
    second["choice"]._on_made({Role.FOREARM: "DD", Role.CLUB: "CC"})
    said = capsys.readouterr().err
    assert "Anna?: Forearm: sending again." in said
    assert '--student "Anna?=DD,CC,right"' in said
    assert recall() == Remembered(), "the pair of whoever practises alone here stays theirs"
    run("live", "--student", "Anna=AA,BB", "--no-record")
    assert served.calls[2][1]["record_to"] is None


def test_sensors_that_are_not_said_are_chosen_on_the_page_and_the_terminal_says_how_to_begin_the_next_time(
    served, capsys
):
    result = run("live", "--student", "Anna  Reed, right", "--student", "Bodil=CC,DD")
    (anna, options), (bodil, others) = served.calls
    assert (options["choice"].is_open, others["choice"].is_open) == (True, False)
    assert [make_source()._source._source._first for make_source in (anna, bodil)] == [
        ({}, True), ({"CC": Role.FOREARM, "DD": Role.CLUB}, False),
    ]  # fmt: skip
    options["choice"]._on_made({Role.FOREARM: "AA", Role.CLUB: "BB"})
    assert "Choose the sensors on the page" in result.output
    said = capsys.readouterr().err
    assert '--student "Anna Reed=AA,BB,right"' in said
    assert recall() == Remembered()


def test_what_is_said_for_one_player_does_not_go_with_students(served):
    with pytest.raises(CommandFailed, match="--forearm and --player cannot go with --student"):
        run("live", "--student", "Anna=AA,BB", "--forearm", "CC", "--player", "Bodil")
    assert served.calls == []


def test_a_demo_lesson_has_different_players_who_work_on_different_things(served):
    run("demo", "--students", MOST)
    assert served.calls[0][1]["deck"] is not None
    assert all(isinstance(make_source(), MadeReplay) for make_source, _ in served.calls[1:])
    assert len({options["name"] for _, options in served.calls}) == len(served.calls) == MOST
    drills = [options["drill"] for _, options in served.calls]
    assert len({one and one.id for one in drills}) == MOST
    run("demo", "--students", 2, "--drill", "3-flatter-shaft")
    assert [options["drill"].id for _, options in served.calls[MOST:]] == ["3-flatter-shaft"] * 2
    assert run("demo", "--students", MOST + 1).exit_code == 2


async def test_an_invented_student_is_made_when_first_played_and_swings_with_the_fault(tmp_path):
    """One of the others: who hurries back is told so by the drill on tempo."""
    spec = lesson_specs(3, DemoWishes(speed=20.0, drill=None, second=None), tmp_path)[2]
    learner, path = LEARNERS[2], tmp_path / "2.mcap"
    assert (spec.title, spec.drill.id) == (learner.name, "7-three-to-one")
    assert not path.exists()
    async with spec.make_source():
        made = path.stat().st_mtime_ns
    async with spec.make_source():
        assert path.stat().st_mtime_ns == made
    assert list(tmp_path.iterdir()) == [path]
    pipeline = Pipeline(spec.drill.drill)
    reps = [out for event in read_events(path) for out in pipeline.push(event) if isinstance(out, Rep)]
    verdicts = [rep.verdict for rep in reps]
    assert len(reps) == len(learner.shapes)
    assert set(verdicts[:4]) == {Verdict.BELOW}
    assert Verdict.IN_BAND in verdicts[-4:]
