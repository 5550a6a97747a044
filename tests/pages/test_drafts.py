"""A draft is no entry: it lies at the gate until it is signed, put away, or the carriers leave; it is out of sight while its page is folded away."""

import json

import pytest

from webapp.gate.pending_signatures import LASTS
from webapp.gate.refusals import GateDiskRefused
from webapp.record.refusals import RecordDiskRefused

WORDS = {"where": "entrance", "what": "The lamp went out.", "told": ""}


def aside(here, path: str, values: dict, window=None):
    """Type on a page and press Put aside."""
    window = window or here.window
    form = window.get(path).form(path)
    fields = form.filled({k: v for k, v in values.items() if k in form.controls})
    page = window.post(f"/draft?path={path}&then=now", fields)
    assert page.status == 200 and page.path == "/now"
    return form.controls["entry_id"].value if "entry_id" in form.controls else ""


def test_it_is_in_no_record_and_is_dropped_when_the_page_is_signed(scene):
    here = scene("voting")
    here.hold()
    before = here.length
    aside(here, "/note/incident", WORDS)
    assert here.kinds(before) == []
    assert "Begun at" in here.window.get("/now").text and "Begun at" in here.window.get("/steps/voting").text
    form = here.window.get("/note/incident").form("/note/incident")
    assert form.controls["what"].value == WORDS["what"]
    here.window.send(form, here.signed({}, "lindqvist"))
    assert here.kinds(before) == ["incident"] and here.room.gate.drafts.all() == ()
    fields = form.filled({"what": "A late keystroke."})
    here.window.post("/draft?path=/note/incident", fields)
    assert here.room.gate.drafts.all() == ()


def test_another_tablet_is_offered_it_and_goes_on(scene):
    here = scene("voting")
    here.hold()
    aside(here, "/note/incident", WORDS)
    other = here.another()
    page = other.get("/note/incident")
    assert "not signed. <a" in page.text and page.form("/note/incident").controls["what"].value == ""
    draft = here.room.gate.drafts.all()[0]
    page = other.send(other.get(f"/draft/{draft.id}").form(f"/draft/{draft.id}/open"))
    assert page.path == f"/note/incident?draft={draft.id}"
    assert page.form("/note/incident").controls["what"].value == WORDS["what"]


def test_a_refused_form_is_put_aside_with_the_refusal(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/incident")
    assert here.window.send(form, here.signed({"what": "Half a sentence"}, "lindqvist")).status == 422
    assert here.form("/note/incident").controls["what"].value == "Half a sentence"
    assert "Half" in dict(here.room.gate.drafts.all()[0].form)["what"]
    assert not {"pin", "signer", "csrf_token"} & set(dict(here.room.gate.drafts.all()[0].form))


def test_a_lapsed_signature_leaves_the_page_and_says_whose_it_was(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/jam/T1")
    page = here.window.send(form, here.signed({"counted": "yes", "went": "main-bin"}, "lindqvist"))
    assert page.path.startswith("/sign/")
    here.pass_time(2 * LASTS / 60 + 1)
    gone = here.window.get(page.path)
    assert gone.status == 410 and "Ada Lindqvist’s signature lapsed. What was filled in is still here" in gone.text
    left = here.room.gate.drafts.all()[0]
    page = here.window.send(gone.form(f"/draft/{left.id}/open"))
    assert page.form("/note/jam").controls["counted"].value == "yes"


def test_of_the_last_posts_of_a_page_that_is_left_the_latest_typed_stays_in_whatever_order_they_arrive(scene):
    here = scene("voting")
    here.hold()
    form = here.window.get("/note/incident").form("/note/incident")

    def post(words: str, turn: int, load: str = "one"):
        fields = form.filled({"what": words})
        return here.window.post(f"/draft?path=/note/incident&load={load}&turn={turn}", fields)

    post("The lamp went out.", 8)
    post("The la", 7)
    assert dict(here.room.gate.drafts.all()[0].form)["what"] == "The lamp went out."
    post("The lamp went on.", 1, load="two")  # opened again: its turns begin anew
    assert dict(here.room.gate.drafts.all()[0].form)["what"] == "The lamp went on."
    here.room.gate.drafts.drop([here.room.gate.drafts.all()[0].id])
    post("The lamp went", 0, load="two")  # sent before it was put away
    assert here.room.gate.drafts.all() == ()


@pytest.mark.parametrize(
    "path", ["/step/unused", "/tape/T1", "/balance/again/1/unused", "/people/oath/okafor", "/nowhere"]
)
def test_a_blind_page_is_never_put_aside(scene, path):
    here = scene("unused")
    here.hold()
    form = here.form("/step/unused", "/step/")
    fields = form.filled({name: "760" for name in form.controls if name.startswith("unused/unused.")})
    here.window.post(f"/draft?path={path}", fields)
    assert here.room.gate.drafts.all() == ()


def test_a_draft_from_before_the_close_is_out_of_sight_until_the_counts_are_signed(scene):
    here = scene("line-end")
    here.hold()
    aside(here, "/note/relief", {"counters.T1": "317", "out": ""})
    assert "/draft/" in here.window.get("/now").text
    while not here.room.day.folded_away:
        here.crew.do(here.crew.next_key())
        here.pass_time(1)
    name = here.room.gate.drafts.all()[0].id
    assert here.room.gate.drafts.all() and "/draft/" not in here.window.get("/now").text
    assert here.form("/note/relief").controls["counters.T1"].value == ""
    assert here.window.get(f"/draft/{name}").status == 404
    aside(here, "/note/incident", WORDS)
    assert "The lamp" in here.window.get("/note/incident").text  # what is begun now is seen now


def test_at_the_hand_over_drafts_are_gone_and_one_entry_names_their_steps_without_figures(scene):
    here = scene("packet")
    here.hold()
    aside(here, "/note/incident", WORDS)
    aside(here, "/step/dissent", {"statement": "I do not agree with 317."})
    before = here.length
    while (key := here.crew.next_key()) is not None:
        here.pass_time(1)
        here.crew.do(key) if key != "packet" else packet(here)
    said = [entry for entry in here.room.ledger.entries(after=before) if entry.kind == "drafts-put-away"]
    assert [dict(entry.body) for entry in said] == [{"steps": ["dissent", "incident"]}]
    assert here.room.gate.drafts.all() == ()
    page = here.window.get(f"/record/{said[0].number}")
    assert "Pages begun and never signed were put away" in page.text and "Separate statement, Incident" in page.text
    assert "317" not in page.text.partition("<main")[2]


@pytest.mark.parametrize("failing", ("record", "gate"))
def test_pages_that_the_disk_kept_back_are_named_on_now_and_go_with_what_is_kept_next(scene, monkeypatch, failing):
    """At the departure the disk takes nothing beyond the last entry: nobody is refused, the half-filled page is named, and goes when the disk is well."""
    here = scene("packet")
    here.hold()
    aside(here, "/note/incident", WORDS)
    room, append = here.room, here.room.ledger.append

    def full(*acts, now=0):
        if failing == "gate" or any(act.claim.kind == "drafts-put-away" for act in acts):
            raise GateDiskRefused("Full.") if failing == "gate" else RecordDiskRefused("Full.")
        return append(*acts, now=now)

    with monkeypatch.context() as bad:
        bad.setattr(*((room.gate.drafts, "clear") if failing == "gate" else (room.ledger, "append")), full)
        while (key := here.crew.next_key()) is not None:
            here.pass_time(1)
            here.crew.do(key) if key != "packet" else packet(here)
        assert room.day.phase == "done" and len(room.gate.drafts.all()) == 1
        assert "A half-filled page is still on this laptop" in here.window.get("/now").text

    room.begin()  # the program is started again
    assert room.gate.drafts.all() == () and "half-filled" not in here.window.get("/now").text
    said = [entry.body["steps"] for entry in room.ledger.entries() if entry.kind == "drafts-put-away"]
    assert said and all(steps == ["incident"] for steps in map(list, said))


def packet(here):
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    form = here.form("/packet/close")
    here.crew.signed(here.window.get("/packet/close"), form, here.crew.values(form, "packet", ""))


def test_a_page_whose_draft_the_program_could_not_drop_any_more_is_not_called_unsigned(scene, monkeypatch):
    here = scene("voting")
    here.hold()
    aside(here, "/note/incident", WORDS)
    aside(here, "/note/observers", {"here": "2"})
    form = here.form("/note/incident")
    monkeypatch.setattr(here.room.gate.drafts, "drop", lambda names: None)  # cut off between the entry and its draft
    here.window.send(form, here.signed({}, "lindqvist"))
    assert len(here.room.gate.drafts.all()) == 2
    for path in ("/now", "/steps/voting"):
        assert here.window.get(path).text.count(", not signed.") == 1
    before = here.length
    here.room.put_drafts_away()
    assert [dict(entry.body) for entry in here.room.ledger.entries(after=before)] == [{"steps": ["observers"]}]
    assert here.room.gate.drafts.all() == ()


def test_a_tile_that_says_something_else_than_what_was_left_there_opens_blank_and_both_are_kept(scene):
    here = scene("voting")
    here.hold()
    aside(here, "/note/spoiled", {"style": "3A", "reissued": "no"})
    page = here.window.get("/note/spoiled?style=4A")
    assert "not signed. <a" in page.text  # the other one is listed, to go on with
    form = page.form("/note/spoiled")
    assert (form.controls["style"].value, form.controls["reissued"].value) == ("4A", "")
    before = here.length
    here.window.send(form, {"reissued": "yes", "book_marked": "yes"})
    form = here.window.get("/note/spoiled?style=3A").form("/note/spoiled")
    assert (form.controls["style"].value, form.controls["reissued"].value) == ("3A", "no")
    here.window.send(form, {})
    styles = [entry.body["style"] for entry in here.room.ledger.entries(after=before) if entry.kind == "spoiled"]
    assert styles == ["4A", "3A"]


def test_of_two_pages_begun_on_one_tablet_the_one_that_is_gone_on_with_opens(scene):
    here = scene("voting")
    here.hold()
    older = aside(here, "/note/incident", WORDS)
    here.pass_time(1)
    other = here.another()
    newer = aside(here, "/note/incident", WORDS | {"what": "It went out again."}, other)
    here.window.send(here.window.get(f"/draft/{newer}").form(f"/draft/{newer}/open"))
    page = here.window.send(here.window.get(f"/draft/{older}").form(f"/draft/{older}/open"))
    assert page.form("/note/incident").controls["what"].value == WORDS["what"]
    assert here.form("/note/incident").controls["what"].value == "It went out again."


def test_what_is_typed_on_a_page_that_was_signed_elsewhere_is_not_called_put_aside(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/incident")
    here.window.send(form, here.signed(WORDS, "lindqvist"))
    said = json.loads(here.window.post("/draft?path=/note/incident", form.filled({"what": "Another one."})).text)
    assert said == {
        "stored": False,
        "says": "Not put aside: this page is signed already. For another one, open it again.",
    }


def test_what_is_typed_on_the_tablet_that_was_left_does_not_overwrite_what_another_one_goes_on_with(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/incident")
    aside_at = "/draft?path=/note/incident"
    here.window.post(aside_at, form.filled(WORDS))
    other, draft = here.another(), here.room.gate.drafts.all()[0]
    page = other.send(other.get(f"/draft/{draft.id}").form(f"/draft/{draft.id}/open"))
    longer = page.form("/note/incident").filled({"what": "The lamp went out, and the door stuck."})
    assert json.loads(other.post(aside_at, longer).text)["stored"]
    said = json.loads(here.window.post(aside_at, form.filled(WORDS | {"told": "clerk"})).text)
    assert not said["stored"] and "gone on with on another tablet" in said["says"]
    assert dict(here.room.gate.drafts.all()[0].form)["what"] == "The lamp went out, and the door stuck."
