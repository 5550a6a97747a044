"""The record saved as a file from the page Record of a served folder: signed, checked, never while something is hidden; the drill's page; a stick that hand-over lists."""

import json

import pytest

from tests.pages.conftest import playbook, scene  # noqa: F401 - the played day
from tests.pages.tablets import admitted, tablets_door
from webapp.commands import main
from webapp.stick.backup_process import StickStatus


def saved(here, words: str, person: str = "lindqvist", **more):
    form = here.form("/record/export")
    return here.window.send(form, {"words": words, "signer": person, "pin": here.pins[person]} | more)


@pytest.mark.parametrize("words", ["yes", "no"])
def test_a_served_folder_exports_its_record_and_says_so_in_it(scene, tmp_path, capsys, words):  # noqa: F811
    here = scene("voting")
    here.hold()
    note = {"where": "entrance", "what": "A quarrel about the queue.", "told": "the duty clerk"}
    assert here.window.send(here.form("/note/incident"), here.signed(note, "lindqvist")).status == 200
    before = here.length
    assert 'href="/record/export"' in here.window.get("/record").text
    page = saved(here, words)
    assert page.status == 200 and page.headers["content-type"] == "application/cbor-seq", page.said()
    (entry,) = here.room.ledger.entries(after=before)
    assert (entry.kind, entry.body, [one.person for one in entry.signers]) == (
        "exported",
        {"with_words": words == "yes", "after": before},
        ["lindqvist"],
    )
    assert f'filename="{here.place.id}-record-{entry.number}.cborseq"' in page.headers["content-disposition"]
    file = tmp_path / "record.cborseq"
    file.write_bytes(page.body)
    assert main(["record", "verify", str(file), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["ok"], said["entries"]) == (True, here.length) and said["head"] == here.room.ledger.head.hex()
    assert ("withheld" in said["says"]) is (words == "no") and (b"A quarrel" in page.body) is (words == "yes")


def test_a_mistake_on_the_page_keeps_nothing_and_no_file_leaves(scene):  # noqa: F811
    here = scene("voting")
    here.hold()
    before = here.length
    page = saved(here, "")
    assert page.status == 422 and "Choose whether the free words are included" in page.said()
    page = saved(here, "yes", pin="")
    assert page.status == 422 and "Enter the PIN" in page.said() and here.length == before


def test_while_figures_are_hidden_the_record_does_not_leave(scene):  # noqa: F811
    here = scene("unused")
    before = here.length
    assert "not exported yet" in here.window.get("/record/export").text
    token = here.window.get("/tablet").form("/tablet/light").controls["csrf_token"].value
    page = here.window.post("/record/export", [("csrf_token", token), ("words", "yes")])
    assert page.status == 409 and here.length == before


def test_tablets_have_no_export(scene):  # noqa: F811
    here = scene("voting")
    with tablets_door(here) as port:
        window = admitted(here, port)
        assert window.get("/record/export").status == 404
        assert "/record/export" not in window.get("/record").text


def test_the_drill_is_in_the_menu_of_a_practice_place_only(scene, monkeypatch):  # noqa: F811
    here = scene("dawn")
    assert 'href="/drill"' in here.window.get("/now").text
    assert "tapeseal drill --hands" in here.window.get("/drill").text
    monkeypatch.setattr(here.room, "practice", False)
    assert here.window.get("/drill").status == 404


def test_hand_over_lists_a_stick_that_has_been_behind_for_a_quarter_of_an_hour(scene, monkeypatch):  # noqa: F811
    here = scene("packet")
    assert "data-stick-notice" not in here.window.get("/steps/hand-over").text

    class Behind:
        status = StickStatus("gone", here.length - 3, False)

    monkeypatch.setattr(here.room, "backup", Behind())
    here.pass_time(1)
    assert "data-stick-notice" not in here.window.get("/steps/hand-over").text
    here.pass_time(31)  # the time of an entry about a ballot is known to the quarter hour only
    said = here.window.get("/steps/hand-over").text
    assert "data-stick-notice" in said and "Put the stick back" in said
    monkeypatch.setattr(here.room, "backup", None)
