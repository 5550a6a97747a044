"""Seals, as the page tells them: every number on a point, what is in each container, the account with its double rule, and nothing that is folded away."""

import re

from tests.pages.test_flow_picture import Cells, words
from tests.pages.walk import pages_of


def test_the_page_has_each_number_that_is_on_and_the_next_of_the_list(scene):
    here = scene("voting")
    page, day = here.window.get("/seals"), here.room.day

    assert "Every seal, and where it is now" in words(page) and "style=" not in page.text
    assert all(f">{number}<" in page.text for number in day.seals.on.values())
    assert f"Next on the office's list: {next(n for n in here.place.seals if n not in day.seals.used)}" in words(page)
    for tabulator in here.place.tabulators:
        assert f"Tabulator {tabulator.id}, box {tabulator.box}" in words(
            page
        ) and f"Memory of {tabulator.id} in {tabulator.id}, seal" in words(page)


def test_before_the_hand_over_what_was_not_applied_is_in_the_bag(scene):
    here = scene("voting")
    rows = {row[0]: row[1:] for row in Cells(here.window.get("/seals").text).rows if row}

    issued, applied = len(here.place.seals), len([n for n in here.room.day.seals.used if n in here.place.seals])
    assert [[str(issued)], [str(applied)], [str(issued - applied)], [str(issued)] * 2] == [
        rows[name] for name in ("Issued by the office", "Applied", "In the bag, not counted yet", "Together")
    ]


def test_at_the_hand_over_issued_is_applied_returned_and_damaged_together(scene):
    here = scene("packet")
    page = here.window.get("/seals")
    rows = {row[0]: row[1:] for row in Cells(page.text).rows if row}
    kept = here.room.day.last("seals-accounted").body

    assert [[str(kept[name])] for name in ("issued", "applied", "returned", "damaged")] == [
        rows[name] for name in ("Issued by the office", "Applied", "Returned unused", "Damaged")
    ]
    assert [str(kept["issued"])] * 2 == rows[
        "Together"
    ] and "Issued is applied, returned and damaged together." in words(page)
    for container in here.place.containers:
        assert container.id in words(page) and here.room.day.seals.on[container.id] in words(page)


def test_a_container_that_nobody_looked_into_is_not_said_to_be_empty(scene):
    """Spoiled ballots go into their envelope all day long; the record says what is in it at the close."""
    here = scene("voting")
    here.hold()
    here.crew.note("spoiled")
    said = words(here.window.get("/seals"))

    assert "E1 spoiled ballots not sealed yet" in said and "empty, not sealed" not in said


def test_a_bin_emptied_in_the_day_shows_what_went_into_which_container(scene):
    here = scene("voting")
    box = here.place.boxes[0].id
    here.hold("lindqvist")
    form = here.form(f"/note/bin-emptied/{box}")
    spare = [number for number in here.place.seals if number not in here.room.day.seals.used]
    values = here.filled(form, "bin-emptied", box) | {"seal": spare[0], "new_seal": spare[1], "ballots": "79"}
    page = here.second(here.window.send(form, here.signed(values, "lindqvist")))
    assert page.status == 200, page.said()

    assert "79 ballots out of the" in words(here.window.get("/seals")) and "Bin emptied at" in words(
        here.window.get("/seals")
    )


def test_a_broken_seal_that_none_followed_is_wrong_on_every_page_that_says_what_is_wrong(scene):
    here = scene("voting")
    here.hold()
    point = f"{here.place.boxes[0].id}-main"
    number = here.room.day.seals.on[point]
    here.crew.note("seal-broken", where=point, old=number, new="", why="A cart bumped it.")
    entry = here.length
    came_off = f"Seal {number} came off ballot box door under T1, entry {entry}, and no entry says that another was applied there."

    coming_in = words(here.window.get("/coming-in"))
    assert came_off in coming_in and "Nothing that this laptop knows of" not in coming_in
    assert came_off in words(here.window.get("/seals"))
    assert "ballot box door under T1. Seal it, and write it in Note: Seal applied." in words(here.window.get("/now"))

    spare = next(n for n in here.place.seals if n not in here.room.day.seals.used)
    here.crew.note("seal-applied", where=point, old="", new=spare)
    assert came_off not in words(here.window.get("/seals")) and "No seal is on since" not in words(
        here.window.get("/now")
    )
    assert "Nothing that this laptop knows of" in words(here.window.get("/coming-in"))


def test_a_door_that_was_opened_at_the_close_has_no_seal_on_it_any_more(scene):
    here = scene("packet")
    day, box = here.room.day, here.place.boxes[0].id
    door = day.seals.on[f"{box}-main"]
    page = here.window.get("/seals")

    assert f'<b class="hand">{door}</b>' not in page.text
    assert f"off since its door was opened at the close, entry {day.last(f'bins-out:{box}').number}" in words(page)
    assert f">{door}<" not in here.window.get("/coming-in").text


def test_from_the_close_until_the_last_blind_count_no_page_has_a_figure_of_the_readings(scene):
    """Count and the tallies are folded away on every page, Record and Seals included."""
    here = scene("unused")
    figures = {
        str(n)
        for kept in here.room.day.of("hourly")
        for part in ("counters", "check_ins")
        for n in (*kept.body[part].values(), sum(kept.body[part].values()))
        if n > 150
    }
    figures -= {str(s.received) for s in here.place.stock}
    assert len(figures) > 8
    for path, page in pages_of(here, here.window):
        if page.status == 200 and "html" in page.headers["content-type"]:
            said = re.sub(r"<[^>]+>", " ", page.text.split("<body", 1)[-1]).replace(",", "")
            assert not [f for f in figures if f in said and re.search(rf"(?<![\w.:#-]){f}(?![\w.:%-])", said)], path
