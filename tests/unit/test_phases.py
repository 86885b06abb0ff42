import math

from fusion.outputs import Phase
from fusion.swing.phases import BACKSWING, CHECKPOINTS, TABLE, View

EVERYDAY = View(
    since_s=0.05, club_turn=0.0, arm_turn=0.0, shaft_elevation=-1.0, arm_elevation=-1.3,
    shaft_off=0.0, shaft_rise=0.0, shaft_trail=0.0, arm_highest=-1.3, shaft_nearest=math.inf, club_rate=0.0,
)  # fmt: skip


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
    for phase, rules in TABLE.items():
        view = View(**{name: getattr(EVERYDAY, name) for name in View.__slots__} | {"since_s": 60.0})
        assert phase is Phase.IDLE or any(rule.holds(view) for rule in rules), phase


def test_standing_still_changes_nothing():
    for phase in (Phase.ADDRESS, Phase.TAKEAWAY):
        assert not any(rule.holds(EVERYDAY) for rule in TABLE[phase])


def test_groups_are_made_of_phases_in_order():
    order = list(Phase)
    for group in (BACKSWING, CHECKPOINTS):
        assert sorted(group, key=order.index) == list(group)


def test_every_rule_says_why():
    assert all(rule.why for rules in TABLE.values() for rule in rules)
