"""The shapes a figure may have, and the ways a room's figures belong together: scopes, runs, boxes, emptyings, sheets, days."""

from tests.balance.cast import gaps, night, open_lines, unchecked
from webapp.precinct.balance.balance import balance
from webapp.precinct.explain.explain import explained


def test_no_part_at_all_is_balanced_and_not_complete():
    found = explained({})

    assert found.balanced and not found.complete and found.lines == () and found.explanations == ()


def test_the_clean_night_is_balanced_and_complete():
    found = explained(night())

    assert found.balanced and found.complete
    assert [line.id for line in found.lines] == ["stock", "poll-book", "bins:T1", "counter:T1", "lifetime:T1", "stubs"]
    assert unchecked(night()) == {"containers": ["containers"]}


def test_complete_asks_for_a_counter_of_every_tabulator():
    figures = night()
    figures["tabulators"].append({"id": "T2", "tape": 0})

    assert not explained(figures).complete
    assert unchecked(figures)["counter:T2"] == ["counter_at_zero", "counter_at_close"]


def test_without_a_tape_paper_is_held_against_the_book():
    figures = night()
    del figures["tabulators"][0]["tape"]

    assert gaps(figures) == {"paper-to-book": 0, "lifetime:T1": 0, "stubs": 0}
    assert unchecked(figures)["stock"] == ["tape"] and unchecked(figures)["poll-book"] == ["tape"]


def test_a_place_without_tabulators_draws_all_three_once_the_hand_count_is_in():
    figures = {"stock": {"received": 500, "unused": 300}, "poll_book": 195, "set_aside": {"spoiled": 5}}

    assert gaps(figures) == {"paper-to-book": 0}
    assert gaps({**figures, "set_aside": {"spoiled": 5, "hand-counted": 195}}) == {
        "stock": 0,
        "poll-book": 0,
        "paper-to-book": 0,
    }


def test_a_tabulator_whose_tape_is_missing_adds_nothing_and_only_its_own_lines_wait():
    figures = night(T1__tape=400, T1__counter_at_close=400, T1__lifetime_at_close=9400, T1__bins={"main": 400})
    figures["tabulators"].append({"id": "T2", "counter_at_zero": 0, "counter_at_close": 31})

    assert open_lines(figures) == {"stock": 31, "poll-book": 31}
    assert unchecked(figures)["counter:T2"] == ["tape"] and unchecked(figures)["bins:T2"] == ["bins", "tape"]


def test_rows_of_one_scope_on_both_sides_draw_it_and_the_sum():
    figures = night(
        poll_book=[{"precinct": "P3", "n": 300}, {"precinct": "P4", "n": 132}],
        T1__tape=[{"precinct": "P3", "n": 299}, {"precinct": "P4", "n": 132}],
    )
    figures["set_aside"]["taken"] = [{"precinct": "P3", "n": 1}]

    assert gaps(figures)["poll-book@P3"] == 0 and gaps(figures)["poll-book@P4"] == 0 and gaps(figures)["poll-book"] == 0


def test_a_figure_without_the_scope_keeps_the_scoped_line_unchecked():
    figures = night(
        poll_book=[{"precinct": "P3", "n": 300}, {"precinct": "P4", "n": 132}],
        T1__tape=[{"precinct": "P3", "n": 299}, {"precinct": "P4", "n": 132}],
    )

    assert not any(id.startswith("poll-book@") for id in gaps(figures))
    assert unchecked(figures)["poll-book"] == ["taken by precinct"]


def test_two_precincts_off_by_one_each_way_are_not_balanced():
    figures = night(
        poll_book=[{"precinct": "P3", "n": 301}, {"precinct": "P4", "n": 131}],
        T1__tape=[{"precinct": "P3", "n": 299}, {"precinct": "P4", "n": 132}],
        set_aside__taken=[{"precinct": "P3", "n": 1}],
    )

    assert open_lines(figures) == {"poll-book@P3": 1, "poll-book@P4": -1}
    assert not explained(figures).balanced


def test_stubs_run_per_style_and_open_pack_less_missing_numbers():
    stock = {
        "received": [{"style": "1A", "n": 200}, {"style": "1B", "n": 200}],
        "unused": [{"style": "1A", "n": 150}, {"style": "1B", "n": 161}],
    }
    stubs = [
        {"style": "1A", "first": 1, "next": 31},
        {"style": "1A", "first": 101, "next": 122, "missing": [107]},
        {"style": "1B", "first": 1, "next": 41, "missing": [7]},
    ]

    assert gaps({"stock": stock, "stubs": stubs}) == {"stubs": 0, "stubs@1A": 0, "stubs@1B": 0}


def test_the_last_two_equal_hand_counts_settle_a_figure():
    settled = explained(night(stock__unused={"counts": [960, 961, 961]}))
    unsettled = explained(night(stock__unused={"counts": [961, 961, 960]}))

    assert settled.balanced and "differ" not in settled.lines[0].says
    assert unsettled.gaps[0].gap == 1 and "the last, 960, counts" in unsettled.gaps[0].says and unsettled.gaps[0].notes


def test_the_envelope_stands_in_the_lines_and_its_log_beside_it():
    figures = night(set_aside__spoiled={"logged": 3, "counts": [2, 2]})

    assert open_lines(figures) == {"aside:spoiled": -1}
    assert unchecked(night(set_aside__spoiled={"logged": 2}))["aside:spoiled"] == ["counts"]


def test_a_memory_moved_to_a_spare_has_two_runs_and_one_tape():
    runs = [
        {"unit": "A", "counter": [0, 212], "lifetime": [9000, None]},
        {"unit": "B", "counter": [212, 431], "lifetime": [4000, 4219]},
    ]
    figures = night(tabulators=[{"id": "M1", "tape": 431, "runs": runs}])

    assert gaps(figures) == {"stock": 0, "poll-book": 0, "counter:M1": 0, "lifetime:M1@B": 0, "stubs": 0}
    assert ("lifetime:M1", ("lifetime",), {"unit": "A"}) in [
        (member.id, member.missing, member.scope) for member in explained(figures).unchecked
    ]


def test_a_fresh_start_has_two_tapes_over_one_box():
    figures = night(
        tabulators=[{"id": "M0", "box": "X", "tape": 212}, {"id": "M1", "box": "X", "tape": 219}],
        boxes=[{"id": "X", "bins": {"main": 402, "write-in": 29}}],
    )

    assert open_lines(figures) == {} and gaps(figures)["bins:X"] == 0


def test_a_morning_fed_again_counts_once():
    tabulators = [
        {"id": "M0", "box": "X", "tape": 212, "fed_again": {"on": "M1", "n": 212}},
        {"id": "M1", "box": "X", "tape": 431},
    ]
    figures = night(tabulators=tabulators, boxes=[{"id": "X", "bins": {"main": 431}}])

    assert open_lines(figures) == {} and gaps(figures)["bins:X"] == 0


def test_an_allowed_subtraction_comes_off_the_tape_but_not_off_the_counter():
    figures = night(
        T1__tape=433,
        T1__counter_at_close=433,
        T1__lifetime_at_close=9433,
        T1__subtract={"n": 2, "why": "a jam counted twice"},
    )

    assert open_lines(figures) == {}


def test_an_uncounted_emptying_is_the_counters_number_since_the_last_one():
    emptied = [
        {"at": "10:00", "counter": 100, "n": None, "container": "C1"},
        {"at": "14:00", "counter": 290, "n": {"counts": [189, 190, 190]}, "container": "C2"},
        {"at": "16:00", "counter": 350, "container": "C3"},
    ]
    figures = night(
        tabulators=[{"id": "T1", "box": "X", "tape": 431}],
        boxes=[{"id": "X", "bins": {"main": 81}, "emptied": emptied}],
        containers=[
            {"id": "C1"},
            {"id": "C2", "ballots": 190},
            {"id": "C3", "ballots": None},
            {"id": "C4", "ballots": 81},
        ],
    )

    assert open_lines(figures) == {} and gaps(figures)["bins:T1"] == 0 and gaps(figures)["containers"] == 0


def test_a_container_whose_number_nobody_knows_keeps_the_line_unchecked():
    figures = night(containers=[{"id": "C1", "seal": "0412"}, {"id": "C2", "ballots": 219}])

    assert unchecked(figures)["containers"] == ["ballots"]


def test_bins_never_counted_are_not_asked_for():
    figures = night(rules={"bins_counted": "never"})
    del figures["tabulators"][0]["bins"]

    assert "bins:T1" not in unchecked(figures)


def test_three_second_sheets_not_returned_are_a_note_and_one_too_many_a_gap():
    def tape(second):
        return [{"sheet": 1, "n": 431}, {"sheet": 2, "n": second}]

    kept = explained(night(rules={"sheets": 2}, T1__tape=tape(428)))
    more = explained(night(rules={"sheets": 2}, T1__tape=tape(432)))

    assert kept.balanced and "3 second sheets not returned." in next(
        line.says for line in kept.lines if line.id == "sheets"
    )
    assert [(line.id, line.gap) for line in more.gaps] == [("sheets", 1)]


def test_later_sheets_are_held_against_the_stock_where_it_names_them():
    stock = {
        "received": [{"sheet": 1, "n": 1400}, {"sheet": 2, "n": 1400}],
        "unused": [{"sheet": 1, "n": 961}, {"sheet": 2, "n": 970}],
    }
    aside = {"spoiled": [{"sheet": 1, "n": 2}, {"sheet": 2, "n": 2}], "provisional": 5, "taken": 1}
    figures = night(stock=stock, set_aside=aside, T1__tape=[{"sheet": 1, "n": 431}, {"sheet": 2, "n": 428}])

    assert gaps(figures)["sheets@2"] == 0 and gaps(figures)["sheets@2@stock"] == 0
    assert open_lines(
        night(
            **{
                **{key: figures[key] for key in ("stock", "set_aside")},
                "T1__tape": [{"sheet": 1, "n": 431}, {"sheet": 2, "n": 429}],
            }
        )
    ) == {"sheets@2@stock": 1}


def test_a_days_end_is_the_next_days_start():
    days = [
        {"id": "1", "unused_end": 960, "counters_end": {"M1": 431}},
        {"id": "2", "unused_start": 959, "counters_start": {"M1": 431}},
    ]

    assert gaps({"days": days}) == {"carry:unused": 1, "carry:M1": 0}


def test_three_days_name_the_day_that_begins():
    days = [
        {"id": "1", "unused_end": 960},
        {"id": "2", "unused_start": 960, "unused_end": 500},
        {"id": "3", "unused_start": 499},
    ]

    assert gaps({"days": days}) == {"carry:unused@2": 0, "carry:unused@3": 1}


def test_on_a_later_day_cast_is_the_tape_less_the_counter_at_zero():
    days = [{"id": "1", "counters_end": {"M1": 431}}, {"id": "2", "counters_start": {"M1": 431}}]
    tabulators = [{"id": "M1", "tape": 900, "counter_at_zero": 431, "counter_at_close": 900, "bins": {"main": 469}}]
    figures = {"days": days, "stock": {"received": 960, "unused": 491}, "poll_book": 469, "tabulators": tabulators}

    assert open_lines(figures) == {} and gaps(figures)["bins:M1"] == 0 and gaps(figures)["counter:M1"] == 0


def test_copies_have_a_pile_of_their_own_and_nothing_is_added_twice():
    figures = night(
        other_stock={"copy": {"received": 60, "unused": 6}},
        cast_from={"copy": 20},
        T1__tape=451,
        T1__counter_at_close=451,
        T1__lifetime_at_close=9451,
        T1__bins={"main": 451},
        poll_book=486,
        set_aside={"spoiled": 2, "provisional": 5, "taken": 1, "hand-counted": [{"origin": "copy", "n": 34}]},
    )

    assert open_lines(figures) == {}
    assert gaps(figures)["stock@copy"] == 0


def test_adding_a_part_that_stands_by_itself_changes_no_other_line():
    before, after = (
        gaps(night()),
        gaps(
            night(
                seal_stock={"issued": 3, "applied": 1, "returned": 1}, recounts=[{"of": "M1", "first": 3, "second": 3}]
            )
        ),
    )

    assert {id: gap for id, gap in after.items() if id in before} == before


def test_every_line_speaks_both_figures_the_difference_and_which_way():
    from tests.balance.stored_files import RICH

    for figures in (night(poll_book=430), night(stock__unused=960), RICH):
        for line in balance(figures).lines:
            assert str(line.left) in line.says and str(line.right) in line.says, line.says
            assert ("they agree" in line.says) if line.gap == 0 else str(abs(line.gap)) in line.says
            assert " -" not in line.says and " +" not in line.says
