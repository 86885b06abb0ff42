"""Where packets are cut must not matter: the same samples in packets of 1 to 19.

Everything is decided on a grid in time (`fusion/ticks.py`), the fit's moves too, whether somebody marks their ends or the
program finds them. What is left is rounding: a thousandth of a degree.
"""

import heapq
import itertools
import math

import numpy as np
import pytest

from fusion.calibration.collect import HELD
from fusion.orientation.rest import ADDRESS_REST_S
from fusion.orientation.track import SensorTrack
from fusion.outputs.fit import FitProgress
from fusion.outputs.instant import Phase, Series
from fusion.outputs.rep import Rep
from fusion.pairing import Pairing
from fusion.pipeline import Pipeline
from sensors.events import MoveEnd, MoveStart, RawPacket
from sensors.ids import PAIR, Role
from sensors.ingest import Ingest
from sensors.profiles.open_imu import MAX_SAMPLES, OPEN_IMU
from sensors.readings import ImuBlock
from sensors.virtual.golfer import segments
from sensors.virtual.imu import counts
from server.drills import default_drill
from tests.reworked import recut
from tests.virtual import virtual_session

SPACING_US = 5000
N_MOVES = 9


def always(size):
    return lambda _: itertools.repeat(size)


def mixed(role):
    rng = np.random.default_rng(5 if role is Role.CLUB else 6)
    return iter(rng.integers(1, MAX_SAMPLES + 1, 100_000).tolist())


CUTS = {"1": always(1), "7": always(7), "19": always(19), "mixed": mixed}


@pytest.fixture(scope="module")
def session():
    return virtual_session(6, 2)


@pytest.fixture(scope="module")
def raw(session):
    """Counts of both sensors, by clocks that agree: what is left is the cutting."""
    t_s = np.arange(int(session.practice.duration_s * 1e6 / SPACING_US)) * SPACING_US * 1e-6
    body = segments(session.practice.curves, t_s, session.build, session.player.lead_side)
    motions = {Role.FOREARM: body.forearm_sensor, Role.CLUB: body.club_sensor}
    return {
        role: counts(
            motion.body_rate_rad_s(), motion.specific_force_m_s2(), session.faults[role], OPEN_IMU, np.random.default_rng(3)
        )
        for role, motion in motions.items()
    }  # fmt: skip


def events(session, raw, sizes, *, marked=False):
    others = [event for event in session.events() if not isinstance(event, RawPacket)]
    if marked:
        others += [ended(event) for event in others if isinstance(event, MoveStart)]
        others.sort(key=lambda event: event.arrival_ns)
    streams = [
        recut(
            raw[role], sizes(role), sensor=session.links[role].sensor, start_ns=others[0].arrival_ns,
            delay_ns=4_000_000, spacing_us=SPACING_US,
        )
        for role in PAIR
    ]  # fmt: skip
    return list(heapq.merge(others, *streams, key=lambda event: event.arrival_ns))


def ended(start):
    """Its mark, at no round time; before the program would have taken most of them by itself."""
    return MoveEnd(arrival_ns=start.arrival_ns + (2_613 if start.move in HELD else 5_013) * 1_000_000, move=start.move)


def pairs_of(events):
    ingest, pairing = Ingest(), Pairing()
    tracks = {role: SensorTrack(OPEN_IMU.nominal_rate_hz) for role in PAIR}
    out = []
    for event in events:
        for item in ingest.push(event):
            assert isinstance(item, ImuBlock)
            role = ingest.role_of(item.sensor)
            out.extend(pairing.push(role, tracks[role].push(item)))
    return np.array([(t_s, *q_forearm, *q_club, *forces) for t_s, q_forearm, q_club, *forces in out])


@pytest.mark.parametrize("cut", list(CUTS))
def test_instants_and_orientations_are_the_same(session, raw, cut):
    usual, other = (pairs_of(events(session, raw, sizes)) for sizes in (always(10), CUTS[cut]))
    n = min(len(usual), len(other))
    assert n > len(raw[Role.FOREARM]) - 2 * MAX_SAMPLES  # all but what an unfinished packet holds
    assert np.abs(usual[:n] - other[:n]).max() < 1e-7


@pytest.fixture(scope="module", params=[False, True], ids=["moves found", "moves marked"])
def usual(session, raw, request):
    return request.param, run(events(session, raw, always(10), marked=request.param))


def run(events):
    pipeline = Pipeline(default_drill(), series=True)
    outputs = [output for event in events for output in pipeline.push(event)]
    return [*outputs, *pipeline.close()]


@pytest.mark.parametrize("cut", list(CUTS))
def test_moves_swings_and_every_instant_are_the_same(session, raw, usual, cut):
    marked, first = usual
    other = run(events(session, raw, CUTS[cut], marked=marked))
    taken, again = (
        [(o.move, o.state, o.measured) for o in outputs if isinstance(o, FitProgress)] for outputs in (first, other)
    )
    assert len(taken) == 2 * N_MOVES
    assert taken == again
    reps, others = ({o.index: o for o in outputs if isinstance(o, Rep)} for outputs in (first, other))
    assert list(reps) == list(others) == [1, 2]
    for index, rep in reps.items():
        for mark in (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT):
            a, b = rep.checkpoints[mark], others[index].checkpoints[mark]
            assert b.t_s == pytest.approx(a.t_s, abs=1e-5)
            assert off_deg(a.angles, b.angles) < 0.005, mark
    series, its = ([m for o in outputs if isinstance(o, Series) for m in o.moments] for outputs in (first, other))
    n = min(len(series), len(its))
    assert n > len(raw[Role.FOREARM]) - 2 * MAX_SAMPLES
    # A rest takes the instants since its middle for its own swing: whose the last ones are, samples to come would say.
    n -= round(ADDRESS_REST_S * 1e6 / SPACING_US)
    for a, b in zip(series[:n], its[:n], strict=True):
        assert b.t_s == pytest.approx(a.t_s, abs=1e-9)
        assert (b.phase, b.doubt) == (a.phase, a.doubt), a.t_s
        assert off_deg(a.angles, b.angles) < 0.02, a.t_s


def off_deg(a, b):
    """The largest difference of any angle; what is absent must be absent in both."""
    assert [value is None for value in a] == [value is None for value in b]
    angles = [(x, y) for name, x, y in zip(a._fields, a, b, strict=True) if x is not None and name != "butt_line_m"]
    return math.degrees(max((abs(math.remainder(x - y, math.tau)) for x, y in angles), default=0.0))
