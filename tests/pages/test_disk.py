"""A full disk and one that may not be written to: the page says what to do, nothing is half kept, what has a number stays."""

import re
import sqlite3

from webapp.gate import refusals as gate_refusals
from webapp.gate.refusals import GateRefused
from webapp.pages.shared import drafts
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.audit import verify
from webapp.record.refusals import in_words


def fill_up(here):
    """No page more for the record's file."""
    db = here.room.ledger._db
    db.execute(f"PRAGMA max_page_count = {db.execute('PRAGMA page_count').fetchone()[0]}")


def note(here, what):
    form = here.form("/note/incident")
    values = here.filled(form, "incident") | {"what": what}
    return form, (here.signed(values, "lindqvist") if "signer" in form.controls else values)


def test_a_full_disk_is_said_and_what_was_typed_stays_until_there_is_room(scene):
    here = scene("voting")
    here.hold()
    fill_up(here)
    kept = here.length
    refused = None
    for i in range(40):
        form, values = note(here, f"{i} " + "a long tale of a queue at the door " * 50)
        page = here.window.send(form, values)
        if page.path.startswith("/sign/"):
            page = here.second(page, "okafor")
        if page.status >= 400:
            refused = page
            break
        kept = here.length
    assert refused is not None and "is full" in refused.said() and "Free some space" in refused.said()
    assert here.length == kept and here.window.get(f"/record/{kept}").status == 200
    here.room.ledger._db.execute("PRAGMA max_page_count = 1000000")
    page = here.window.send(form, values)
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200 and here.length == kept + 1
    here.restart()
    assert here.length > kept
    here.room.ledger.close()
    assert verify(here.folder / "record.db", coarse=BALLOT_KINDS).ok


def test_a_disk_that_may_not_be_written_to_is_said(scene):
    here = scene("voting")
    here.hold()
    kept = here.length
    here.room.ledger._db.execute("PRAGMA query_only = 1")
    form, values = note(here, "a queue")
    page = here.window.send(form, values)
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status in (409, 422, 503) and "cannot be written to" in page.said(), page.said()
    assert here.length == kept


def test_a_wrong_pin_on_a_full_disk_still_gets_its_sentence(scene):
    here = scene("voting")
    here.room.ledger._db.execute("PRAGMA query_only = 1")
    kept = here.length
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "lindqvist", "pin": "112358"})
    assert page.status == 422 and "wrong try 1" in page.said() and "cannot be written to" in page.said()
    assert here.length == kept


def test_a_gate_that_cannot_be_written_is_said_on_a_page(scene):
    here = scene("voting")
    here.room.gate._drawer._db.execute("PRAGMA query_only = 1")
    stranger = here.another()
    assert stranger.get("/now").status == 200  # a visit writes nothing
    page = stranger.send(
        stranger.get("/tablet").form("/tablet/take"), {"signer": "lindqvist", "pin": here.pins["lindqvist"]}
    )
    assert page.status == 503 and "gate.db" in page.said(), page.said()


def test_what_is_in_the_record_is_never_said_to_be_refused_where_the_gate_fails_afterwards(scene, monkeypatch):
    """The page that was put aside cannot be taken away: that refuses nobody, and it goes when the page is opened next."""
    here = scene("voting")
    here.hold()
    form, values = note(here, "a queue")
    put_aside = here.window.post("/draft?path=/note/incident", form.filled(values))
    assert put_aside.status < 300, put_aside.said()
    assert [draft.path for draft in here.room.gate.drafts.all()] == ["/note/incident"]

    def full(names):
        raise GateRefused("The laptop's disk is full.")

    before = here.length
    with monkeypatch.context() as bad:
        bad.setattr(here.room.gate.drafts, "drop", full)
        page = here.window.send(form, values)
        page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
        assert page.status == 200 and here.kinds(before) == ["incident"], page.said()
        assert here.form("/note/incident").controls["entry_id"].value != form.controls["entry_id"].value
    here.window.get("/note/incident")
    assert not here.room.gate.drafts.all()


def test_a_refusal_after_the_record_took_it_says_that_it_is_recorded(scene, monkeypatch):
    here = scene("voting")
    here.hold()
    form, values = note(here, "a queue")
    before = here.length

    def takes_nothing(*_):
        raise gate_refusals.protected(here.folder / "gate.db")

    monkeypatch.setattr(drafts, "signed", takes_nothing)
    page = here.window.send(form, values)
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert here.kinds(before) == ["incident"]
    assert page.status == 503 and "This is recorded" in page.text
    assert (
        "do not send it again. The disk with gate.db cannot be written to. Take the write protection off." in page.text
    )
    assert not re.search("Nothing was|then (do|send) this again", page.text)


def test_a_refusal_says_what_to_do_next_where_nothing_and_where_something_is_recorded(tmp_path):
    full = sqlite3.OperationalError("database or disk is full")
    full.sqlite_errorname = "SQLITE_FULL"
    for refused, file in ((gate_refusals.of_the_disk, "gate.db"), (in_words, "record.db")):
        said = refused(full, tmp_path / file)
        assert str(said).endswith("this again.") and re.search("Nothing (was|of this)", str(said))
        assert said.after == f"The disk with {file} is full. Free some space on it."
