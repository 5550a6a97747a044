"""Blind keying: until the second set is kept, nothing that leaves the server holds a figure of the first.

The sets are typed with figures that occur nowhere else, and every body and header of every page is searched for them.
"""

import re
import uuid

from tests.matrix import nightly
from tests.pages.walk import pages_of


def key(here, at, person, changed):
    """Key a tape with these figures put in; the page that follows and all that was sent."""
    form = here.form(f"/tape/{at}", f"/tape/{at}/key")
    values = here.filled(form, "tape-typed", at)
    names = [n for n in values if ".votes." in n][: len(changed)]
    return form, values | dict(zip(names, changed, strict=True)), person


def sent(here, made, **more):
    form, values, person = made
    return posted(here, form, here.signed(values, person) | more)


def posted(here, form, values):
    """Sent as whoever keyed it sends it after one refusal: these figures are far beyond the ballots, and the tape prints them so."""
    return here.window.post(form.action, [*form.filled(values), ("as_printed", "yes")])


def holds(page, figures):
    """Which of these figures the answer holds, in body or headers, with and without thousands marked."""
    said = page.body.decode("utf-8", "replace") + "\n" + "\n".join(f"{k}: {v}" for k, v in page.headers.items())
    return [
        f
        for f in figures
        if f"{int(f):,}" in said or f in said and re.search(rf"(?<![0-9A-Fa-f]){f}(?![0-9A-Fa-f])", said)
    ]


FIRST = ("77123", "88231", "66317")


@nightly(held_by="tests/pages/test_contact.py::test_r9_until_both_sets_are_in_no_answer_of_either_door_holds_the_first")
def test_no_page_holds_a_figure_of_the_first_keying_until_the_second_is_kept(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    page = sent(here, key(here, at, "lindqvist", FIRST))
    assert page.status == 200, page.said()
    assert not holds(page, FIRST)
    for path, answer in pages_of(here, here.window):
        assert not holds(answer, FIRST), path
    other = here.another()
    for path, answer in pages_of(here, other):
        assert not holds(answer, FIRST), path


def test_a_mistake_in_the_second_form_says_nothing_of_the_first(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    sent(here, key(here, at, "lindqvist", FIRST))
    for more in (
        {"pin": "111222"},
        {"signer": "tanaka", "pin": here.pins["tanaka"]},
        {"signer": "lindqvist", "pin": here.pins["lindqvist"]},
    ):
        made = key(here, at, "okafor", ("55991", "many", "44871"))
        page = posted(here, made[0], here.signed(made[1], "okafor") | more)
        assert page.status == 422 and not holds(page, FIRST)
        assert "55991" in page.text  # what this person typed stays


def test_back_and_reload_show_no_keyed_figure(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    sent(here, key(here, at, "lindqvist", FIRST))
    page = here.window.get(f"/tape/{at}")
    assert page.headers["cache-control"] == "no-store"
    assert not holds(page, FIRST) and all(
        c.value == "" for n, c in page.form(f"/tape/{at}/key").controls.items() if ".votes." in n
    )


def test_both_sets_stand_side_by_side_when_the_second_is_kept_and_a_difference_is_named(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    sent(here, key(here, at, "lindqvist", FIRST))
    page = sent(here, key(here, at, "okafor", ("77123", "88213", "66317")))
    assert page.status == 200, page.said()
    assert holds(page, ("88231", "88213")) == ["88231", "88213"]


def test_what_waits_at_the_gate_holds_no_keyed_figure_and_a_restart_changes_nothing(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    sent(here, key(here, at, "lindqvist", FIRST))
    here.restart()
    for path, answer in pages_of(here, here.window, kinds=False, routes=True):
        assert not holds(answer, FIRST), path
    assert "Ada Lindqvist" in here.window.get(f"/tape/{at}").text


def test_closing_counts_that_one_person_signed_are_on_no_page_but_the_one_that_awaits_the_second(scene):
    here = scene("unused")
    form = here.form("/step/unused", "/step/")
    values = here.filled(form, "unused")
    name = next(n for n in values if n.endswith("unused.3A"))
    page = posted(here, form, here.signed(values | {name: "77123"}, "lindqvist"))
    assert page.path.startswith("/sign/"), page.said()
    for path, answer in pages_of(here, here.another(), kinds=False):
        if not path.startswith("/sign/"):
            assert not holds(answer, ("77123",)), path


def test_the_second_keying_is_neither_by_the_first_person_nor_by_one_of_their_party(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    sent(here, key(here, at, "lindqvist", FIRST))
    kept = here.length
    for who, said in (("lindqvist", "has signed already"), ("tanaka", "and Ada Lindqvist count as one party here")):
        page = sent(here, key(here, at, who, FIRST))
        assert page.status == 422 and said in page.said() and here.length == kept


def test_a_keying_sent_again_is_the_same_set_and_other_figures_under_its_number_are_refused(scene):
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    made = key(here, at, "lindqvist", FIRST)
    assert sent(here, made).status == 200
    kept = here.length
    here.pass_time(1)
    assert sent(here, made).status == 200 and here.length == kept
    name = next(n for n in made[1] if ".votes." in n)
    page = posted(here, made[0], here.signed(made[1] | {name: "55991"}, "lindqvist"))
    assert page.status == 422 and "Already entry" in page.said() and here.length == kept and not holds(page, FIRST[:1])


def test_a_first_look_before_the_counts_are_signed_is_told_why_and_nothing_is_kept(scene):
    here = scene("unused")
    before = here.length
    token = here.window.get("/tablet").form("/tablet/light").controls["csrf_token"].value
    ids = [
        ("entry_id", uuid.uuid4().hex),
        ("salt", uuid.uuid4().hex),
        ("seen", "yes"),
        ("signer", "lindqvist"),
        ("pin", here.pins["lindqvist"]),
    ]
    page = here.window.post("/balance/look", [("csrf_token", token), *ids])
    assert page.status == 409 and "count first, then look" in page.text and here.length == before


def test_a_first_look_that_is_kept_already_says_as_which_entry_and_the_same_one_sent_again_is_no_second(scene):
    here = scene("first-look")
    page = here.window.get("/balance")
    form = page.form("/balance/look")
    sent = here.signed({"seen": "yes"}, "lindqvist")
    here.second(here.window.send(form, sent))
    number = here.length
    again = here.window.send(form, sent)
    assert again.status == 200 and again.path == "/balance"
    form.controls["entry_id"].value = uuid.uuid4().hex
    other = here.window.send(form, sent)
    assert other.status == 409 and f"kept already, as entry {number}" in other.text and here.length == number
