"""What is known once a swing, the tick near the edge, and another drill tried on the last swing. Values by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fusion.drills.desk import Desk, monitor_of
from fusion.drills.drill import Drill
from fusion.drills.monitor import Edge, Short
from fusion.drills.parse import drill_from
from fusion.drills.quantity import Quantity, SwingFigures
from fusion.drills.swing_log import MAX_INSTANTS, SwingLog
from fusion.outputs.cue import CueChange, Signal, SignalKind
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Rep, Verdict
from fusion.pipeline import Pipeline
from sensors.events import DrillSet, SecondDrillSet
from sensors.ids import Side
from server.drills import our_drills
from tests.unit.test_drill_text import TEMPO, TEXT
from tests.virtual import virtual_session

BACK, TAKEAWAY = Phase.SHAFT_LEVEL, Phase.TAKEAWAY
LENGTH = (
    TEMPO.replace('"tempo"', '"arm_length"')
    .replace("low = 2.6", "low_deg = 95")
    .replace("high = 4.0", "high_deg = 130")
)
TIME = (
    TEMPO.replace('"tempo"', '"backswing_time"')
    .replace("low = 2.6", "low_s = 0.7")
    .replace("high = 4.0", "high_s = 1.1")
)
WARNS = TEXT.replace("high_deg = 25", "high_deg = 25\nwarn_deg = 4")


def figures(arm_deg=110.0, back_s=0.9, tempo=None):
    return SwingFigures(
        arm_length_rad=None if arm_deg is None else math.radians(arm_deg),
        shaft_length_rad=math.radians(-12.0),
        backswing_s=back_s,
        tempo=tempo,
    )


@pytest.mark.parametrize(
    ("text", "told", "kind"),
    [
        (LENGTH, figures(arm_deg=80.0), SignalKind.BELOW),
        (LENGTH, figures(arm_deg=100.0), SignalKind.IN_BAND),
        (LENGTH, figures(arm_deg=131.0), SignalKind.ABOVE),
        (TIME, figures(back_s=0.6), SignalKind.BELOW),
        (TIME, figures(back_s=1.2), SignalKind.ABOVE),
        (TEMPO, figures(tempo=2.5), SignalKind.BELOW),
        (TEMPO, figures(tempo=3.4), SignalKind.IN_BAND),
        (TEMPO, figures(tempo=4.1), SignalKind.ABOVE),
    ],
)
def test_one_sound_for_each_verdict(text, told, kind):
    monitor = monitor_of(drill_from(text))
    assert monitor.figures(1.0, told) == (Short(1.0, kind),)
    assert monitor.figures(1.3, told) == ()  # told once
    assert monitor.verdict()[0].value == kind.value
    assert monitor.stop(2.0) == ()


def test_tempo_is_not_known_at_the_top_and_an_unknown_length_is_not_judged():
    assert monitor_of(drill_from(TEMPO)).figures(1.0, figures()) == ()
    monitor = monitor_of(drill_from(LENGTH))
    assert monitor.figures(1.0, figures(arm_deg=None)) == ()
    assert monitor.verdict() == (Verdict.UNKNOWN, None)


def test_an_arm_that_had_only_hesitated_is_told_anew():
    monitor = monitor_of(drill_from(LENGTH))
    told = [*monitor.figures(0.8, figures(arm_deg=80.0)), *monitor.figures(1.0, figures(arm_deg=120.0))]
    assert [short.kind for short in told] == [SignalKind.BELOW, SignalKind.IN_BAND]
    assert monitor.verdict() == (Verdict.IN_BAND, pytest.approx(math.radians(120.0)))


def test_without_the_cue_it_is_judged_in_silence():
    monitor = monitor_of(drill_from(TEMPO), cued=False)
    assert monitor.figures(1.0, figures(tempo=2.0)) == ()
    assert monitor.verdict() == (Verdict.BELOW, 2.0)


def ticks(way, drill_text=WARNS, phases=None, **how):
    """Indices at which it ticks, along bends in degrees; the band ends at -8, the margin at -4, it is left for good at -2.5."""
    monitor = monitor_of(drill_from(drill_text), **how)
    out = []
    for i, deg in enumerate(way):
        phase = phases[i] if phases else TAKEAWAY
        sounds = monitor.push(0.005 * i, phase, Angles(bend_change_rad=math.radians(deg)), Doubt.NONE)
        out += [i for sound in sounds if isinstance(sound, Short)]
    return out


def test_it_ticks_once_as_the_margin_is_entered():
    assert ticks([0, -3.9, -4.1, -5, -4.5, -6]) == [2]
    assert ticks([0, 20.9, 21.1, 23]) == [2]
    assert ticks([0, -4.1, -5], drill_text=TEXT) == []
    assert ticks([0, -4.1], cued=False) == []


def test_it_ticks_again_only_in_another_phase_and_from_well_inside():
    way = [0, -5, -3, -5, -2, -5]
    assert ticks(way) == [1]  # once a phase
    assert ticks(way, phases=[TAKEAWAY] * 3 + [BACK] * 3) == [1, 5]  # -3 is not yet well inside


def test_past_the_edge_the_cue_sounds_and_nothing_ticks_on_the_way_back():
    assert ticks([0, -9, -7, -5]) == []
    monitor = monitor_of(drill_from(WARNS))
    sounds = [
        monitor.push(0.005 * i, TAKEAWAY, Angles(bend_change_rad=math.radians(d)), Doubt.NONE)
        for i, d in enumerate([-5, -9])
    ]
    assert sounds[0] == (Short(0.0, SignalKind.EDGE),)
    assert isinstance(sounds[1][0], Edge)


def test_a_log_is_bounded_and_says_so():
    log, desk = SwingLog(), Desk(drill_from(TEXT))
    for i in range(MAX_INSTANTS + 5):
        log.push(0.001 * i, TAKEAWAY, Angles(), Doubt.NONE)
    assert (len(log.told), log.cut) == (MAX_INSTANTS, True)
    desk.last = log
    assert desk.trial(desk.drill) is None
    desk.last = None
    assert desk.trial(desk.drill) is None


@given(st.lists(st.floats(-30, 40), min_size=1, max_size=60), st.sampled_from([TEXT, WARNS, LENGTH]))
def test_a_trial_says_what_the_swing_said(way, text):
    drill, log = drill_from(text), SwingLog()
    live, sounds = monitor_of(drill), []
    for i, deg in enumerate(way):
        told = (0.005 * i, TAKEAWAY, Angles(bend_change_rad=math.radians(deg)), Doubt.NONE)
        log.push(*told)
        sounds += live.push(*told)
    log.figures(1.0, figures(arm_deg=90.0))
    sounds += live.figures(1.0, figures(arm_deg=90.0))
    sounds += live.stop(1.0)
    trial = log.trial(lambda: monitor_of(drill))
    assert (trial.verdict, trial.worst) == live.verdict()
    edges = [sound for sound in sounds if isinstance(sound, Edge)]
    assert [t for span in trial.spans for t in span[:2]] == [edge.t_s for edge in edges]
    assert trial.shorts == tuple((sound.t_s, sound.kind) for sound in sounds if isinstance(sound, Short))


@pytest.fixture(scope="module")
def events():
    return list(virtual_session(11, 3, Side.LEFT, perfect=True).events())


@pytest.mark.parametrize("text", [TEXT, WARNS, LENGTH, TIME, TEMPO], ids=["bend", "warns", "length", "time", "tempo"])
def test_trying_a_drill_gives_what_practising_it_gives(events, text):
    """One run with another drill in force, and this one tried on each rep; one run with this one in force."""
    drill, at_ns = drill_from(text), events[0].arrival_ns
    tried, other = [], Pipeline(our_drills()[2].drill)
    for event in events:
        reps = [output for output in other.push(event) if isinstance(output, Rep)]
        tried += [(rep, other.desk.trial(drill)) for rep in reps]
    practised = Pipeline(our_drills()[2].drill)
    outputs = [
        output
        for event in [events[0], DrillSet(arrival_ns=at_ns, text=text), *events[1:]]
        for output in practised.push(event)
    ]
    reps = [output for output in outputs if isinstance(output, Rep)]
    assert len(reps) == len(tried) == 3
    for rep, (beside, trial) in zip(reps, tried, strict=True):
        assert (trial.verdict, trial.worst) == (rep.verdict, rep.worst)
        begin_s, end_s = beside.address_s, beside.checkpoints[Phase.IMPACT].t_s + 1.0
        heard = [o for o in outputs if isinstance(o, CueChange | Signal) and begin_s < o.t_s < end_s]
        assert [t for span in trial.spans for t in span[:2]] == [o.t_s for o in heard if isinstance(o, CueChange)]
        assert list(trial.shorts) == [(o.t_s, o.kind) for o in heard if isinstance(o, Signal)]
    assert any(trial.spans or trial.shorts for _, trial in tried)


def test_a_second_drill_is_judged_beside_the_first_without_a_sound(events):
    at_ns = events[0].arrival_ns
    runs = []
    for second in (None, TEMPO):
        pipeline, out = Pipeline(our_drills()[0].drill), []
        first = [] if second is None else [SecondDrillSet(arrival_ns=at_ns, text=second)]
        for event in [events[0], *first, *events[1:]]:
            out += pipeline.push(event)
        runs.append(out)
    heard = [[o for o in run if isinstance(o, CueChange | Signal)] for run in runs]
    assert heard[0] == heard[1]
    assert heard[0]
    reps = [o for o in runs[1] if isinstance(o, Rep)]
    assert all(rep.second.quantity is Quantity.TEMPO and rep.second.worst == pytest.approx(rep.tempo) for rep in reps)
    assert [rep.verdict for rep in reps] == [o.verdict for o in runs[0] if isinstance(o, Rep)]


def test_every_quantity_is_of_an_instant_or_of_a_swing():
    every = figures(tempo=3.0)
    for quantity in Quantity:
        assert (quantity.of_swing(every) is not None) is quantity.at_end
        angles = Angles(bend_rad=0.1, bend_change_rad=0.1, roll_change_rad=0.1, shaft_pitch_rad=0.1, face_twist_rad=0.1)
        assert (quantity.of(angles) is None) is quantity.at_end


def test_margins():
    drill: Drill = drill_from(TEXT)
    assert drill.outside(math.radians(-10)) == pytest.approx(math.radians(-2))
    assert drill.margin(math.radians(20)) == pytest.approx(math.radians(5))
