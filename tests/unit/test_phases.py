import math

from fusion.outputs.instant import Phase
from fusion.swing.phases import BACKSWING, CHECKPOINTS, TABLE, View

AT_BALL = dict.fromkeys(View.__slots__, 0.0) | {
    "since_s": 0.05, "shaft_elevation": -1.0, "arm_elevation": -1.3, "arm_highest": -1.3, "arm_lowest": -1.3,
    "shaft_nearest": math.inf,
}  # fmt: skip


def view(**changes):
    return View(**(AT_BALL | changes))


def test_every_phase_has_rules_to_leave_it_but_idle_which_waits_for_a_rest():
    assert set(TABLE) == set(Phase)
    assert [phase for phase, rules in TABLE.items() if not rules] == [Phase.IDLE]


def test_every_phase_can_be_reached_from_address_and_leads_back_to_idle():
    reached, edge = {Phase.ADDRESS}, [Phase.ADDRESS]
    while edge:
        for rule in TABLE[edge.pop()]:
            if rule.to not in reached:
                reached.add(rule.to)
                edge.append(rule.to)
    assert reached == set(Phase)


def test_nothing_lasts_for_ever():
    moving = view(since_s=60.0, stir=9.0, club_turn=0.3, shaft_off=0.6)
    for phase, rules in TABLE.items():
        assert phase is Phase.IDLE or any(rule.holds(moving) for rule in rules), phase


def test_standing_still_changes_nothing():
    for phase in (Phase.ADDRESS, Phase.TAKEAWAY):
        assert not any(rule.holds(view()) for rule in TABLE[phase])


def test_impact_needs_speed_nearness_and_a_downswing_of_human_length():
    impact = next(rule for rule in TABLE[Phase.DOWNSWING] if rule.to is Phase.IMPACT)
    swing = {
        "shaft_nearest": math.radians(4), "shaft_off": math.radians(10), "closing": math.radians(700), "since_top_s": 0.27,
    }  # fmt: skip
    assert impact.holds(view(**swing))
    for change in ({"closing": math.radians(120)}, {"since_top_s": 0.8}, {"shaft_nearest": math.radians(60)}):
        assert not impact.holds(view(**(swing | change)))


def test_groups_are_made_of_phases_in_order():
    order = list(Phase)
    for group in (BACKSWING, CHECKPOINTS):
        assert sorted(group, key=order.index) == list(group)


def test_every_rule_says_why_and_no_phase_says_it_twice():
    for rules in TABLE.values():
        whys = [rule.why for rule in rules]
        assert all(whys)
        assert len(set(whys)) == len(whys)
