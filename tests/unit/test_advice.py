"""Every reason has a sentence: plain, whole, and different from the others."""

from __future__ import annotations

import errno
import os
from itertools import product
from pathlib import Path

import pytest

from fusion.calibration.collect import HELD
from fusion.calibration.session import CORE, WANTED, FitStatus
from fusion.outputs.fit import FitProgress, FitReason, FitState
from fusion.outputs.instant import Doubt
from fusion.outputs.rep import Verdict
from sensors.errors import NotARecording, RadioError, RecorderError, SensorsError, UnknownProfile
from sensors.events import OF_THE_MACHINE, LinkReason, LinkState
from sensors.ids import Move, Role
from server import advice, fit_advice
from server.choosing.sentences import (
    PLACE_WORDS,
    move_instruction,
    next_instruction,
    no_blink_advice,
    no_choice_advice,
    no_pair_advice,
    not_complete_advice,
    unknown_sensor_advice,
)
from server.radio_advice import machine_advice
from server.tape_advice import stopped_advice
from server.troubles import NAMES

JARGON = ("BLE", "GATT", "MCAP", "websocket", "exception", "None", "enum", "gyro", "null", "_")
PATH = Path("Swings.mcap")


def assert_plain(text, *, but=()):
    assert text[0].isupper()
    assert text.rstrip().endswith(".")
    assert ".." not in text
    for word in JARGON:
        assert word in but or word not in text


@pytest.mark.parametrize("reason", [reason for reason in LinkReason if reason is not LinkReason.NONE])
def test_every_link_reason_has_advice_in_every_state(reason):
    for state in LinkState:
        assert_plain(advice.link_advice(state, reason))


def test_link_reasons_are_told_apart():
    told = {advice.reason_advice(reason) for reason in LinkReason}
    assert len(told) == len(LinkReason)
    assert advice.reason_advice(LinkReason.NONE) == ""


@pytest.mark.parametrize("state", LinkState)
def test_a_state_without_a_reason(state):
    text = advice.link_advice(state, LinkReason.NONE)
    if state in {LinkState.STREAMING, LinkState.CONNECTING}:
        assert text == ""
    else:
        assert_plain(text)


def test_a_sensor_that_a_phone_holds_is_thought_of():
    """It does not advertise, so nothing tells it from one that is off."""
    for reason in (LinkReason.NOT_FOUND, LinkReason.CONNECT_FAILED):
        assert "phone" in advice.reason_advice(reason)


def test_only_what_is_tried_again_is_said_to_be():
    again = "goes on by itself"
    assert again in advice.link_advice(LinkState.LOST, LinkReason.DROPPED)
    assert again not in advice.link_advice(LinkState.STOPPED, LinkReason.DROPPED)
    assert again not in advice.link_advice(LinkState.SEARCHING, LinkReason.PERMISSION_DENIED)


@pytest.mark.parametrize(("doubt", "replayed"), list(product(Doubt, (False, True))))
def test_every_doubt(doubt, replayed):
    text = advice.doubt_advice(doubt, replayed=replayed)
    unjudged = advice.rep_advice(Verdict.UNKNOWN, doubt, replayed=replayed)
    assert_plain(unjudged)
    if doubt is Doubt.NONE:
        assert text == ""
    else:
        assert_plain(text)
        assert text in unjudged


def test_in_a_replay_the_golfer_is_told_to_do_nothing():
    tells = ("Check", "Keep", "Stand", "Tighten", "Turn", "make the fit", "fit it")
    told = [doubt for doubt in Doubt if any(word in advice.doubt_advice(doubt, replayed=False) for word in tells)]
    assert len(told) == 6
    for doubt in Doubt:
        assert not any(word in advice.doubt_advice(doubt, replayed=True) for word in tells), doubt


@pytest.mark.parametrize("verdict", [verdict for verdict in Verdict if verdict is not Verdict.UNKNOWN])
def test_a_judged_rep_needs_none(verdict):
    assert advice.rep_advice(verdict, Doubt.GAP, replayed=False) == ""


def disk(code):
    return RecorderError(PATH, OSError(code, os.strerror(code)))


@pytest.mark.parametrize(
    ("code", "says"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "cannot be written"),
        (errno.ENOENT, "gone"),
        (errno.EEXIST, "already"),
        (errno.ENAMETOOLONG, "File name too long"),
    ],
)
def test_disk_trouble_says_what_to_do_and_that_the_practice_goes_on(code, says):
    text = stopped_advice(disk(code))
    assert_plain(text)
    for part in (says, "--folder", "Swings.mcap", "go on"):
        assert part in text
    assert says in advice.error_sentence(disk(code))


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (NotARecording(PATH, "it is empty"), "Swings.mcap cannot be played: it is empty."),
        (UnknownProfile("sundial", ("open-imu-1",)), "sundial"),
        (SensorsError("Odd"), "Odd."),
        *((RadioError(reason), "") for reason in LinkReason),
    ],
)
def test_every_failure_of_a_source(error, says):
    assert says in advice.error_sentence(error)
    assert_plain(advice.error_sentence(error))
    assert_plain(advice.source_advice(error))


def test_answers_to_a_client():
    for text in (
        advice.bad_message_advice(),
        advice.move_refused_advice(over=True),
        advice.move_refused_advice(over=False),
    ):
        assert_plain(text)


def progress(move, state, reason=FitReason.NONE, measured=None, limit=None):
    return FitProgress(arrival_ns=0, move=move, state=state, reason=reason, measured=measured, limit=limit)


@pytest.mark.parametrize("move", Move)
def test_every_move_is_explained_while_it_is_taken(move):
    text = fit_advice.fit_advice(progress(move, FitState.COLLECTING), FitStatus(taken=(), complete=False))
    assert_plain(text)
    assert fit_advice.move_instruction(move) in text
    assert "still" in text


def test_each_move_taken_leads_to_the_next():
    for i, move in enumerate(WANTED):
        taken = FitStatus(taken=WANTED[: i + 1], complete=i + 1 == len(WANTED))
        text = fit_advice.fit_advice(progress(move, FitState.TAKEN), taken)
        assert_plain(text)
        if not taken.complete:
            assert fit_advice.move_instruction(WANTED[i + 1]) in text
        else:
            assert "complete" in text


def test_moves_out_of_order_lead_to_the_one_that_is_missing():
    status = FitStatus(taken=(Move.NEUTRAL, Move.TWIRL), complete=False)
    assert fit_advice.move_instruction(Move.STILL) in fit_advice.next_advice(status)
    assert_plain(fit_advice.next_advice(FitStatus(taken=WANTED, complete=False)))


def test_a_fit_that_is_enough_says_what_is_still_worth_making():
    status = FitStatus(taken=CORE, complete=True)
    text = fit_advice.next_advice(status)
    assert_plain(text)
    assert "enough" in text
    assert fit_advice.move_instruction(next(move for move in WANTED if move not in CORE)) in text


@pytest.mark.parametrize("move", [move for move in Move if move not in HELD])
def test_a_move_that_is_made_is_made_three_times(move):
    assert "three times to and fro" in fit_advice.move_instruction(move)


@pytest.mark.parametrize(("move", "reason"), list(product(Move, FitReason)))
def test_every_rejection_with_and_without_figures(move, reason):
    status = FitStatus(taken=(), complete=False)
    bare = fit_advice.fit_advice(progress(move, FitState.REJECTED, reason), status)
    told = fit_advice.fit_advice(progress(move, FitState.REJECTED, reason, 14.26, 12.0), status)
    assert_plain(bare)
    assert_plain(told)
    unit = {
        FitReason.MOVING: "°/s", FitReason.NOT_GRAVITY: " m/s²", FitReason.NONE: None, FitReason.NO_DATA: None,
        FitReason.DISAGREES: " times the usual spread", FitReason.POOR_TRIM: " % of g",
        FitReason.END_UNKNOWN: " standard deviations", FitReason.UNLIKE_BEFORE: None,
    }.get(reason, "°")  # fmt: skip
    if reason is FitReason.FEW_ATTITUDES:
        assert "14 of 12" in told
    elif unit is not None:
        assert f"14.3{unit}" in told
        assert f"12.0{unit}" in told
    else:
        assert told == bare


@pytest.mark.parametrize(("platform", "reason"), list(product(("linux", "darwin", "win32"), sorted(OF_THE_MACHINE))))
def test_trouble_of_the_computer_has_a_way_out_on_each_system(platform, reason):
    text = machine_advice(reason, platform)
    assert_plain(text)
    others = {machine_advice(reason, other) for other in ("linux", "darwin", "win32") if other != platform}
    assert text not in others
    assert text != machine_advice(next(r for r in OF_THE_MACHINE if r is not reason), platform)


def test_an_unknown_system_is_treated_as_a_linux():
    assert machine_advice(LinkReason.ADAPTER_OFF, "freebsd14") == machine_advice(LinkReason.ADAPTER_OFF, "linux")


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.SPARE])
def test_every_place_has_its_words(role):
    assert PLACE_WORDS[role].startswith("the ")
    assert NAMES[role]
    assert_plain(move_instruction(role))
    assert_plain(not_complete_advice(role))


@pytest.mark.parametrize(
    "text",
    [
        next_instruction(Role.FOREARM, n_heard=0, trouble=LinkReason.NONE),
        next_instruction(Role.CLUB, n_heard=1, trouble=LinkReason.NONE),
        next_instruction(None, n_heard=2, trouble=LinkReason.NONE),
        next_instruction(Role.CLUB, n_heard=0, trouble=LinkReason.SERVICE_OFF),
        no_choice_advice(over=True),
        no_choice_advice(over=False),
        unknown_sensor_advice(),
        no_pair_advice(),
        no_blink_advice(LinkReason.NOT_FOUND),
        no_blink_advice(LinkReason.CONNECT_FAILED),
    ],
)
def test_what_is_said_while_choosing(text):
    assert_plain(text)
