"""Every rule at the door, in one tuple: each body is checked by them before it is recorded."""

from collections.abc import Callable

from webapp.precinct.plausibility.asked import Asked, Stop, Stops
from webapp.precinct.plausibility.clocks_and_roles import a_clock_is_fast_or_slow, one_person_one_role
from webapp.precinct.plausibility.counters import (
    check_ins_never_fall,
    counters_never_run_back,
    protective_counter_as_listed,
    protective_counter_never_runs_back,
    signed_prints_were_printed,
)
from webapp.precinct.plausibility.hours import polls_close_at_the_hour_in_force, polls_open_at_their_hour
from webapp.precinct.plausibility.stock import (
    a_sealed_bin_is_cut_open,
    no_more_out_of_a_bin_than_was_counted,
    packs_make_what_was_received,
    seals_add_up,
    stubs_are_written,
)
from webapp.precinct.plausibility.tapes import rows_within_precincts, votes_within_ballots

RULES: tuple[Callable[[Asked], Stops], ...] = (
    counters_never_run_back,
    protective_counter_as_listed,
    protective_counter_never_runs_back,
    check_ins_never_fall,
    signed_prints_were_printed,
    packs_make_what_was_received,
    no_more_out_of_a_bin_than_was_counted,
    a_sealed_bin_is_cut_open,
    seals_add_up,
    stubs_are_written,
    votes_within_ballots,
    rows_within_precincts,
    polls_open_at_their_hour,
    polls_close_at_the_hour_in_force,
    a_clock_is_fast_or_slow,
    one_person_one_role,
)


def stops(asked: Asked) -> list[Stop]:
    """Every objection to this body, in the order of the rules; nothing where all is as it can be."""
    return [stop for rule in RULES for stop in rule(asked)]
