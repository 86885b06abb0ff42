"""A practice in short: folded from exactly what its pages are told."""

from __future__ import annotations

import pytest

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Verdict
from sensors.events import LinkReason, LinkState, RepMark
from server.bays.bay import Bays
from server.bays.board import STALE_AFTER_S, Folded, fold, shown
from server.bays.local_bay import LocalBay
from server.bays.names import slug, slugs
from server.engine import Engine
from server.wire import CueMessage, DrillMessage, EndMessage, PhaseMessage, ProblemMessage, SensorsMessage
from server.wire_board import BoardMessage
from server.wire_lesson import ControlMessage, RepMarkMessage
from tests.e2e import samples
from tests.live_service import LIVE, HandSource


def folded(*messages, now_s=0.0):
    state = Folded()
    for message in messages:
        state = fold(state, message, now_s)
    return state


def board(*messages, now_s=0.0):
    return shown(folded(*messages), id="a", name="A", now_s=now_s)


def test_before_anything_has_come():
    now = board(samples.hello())
    assert (now.status, now.phase, now.bend_change_deg, now.last_rep, now.n_reps) == ("waiting", None, None, None, 0)
    assert now.player == samples.hello().player
    assert now.drill == samples.drill().name


def test_angles_are_shown_only_while_they_come():
    frame = samples.frame(**samples.CUPPED)
    live = board(samples.hello(), frame, now_s=STALE_AFTER_S)
    assert (live.status, live.phase, live.bend_change_deg, live.shaft_pitch_deg, live.sounding) == (
        "live", Phase.ARM_LEVEL, -17.0, 66.0, True,
    )  # fmt: skip
    stale = board(samples.hello(), frame, now_s=STALE_AFTER_S + 0.01)
    assert (stale.status, stale.phase, stale.bend_change_deg, stale.shaft_pitch_deg, stale.sounding) == (
        "stale", None, None, None, False,
    )  # fmt: skip


def test_a_cue_and_a_phase_between_two_frames():
    now = board(
        samples.frame(**samples.INSIDE),
        CueMessage(t_s=1.0, sounding=True, error_deg=-3.0),
        PhaseMessage(t_s=1.0, phase=Phase.TOP),
    )
    assert (now.sounding, now.phase) == (True, Phase.TOP)


def test_reps_are_counted_and_the_unjudged_are_not_among_the_judged():
    now = board(samples.good_rep(1), samples.rep(2), samples.good_rep(3), samples.unjudged_rep(4))
    assert (now.n_reps, now.n_judged, now.n_in_band) == (4, 3, 2)
    assert (now.last_rep.index, now.last_rep.verdict) == (4, Verdict.UNKNOWN)


def test_a_mark_shows_on_the_rep_that_it_is_of():
    look = RepMarkMessage(rep=2, mark=RepMark.LOOK)
    assert board(samples.rep(1), samples.rep(2), look).last_rep.mark is RepMark.LOOK
    assert board(samples.rep(1), samples.rep(2), samples.rep(3), look).last_rep.mark is RepMark.NONE
    assert board(look).last_rep is None


@pytest.mark.parametrize(("block", "short"), [(1, (1, 4, 3, 10, False)), (3, (3, 4, 3, 10, True)), (None, None)])
def test_where_a_player_stands_in_a_drill(block, short):
    course = board(DrillMessage(drill=samples.drill(), course=samples.course(block=block))).course
    got = (course.block, course.n_blocks, course.rep, course.reps, course.testing)
    assert got == (short or (None, 4, 0, 0, False))


def test_the_most_urgent_problem_is_shown_and_goes_when_hello_comes_without_it():
    space = ProblemMessage(code="recording_space", text="Little room.")
    stopped = ProblemMessage(code="recording_stopped", text="Nothing is recorded.")
    odd = ProblemMessage(code="something_new", text="Odd.")
    assert board(odd, space).problem == "Little room."
    assert board(stopped, odd, space).problem == board(space, odd, stopped).problem == "Nothing is recorded."
    assert board(stopped, samples.hello()).problem is None


def test_a_lost_sensor_is_a_problem_until_it_is_back():
    good, other = samples.hello().sensors
    gone = good.model_copy(update={"state": LinkState.LOST, "reason": LinkReason.DROPPED, "advice": "It is gone."})
    lost = SensorsMessage(sensors=[gone, other])
    assert board(lost).problem == "It is gone."
    assert board(lost, SensorsMessage(sensors=[good, other])).problem is None


def test_an_end_keeps_the_counts_and_a_new_beginning_does_not():
    begun = (samples.hello(), samples.frame(), samples.good_rep(1), ControlMessage(holder="coach", reason="asked"))
    over = board(*begun, EndMessage(again=False))
    assert (over.status, over.n_reps, over.bend_change_deg) == ("ended", 1, None)
    again = board(*begun, EndMessage(again=True))
    assert (again.status, again.n_reps, again.n_in_band, again.last_rep, again.control) == (
        "waiting", 0, 0, None, "coach",
    )  # fmt: skip


def test_names_in_addresses():
    assert slug("Wren Øster, Bay 3") == "wren-ster-bay-3"
    assert slug("Åsa") == "asa"
    assert slug("高橋") == "practice"
    assert slugs(["Mara", "mara", "Mara 2", "MARA"]) == ("mara", "mara-2", "mara-2-2", "mara-3")
    assert len(slug("a" * 99)) == 32


def test_bays_are_found_by_name_and_by_default_the_first():
    one, two = (LocalBay(Engine(HandSource, view=LIVE), id=name, name=name) for name in ("one", "two"))
    bays = Bays([one, two])
    assert (bays.find(None), bays.find("two"), bays.find("three")) == (one, two, None)
    with pytest.raises(ValueError, match="two practices are called one"):
        bays.add(one)
    bays.remove("one")
    assert (bays.find(None), len(bays)) == (two, 1)
    assert Bays([]).find(None) is None


def test_however_many_look_on_the_board_is_made_once_a_tick(monkeypatch):
    bay = LocalBay(Engine(HandSource, view=LIVE), id="one", name="One")
    made = []
    monkeypatch.setattr(bay, "board", lambda: made.append(None) or LocalBay.board(bay))
    bays = Bays([bay])
    seen = [bays.board(tick) for tick in (7, 7, 7, 8, 8)]
    assert len(made) == 2
    assert {BoardMessage.model_validate_json(text).bays[0].name for text in seen} == {"One"}
