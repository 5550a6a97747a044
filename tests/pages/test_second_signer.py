"""Two sign second at one moment; a seat is called empty while somebody could sit there: both are said by themselves."""

import re

from tests.pages.test_people import short


def closing(here):
    """The page on which the close of the polls waits for its second signature."""
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    return here.first("polls-closed")


def test_of_two_second_signers_at_one_moment_one_is_told_whose_name_stands(scene, monkeypatch):
    """Both PINs are right, both forms were on their way before either was kept."""
    here = scene("line-end")
    page = closing(here)
    another = here.another()
    other = another.get(page.path)
    with monkeypatch.context() as still_waiting:
        still_waiting.setattr(here.room.gate.pending, "done", lambda name: None)
        assert here.second(page, "okafor").status == 200
    kept = here.length
    said = another.send(other.form(page.path), {"signer": "sorensen", "pin": here.pins["sorensen"]})

    assert said.status == 409 and here.length == kept
    told = re.search(
        r"Entry \d+ was kept a moment before, signed by ([^.]*)\. The signature of ([^.]*) is not in it", said.text
    )
    assert told[1] == "Ada Lindqvist and Benedict Okafor" and told[2] == "Else Sørensen"


def test_a_seat_called_empty_while_somebody_could_sit_there_says_so_by_itself(scene):
    """Kept all the same, since an empty seat stops nothing: the entry, its page and its statement say who was at work."""
    here = scene("line-end")
    page = closing(here)
    assert short(here, page).status == 200
    kept = here.room.day.last("polls-closed")
    able = [o for o in here.room.people.working() if o.party == "P"]

    assert kept.short[0]["able"] >= len(able) > 1
    words = f"while {kept.short[0]['able']} who may take it were at work"
    assert words in here.window.get(f"/record/{kept.number}").text


def test_what_two_people_signed_first_waits_no_more_when_one_of_them_has_its_second_signature(scene):
    here = scene("voting")
    here.hold()
    form, before = here.form("/note/jam/T1"), here.length
    jam = {"counted": "yes", "went": "main-bin"}
    first = here.window.send(form, here.signed(jam, "lindqvist"))
    other = here.window.send(form, here.signed(jam, "okafor"))
    assert here.window.get("/now").text.count("Signed once, by") == 2
    here.second(first)
    assert "Signed once, by" not in here.window.get("/now").text
    here.second(other, "lindqvist")
    assert here.kinds(before) == ["jam"]
