"""The waiting-line model against values computed apart from it, a published solution, and the trade's worked table."""

import json

import pytest

from webapp.precinct.reports.mmc_queue import erlang_b, in_a_day, least, queue

# Of ../shared/standards/queueing.md, computed with exact fractions by two formulas (an independent library gives the same up to 55 stations): c, a, C, B, mean line, mean wait in service times
ERLANG = [
    (1, 0.8, 0.8, 0.4444444444, 3.2, 4),
    (2, 1.5, 9 / 14, 0.3103448276, 1.92857143, 1.28571429),
    (3, 2.7, 6561 / 8030, 0.3087384123, 7.35354919, 2.72353674),
    (8, 7, 823543 / 1296273, 0.1788218265, 4.44721212, 0.63531602),
    (55, 48, 0.2387009364, 0.0383742807, 1.63680642, 0.03410013),
    (100, 90, 0.2169404809, 0.0269573805, 1.95246433, 0.02169405),
]
# ... servers, arrivals an hour, seconds each, limit s, chance to wait, mean wait s, mean line, share over the limit, 95 % wait at most s
ROOMS = [
    (1, 45, 75, 300, 0.9375, 1125.000, 14.0625, 0.730126, 3517.43),
    (2, 60, 90, 300, 0.642857, 115.714, 1.9286, 0.121420, 459.70),
    (4, 36, 360, 600, 0.787753, 708.978, 7.0898, 0.404446, 2481.45),
    (10, 90, 360, 1800, 0.668732, 240.743, 6.0186, 0.004506, 933.61),
]


def digits(text: float) -> int:
    """Decimal places that a stored value carries."""
    return len(repr(text).partition(".")[2])


def same(stored: float, worked_out: float) -> bool:
    """Equal to the stored value's own digits."""
    return round(worked_out, digits(stored)) == pytest.approx(stored, abs=0.51 * 10 ** -digits(stored))


@pytest.mark.parametrize("c, a, chance, blocked, line, wait", ERLANG)
def test_erlangs_values_are_those_of_exact_fractions(c, a, chance, blocked, line, wait):
    found = queue(a * 3600 / 100, 100, c)

    assert chance == pytest.approx(found.waits, abs=1e-10) and blocked == pytest.approx(erlang_b(a, c), abs=1e-10)
    assert line == pytest.approx(found.line, abs=1e-8) and wait == pytest.approx(found.mean / 100, abs=1e-8)


@pytest.mark.parametrize("c, per_hour, seconds, limit, chance, mean, line, over, most", ROOMS)
def test_the_figures_of_a_polling_place_are_those_of_the_table(
    c, per_hour, seconds, limit, chance, mean, line, over, most
):
    found = queue(per_hour, seconds, c)

    assert (chance, mean, line) == (round(found.waits, 6), round(found.mean, 3), round(found.line, 4))
    assert (over, most) == (round(found.longer(limit), 6), round(found.within(0.95), 2))


def test_every_stored_value_is_met_to_its_digits(shared):
    stored = json.loads(shared("standards/queueing-values.json").read_text())
    for row in stored["erlang"]:
        found = queue(row["offered_load"] * 3600, 1, row["servers"])
        assert same(row["erlang_c"], found.waits) and same(
            row["erlang_b"], erlang_b(row["offered_load"], row["servers"])
        ), row
        assert (
            same(row["mean_queue_length"], found.line)
            and same(row["mean_wait_in_service_times"], found.mean)
            and same(row["utilisation"], found.load)
        ), row
    for row in stored["waits"]:
        found = queue(row["arrivals_per_hour"], row["mean_service_seconds"], row["servers"])
        assert (
            same(row["p_wait"], found.waits)
            and same(row["mean_wait_seconds"], found.mean)
            and same(row["mean_queue_length"], found.line)
        ), row
        assert same(row["p_wait_longer_than_limit"], found.longer(row["limit_seconds"])) and same(
            row["wait_95_percentile_seconds"], found.within(0.95)
        ), row
    assert len(stored["erlang"]) > 10 and len(stored["waits"]) > 8


def test_where_as_many_arrive_as_can_be_served_no_number_is_given(shared):
    for row in json.loads(shared("standards/queueing-values.json").read_text())["no_steady_state"]:
        found = queue(row["arrivals_per_hour"], row["mean_service_seconds"], row["servers"])
        assert found.load >= 1 and (None, None, None, None, None) == (
            found.waits,
            found.mean,
            found.line,
            found.longer(60),
            found.within(0.95),
        ), row


def test_the_least_stations_are_those_of_the_stored_values(shared):
    for row in json.loads(shared("standards/queueing-values.json").read_text())["least_servers"]:
        found = least(
            row["arrivals_per_hour"], row["mean_service_seconds"], row["limit_seconds"], row["allowed_share_over_limit"]
        )
        assert row["least_servers"] == found.stations and same(
            row["share_over_limit"], found.longer(row["limit_seconds"])
        ), row
        one_less = queue(row["arrivals_per_hour"], row["mean_service_seconds"], found.stations - 1).longer(
            row["limit_seconds"]
        )
        assert (
            one_less is None
            if isinstance(row["share_over_limit_with_one_less"], str)
            else same(row["share_over_limit_with_one_less"], one_less)
        ), row


@pytest.mark.parametrize(
    "per_hour, minutes, stations, load, waits, mean, over_ten",
    [
        (60, 2, 3, 0.667, 0.4444, 0.889, 0.0030),
        (100, 2, 4, 0.833, 0.6577, 1.973, 0.0235),
        (90, 6, 10, 0.900, 0.6687, 4.012, 0.1263),
        (60, 10, 11, 0.909, 0.6821, 6.821, 0.2509),
        (60, 0.75, 1, 0.750, 0.7500, 2.250, 0.0268),
        (60, 0.75, 2, 0.375, 0.2045, 0.123, 0.0000),
    ],
)
def test_the_queue_is_that_of_the_worked_table(per_hour, minutes, stations, load, waits, mean, over_ten):
    """The trade's notes, section 11: reckoned apart from this code, the formula held by the published solution below."""
    found = queue(per_hour, minutes * 60, stations)

    assert (load, waits, mean, over_ten) == (
        round(found.load, 3),
        round(found.waits, 4),
        round(found.mean / 60, 3),
        round(found.longer(600), 4),
    )


def test_the_queue_is_that_of_a_published_solution():
    """240 voters an hour, 50 an hour for each booth: 5 booths hold 26.44 people, 6 booths take 0.0286 h in all (a textbook-style solution, trade's notes 11)."""
    five, six = queue(240, 72, 5), queue(240, 72, 6)

    assert 26.44 == round(five.line + five.offered, 2)
    assert 0.0286 == round((six.mean + 72) / 3600, 4)


def test_the_line_and_its_wait_agree_with_littles_law():
    """Line = rate x wait (trade's notes 11: 40 in line at 80 an hour is 30 minutes)."""
    found = queue(80, 60, 2)

    assert found.line == pytest.approx(80 / 3600 * found.mean)


def test_one_station_serves_so_many_in_a_day():
    """Queue-stop rule, Edelstein and Edelstein 2010: 720 minutes open, 5 minutes each: 72; 3: 120; 7: 51. At 780 minutes and 5: 78 (trade's notes 11)."""
    assert [72, 120, 51, 78] == [in_a_day(720, 5), in_a_day(720, 3), in_a_day(720, 7), in_a_day(780, 5)]


def test_nobody_arriving_waits_for_nothing_and_needs_one_station():
    assert (0, 0, 0) == (
        queue(0, 300, 2).mean,
        queue(0, 300, 2).within(0.95),
        queue(0, 300, 2).longer(600),
    ) and 1 == least(0, 300).stations


@pytest.mark.parametrize("wrong", [(-1, 2, 3), (60, 0, 3), (60, 2, 0)])
def test_a_queue_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match="stations from 1 up"):
        queue(*wrong)
