"""What must hold on every day, however odd: the desk draws from the core the very lines the place drew, and nothing is folded otherwise cold than warm."""

import json

from hypothesis import HealthCheck, given, settings

from day.random_days import days
from tests.matrix import examples
from webapp.packet import contents
from webapp.precinct.account import figures_of_day
from webapp.precinct.account.balanced_day import BalancedDay, fold
from webapp.precinct.balance.balance import balance
from webapp.precinct.day import seal_log
from webapp.record import cbor

often = settings(
    max_examples=examples(50), deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def said(figures):
    """Every line with its figures and its sentence, and every line that could not be drawn."""
    drawn = balance(figures)
    return (
        [(line.id, line.scope, line.left, line.right, line.says) for line in drawn.lines],
        drawn.unchecked,
        drawn.complete,
    )


@often
@given(days())
def test_the_balance_drawn_from_the_core_is_the_balance_of_the_day(told):
    place, entries = told
    day = fold(place, entries)
    day.head = bytes(32)
    core = cbor.decode(cbor.encode(contents.core(place, day, 1, None, 0)))

    assert said(figures_of_day.checked(place, day).figures) == said(contents.figures(core, place))
    assert [[name, gap] for name, gap in core["gaps"]] == [
        [line.name, line.gap] for line in balance(contents.figures(core, place)).gaps
    ]


@often
@given(days())
def test_the_figures_come_back_key_by_key(told):
    place, entries = told
    day = fold(place, entries)
    day.head = bytes(32)
    core = contents.core(place, day, 1, None, 0)

    assert json.loads(json.dumps(figures_of_day.checked(place, day).figures)) == json.loads(
        json.dumps(contents.figures(core, place))
    )


@often
@given(days())
def test_a_day_looked_at_after_every_entry_is_the_day_folded_at_once(told):
    place, entries = told
    warm = BalancedDay(place)
    for entry, texts in entries:
        warm.add(entry, texts)
        warm.readings, warm.notes.noted, warm.seals.on, warm.balance, warm.folded_away
    cold = fold(place, entries)

    assert figures_of_day.checked(place, cold).figures == figures_of_day.checked(place, warm).figures
    assert (cold.readings, cold.kept, seal_log.amiss(place, cold), cold.impossible) == (
        warm.readings,
        warm.kept,
        seal_log.amiss(place, warm),
        warm.impossible,
    )


@often
@given(days())
def test_the_account_can_always_be_printed(told):
    place, entries = told
    day = fold(place, entries)
    day.head = bytes(32)
    account = contents.account(contents.core(place, day, 1, None, 0), contents.remarks(place, day), place, bytes(32))

    assert all(row.figure is None or row.figure >= 0 for row in account.rows)
    assert len(account.gaps) == len(day.balance.gaps)
