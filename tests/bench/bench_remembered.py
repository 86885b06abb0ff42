"""What the short fit of a remembered player costs: the same practices fitted with six moves and with five, as in docs/fit.md.

    python -m tests.bench.bench_remembered [PLAYERS]

Players of the built-in model. Each is fitted with all moves one day. On another day, with strap and clip put on anew, the club
held and the wrist at address a little otherwise, both sets of moves are made in one practice and its swings measured by either.
A report, never a pass or fail.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.habit import expected_habit
from fusion.calibration.session import KNOWN, WANTED
from fusion.kit import TRIM_MOVES
from fusion.outputs.fit import HabitFound
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.events import HabitSet, MoveStart
from sensors.habit import Habit
from sensors.ids import Move, Side
from sensors.virtual.fit_moves import FitMoves
from sensors.virtual.golfer import HANGING
from sensors.virtual.practice import Practice, SwingMark, address_ball, body_curves, take_swing
from sensors.virtual.session import START_NS, Player, VirtualSession, draw_session
from sensors.virtual.swing import ADDRESS, SwingShape
from sensors.virtual.timeline import Timeline
from server.drills import default_drill

QUANTITIES = ("bend", "bend_change", "hinge", "hinge_change", "shaft_elevation", "shaft_pitch")
FAULTS = (0.0, 0.4, 0.8)
PLAYER_SD_DEG = 4.0
"""Players differ by so much in how the club lies in the hand, and in the wrist at address..."""
DAY_SD_DEG = 2.0
"""... and each from day to day: assumed, no source."""
MISSES_DEG = 2.5


def make(
    moves: tuple[Move, ...], more: tuple[Move, ...], faults: tuple[float, ...], seed: int
) -> tuple[Practice, float]:
    """Lay out a practice with one set of moves, another one and swings; gives the time between the sets, too."""
    rng = np.random.default_rng(seed)
    timeline, begun = Timeline(HANGING), list[tuple[float, Move]]()
    first = FitMoves(timeline, rng, MISSES_DEG, 1.6, begun)
    first.make(Move.STILL)
    for number in range(8):
        first.make(Move.ATTITUDE, number=number)
    for move in moves:
        first.make(move)
    between_s = timeline.now_s
    for move in more:
        FitMoves(timeline, rng, MISSES_DEG, 1.6, begun, n_strokes=2).make(move)
    swings: list[SwingMark] = []
    for fault in faults:
        address_ball(timeline, rng)
        swings.append(take_swing(timeline, rng, SwingShape(fault=fault)))
    timeline.hold(1.0)
    curves = body_curves(timeline, rng, wander=1.0)
    return Practice(curves=curves, duration_s=timeline.now_s, moves=tuple(begun), swings=tuple(swings)), between_s


def held(practice: Practice, seed: int, side: Side, shaft_in_hand_deg: float) -> VirtualSession:
    """The practice with sensors put on anew, the club held so."""
    session = draw_session(practice, Player(name="Mara Voss", lead_side=side, club="7 iron"), seed)
    return replace(session, build=replace(session.build, shaft_in_hand_deg=shaft_in_hand_deg))


def stand(flexion_deg: float, ulnar_deg: float, usual: dict[str, float]) -> None:
    """Let the model's address have this wrist beside its usual one."""
    ADDRESS.update(flexion=usual["flexion"] + flexion_deg, ulnar=usual["ulnar"] + ulnar_deg)  # type: ignore[attr-defined]


def run(
    session: VirtualSession, habit: Habit | None, start_s: float, end_s: float
) -> tuple[list[HabitFound], list[Rep]]:
    """Fit with the moves begun within a stretch, and measure all swings."""
    pipeline, found, reps = Pipeline(default_drill()), list[HabitFound](), list[Rep]()
    if habit is not None:
        pipeline.push(HabitSet(arrival_ns=START_NS, habit=habit))
    first_ns: int | None = None
    for event in session.events():
        first_ns = event.arrival_ns if first_ns is None else first_ns
        at_s = (event.arrival_ns - first_ns) * 1e-9
        if isinstance(event, MoveStart) and event.move not in TRIM_MOVES and not start_s <= at_s < end_s:
            continue
        for output in pipeline.push(event):
            if isinstance(output, HabitFound):
                found.append(output)
            elif isinstance(output, Rep):
                reps.append(output)
    return found, reps


def measure(seed: int) -> NDArray[np.float64]:
    """Errors and stated deviations in degrees of one player's swings at the top: (swings, two ways, quantities, 2)."""
    rng = np.random.default_rng((seed, 5))
    side, usual = (Side.LEFT, Side.RIGHT)[seed % 2], dict(ADDRESS)
    own = rng.normal(0.0, PLAYER_SD_DEG, 3)
    try:
        shaft, flexion, ulnar = own + rng.normal(0.0, DAY_SD_DEG, 3)
        stand(flexion, ulnar, usual)
        practice, end_s = make(WANTED[1:], (), (), seed)
        found, _ = run(held(practice, seed, side, 38.0 + shaft), None, 0.0, end_s)
        shaft, flexion, ulnar = own + rng.normal(0.0, DAY_SD_DEG, 3)
        stand(flexion, ulnar, usual)
        practice, between_s = make(WANTED[1:], KNOWN, FAULTS, seed + 10_000)
        session = held(practice, seed + 10_000, side, 38.0 + shaft)
        truths = session.truths()
        ways = [
            run(session, None, 0.0, between_s)[1],
            run(session, expected_habit([found[-1].habit]), between_s, 1e9)[1] if found else [],
        ]
    finally:
        ADDRESS.update(usual)  # type: ignore[attr-defined]
    out = np.full((len(truths), 2, len(QUANTITIES), 2), np.nan)
    for i, truth in enumerate(truths):
        for way, reps in enumerate(ways):
            rep = next((rep for rep in reps if abs(rep.checkpoints[Phase.TOP].t_s - truth.top_s) < 0.2), None)
            if rep is None:
                continue
            top = rep.checkpoints[Phase.TOP]
            for k, name in enumerate(QUANTITIES):
                value, sd = getattr(top.angles, f"{name}_rad"), getattr(top.spread, f"{name}_rad")
                if value is not None and sd is not None:
                    true = np.interp(truth.top_s, truth.t_s, truth.angles[f"{name}_deg"])
                    out[i, way, k] = np.degrees(value) - true, np.degrees(sd)
    return out


def main(n_players: int) -> None:
    """All players."""
    with ProcessPoolExecutor() as pool:
        found = np.concatenate(list(pool.map(measure, range(n_players))))
    print(f"{n_players} players, {len(found)} swings; measured {np.isfinite(found[:, :, 0, 0]).sum(axis=0).tolist()}\n")
    print("| at the top | six moves | five moves, remembered |\n| --- | --- | --- |")
    for k, name in enumerate(QUANTITIES):
        cells = []
        for way in range(2):
            off, sd = found[:, way, k].T
            off, sd = off[np.isfinite(off)], sd[np.isfinite(off)]
            within = [100 * float(np.mean(np.abs(off) <= times * sd)) for times in (1, 2)]
            rms, stated = np.sqrt(np.mean(off**2)), np.sqrt(np.mean(sd**2))
            cells.append(f"{rms:.2f} ({stated:.2f}), {within[0]:.0f} and {within[1]:.0f} %")
        print(f"| {name} | {' | '.join(cells)} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
