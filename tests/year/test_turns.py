"""Turns with alike aircraft: the order of everything is that of simpy's own processes and priority resource."""

import simpy
from hypothesis import given
from hypothesis import strategies as st

from missionsim.year.turns import Turns, begin


def with_simpy(number, users):
    """Return who got and gave back an aircraft when, as simpy's resource has it."""
    env, happened = simpy.Environment(), []
    aircraft = simpy.PriorityResource(env, capacity=number)

    def user(who, waits_h, priority, stages_h):
        for wait_h in waits_h:
            yield env.timeout(wait_h)
        happened.append((env.now, who, "asks", not (aircraft.count or aircraft.queue)))
        with aircraft.request(priority=priority) as claim:
            yield claim
            happened.append((env.now, who, "has"))
            for stage_h in stages_h:
                yield env.timeout(stage_h)
        happened.append((env.now, who, "gives"))

    for who, plan in enumerate(users):
        env.process(user(who, *plan))
    env.run(until=60.0)
    return happened


def with_turns(number, users, at_once=True):
    """Return who got and gave back an aircraft when; `at_once`: taken without an event where that can be."""
    env, happened = simpy.Environment(), []
    aircraft = Turns(env, number)

    def user(who, waits_h, priority, stages_h):
        for wait_h in waits_h:
            yield env.timeout(wait_h)
        happened.append((env.now, who, "asks", aircraft.idle))
        if not (at_once and waits_h and aircraft.taken_at_once()):
            yield aircraft.ask(priority)
        happened.append((env.now, who, "has"))
        for stage_h in stages_h:
            yield env.timeout(stage_h)
        aircraft.give_back()
        happened.append((env.now, who, "gives"))

    for who, plan in enumerate(users):
        begin(user(who, *plan))
    env.run(until=60.0)
    return happened


# Whole hours, few of them, so that many things happen at the same time; some stay for no time at all.
HOURS = st.lists(st.integers(0, 4), max_size=2)
USERS = st.lists(st.tuples(HOURS, st.integers(0, 2), HOURS), max_size=12)


@given(st.integers(1, 3), USERS, st.booleans())
def test_everything_happens_in_the_order_of_a_priority_resource(number, users, at_once):
    assert with_turns(number, users, at_once) == with_simpy(number, users)


def test_who_comes_when_it_is_given_back_is_heard_first():
    # At four it is given back; the third asks right after, more urgent than the second, who has waited since one.
    happened = with_turns(1, [([0], 1, [4]), ([1], 1, [1]), ([2, 2], 0, [1])])
    assert [(at_h, who) for at_h, who, *what in happened if what == ["has"]] == [(0, 0), (4, 2), (5, 1)]


def test_a_process_runs_to_its_first_wait_at_once():
    env, happened = simpy.Environment(), []

    def process():
        happened.append(env.now)
        yield env.timeout(2.0)
        happened.append(env.now)

    begin(process())
    assert happened == [0]
    env.run()
    assert happened == [0, 2.0]
