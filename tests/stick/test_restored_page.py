"""After a restore: tablets give back what they have, two parties read the list and sign it, what came back counts, and the packet says what is lost."""

import base64
import json
import uuid
from dataclasses import replace
from datetime import datetime

import pytest

import webapp
from demo_precinct.http_window import Window
from tests.pages.asking import posted
from tests.stick import nights
from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.gate import verifier
from webapp.packet import contents
from webapp.packet.print_content import restored_words
from webapp.precinct.day.restores import restore
from webapp.record.backup import stored_after
from webapp.record.entry import Act, Claim, Entry, Signer, Text
from webapp.record.ledger import Ledger, RecordRefused
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

PIN = "739152"
MINUTE = 60_000
CREW_PINS = {"lindqvist": "739152", "okafor": "481739"}
NOON = nights.story.SIX
COARSE = frozenset({"spoiled", "left"})
PEOPLE = (Signer("lindqvist", "chair", "M", "pin"), Signer("okafor", "witness", "P", "pin"))


def keep(ledger, kind, body, tablet="A", words=None, signers=(), happened=NOON):
    texts = {name: Text(bytes(16), text) for name, text in (words or {}).items()}
    seq = 0 if tablet == "L" else ledger.last_seq(tablet) + 1
    act = Act(Claim(uuid.uuid4().bytes, kind, body, happened, tablet, seq, texts), signers, NOON)
    return ledger.append(act, now=NOON)[0].number


@pytest.fixture
def spare(enrolled, tapeseal, stick, tmp_path, monkeypatch):
    """A served spare laptop; the laptop before kept four more entries after the stick was pulled: a ballot left, one spoiled, an incident with
    words, a ballot left again. (window, site, the entries that the stick lacks, as a tablet keeps them)"""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    with Ledger.open(enrolled.record, COARSE) as ledger:
        for n, signer in enumerate(PEOPLE):
            keep(ledger, "pin-set", {"person": signer.person, "by": "slip"}, "L1", signers=(signer,))
            keep(ledger, "oath", {"person": signer.person, "row": n + 1}, "L1", signers=(signer,))
        keep(ledger, "paired", {"tablet": "A", "level": "full"}, "L1")
        keep(ledger, "paired", {"tablet": "B", "level": "full"}, "L1")
        keep(ledger, "left", {"ballots": 1})
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    with Ledger.open(enrolled.record, COARSE) as ledger:
        last = ledger.length
        keep(ledger, "left", {"ballots": 1})
        keep(ledger, "spoiled", {"ballots": 1, "reissued": True, "style": "3A", "origin": "paper"})
        keep(ledger, "incident", {"where": "entrance"}, words={"what": "A pane of the door broke."})
        keep(ledger, "left", {"ballots": 1})
    lacking = [one for one in stored_after(enrolled.record, last)]
    words = ("record", "restore", stick, "--out", tmp_path / "spare", "--kit", enrolled.kit, "--seen", last + 4)
    assert tapeseal(*words)[0] == 0
    app = webapp.create_app(Settings("place", tmp_path / "spare", "practice"))
    running = serve_in_thread(app)
    window, site = Window(running.port), app.extensions["room"]
    for signer in PEOPLE:
        form = window.get(f"/people/pin/{signer.person}").form(f"/people/pin/{signer.person}")
        pin = CREW_PINS[signer.person]
        window.send(form, {"pin": pin, "pin_again": pin, "code": enrolled.second[signer.person]})
    yield window, site, lacking
    running.stop()
    site.close()


def as_kept(stored):
    texts = {name: text for name, _, text in stored.words}
    salts = {name: salt.hex() for name, salt, _ in stored.words}
    return {"number": stored.number, "entry": base64.b64encode(stored.data).decode(), "texts": texts, "salts": salts}


def give(window, entries, tablet="A", seen=0, run=1):
    return posted(window, "/contact/back", {"tablet": tablet, "seen": seen, "run": run, "entries": entries})


def sign_the_list(window, **typed):
    form = window.get("/restored").form("/restored")
    page = window.send(form, {"signer": "lindqvist", "pin": CREW_PINS["lindqvist"], **typed})
    second = {"signer": "okafor", "pin": CREW_PINS["okafor"]}
    return (
        window.send(next(form for form in page.forms if "signer" in form.controls), second)
        if page.status == 200
        else page
    )


def test_what_a_tablet_gives_back_counts_once_two_parties_have_read_and_signed_it(spare):
    window, site, lacking = spare
    before = len(site.day.of("left"))
    answer = json.loads(give(window, [as_kept(lacking[n]) for n in (0, 2, 2, 3)], seen=lacking[3].number).text)
    assert answer == {"taken": [lacking[n].number for n in (0, 2, 3)], "refused": []}
    assert len(site.day.of("left")) == before
    page = window.get("/restored").text
    assert "A pane of the door broke." in page and f"<b data-lost>{lacking[1].number}</b>" in page
    assert "Not heard since: tablet B" in page

    assert sign_the_list(window).status == 200

    assert len(site.day.of("left")) == before + 2
    assert site.day.of("incident")[-1].word("what") == "A pane of the door broke."
    signed = site.day.of("returned-read")[-1]
    assert {one.person for one in signed.signers} == {"lindqvist", "okafor"}
    assert (signed.body["back"], signed.body["lost"]) == (
        [lacking[n].number for n in (0, 2, 3)],
        [[lacking[1].number] * 2],
    )
    assert "read and signed: it counts" in window.get("/restored").text
    assert site.restore_notice() == ""


def test_the_record_says_the_same_after_a_start_anew(spare, tmp_path):
    window, site, lacking = spare
    give(window, [as_kept(one) for one in lacking], seen=lacking[3].number)
    sign_the_list(window)
    from webapp.precinct.account.balanced_day import fold

    with Ledger.read_only(tmp_path / "spare" / "record.db") as reader:
        again = fold(site.place, [(entry, reader.texts(entry.number)) for entry in reader.entries()])
    assert [k.number for k in again.of("left")] == [k.number for k in site.day.of("left")]
    assert again.figures == site.day.figures
    assert restore(again) == restore(site.day)


def test_sent_again_or_by_another_tablet_it_is_one(spare):
    window, site, lacking = spare
    for tablet in ("A", "A", "B"):
        give(window, [as_kept(lacking[0])], tablet, lacking[0].number)

    assert [k.body["was"] for k in site.day.returned.values()] == [lacking[0].number]
    assert [k.body["tablet"] for k in site.day.of("tablet-returned")] == ["A", "B"]
    assert "Not heard since" not in window.get("/restored").text


@pytest.mark.parametrize("what", ["altered", "foreign", "restored", "cut"])
def test_what_is_not_the_tablets_own_of_that_run_is_refused_and_the_rest_is_in(spare, what):
    window, site, lacking = spare
    entry = Entry.unpack(lacking[1].data)
    bad = {
        "altered": as_kept(lacking[2]) | {"texts": {"what": "Nothing happened."}},
        "foreign": as_kept(replace_data(lacking[1], replace(entry, record_id=bytes(16)))),
        "restored": as_kept(stored_after(site.ledger.path, 0)[0]),
        "cut": as_kept(lacking[1]) | {"entry": base64.b64encode(lacking[1].data[:-1]).decode()},
    }[what]

    answer = json.loads(give(window, [bad, as_kept(lacking[0])]).text)
    assert answer["taken"] == [lacking[0].number] and len(answer["refused"]) == 1


def replace_data(stored, entry):
    return type(stored)(entry.number, stored.head, entry.pack(), stored.words)


@pytest.mark.parametrize(
    "sent",
    [
        None,
        [],
        {},
        {"tablet": "A", "seen": 1, "run": 1, "entries": [1]},
        {"tablet": "A", "seen": -1, "run": 1, "entries": []},
        {"tablet": "A B", "seen": 1, "run": 1, "entries": []},
        {"tablet": "A", "seen": 1, "run": 1, "entries": [{"entry": "?"}]},
    ],
)
def test_what_no_tablet_sends_is_400(spare, sent):
    window, site, _ = spare
    before = site.ledger.length
    assert posted(window, "/contact/back", sent).status == 400
    assert site.ledger.length == before


def test_one_signature_is_not_enough_and_nobody_is_signed_for(spare):
    window, site, lacking = spare
    give(window, [as_kept(one) for one in lacking])
    form = window.get("/restored").form("/restored")
    window.send(form, {"signer": "lindqvist", "pin": PIN})

    assert not site.day.of("returned-read")
    assert all(entry.signers == () for entry in site.ledger.entries(10_000) if entry.kind == "given-back")


def test_more_that_comes_later_is_signed_again(spare):
    window, site, lacking = spare
    give(window, [as_kept(lacking[0])])
    sign_the_list(window)
    give(window, [as_kept(lacking[3])])
    assert "1 entry came back" in site.restore_notice()
    sign_the_list(window)

    assert site.restore_notice() == ""


def test_the_packet_waits_for_the_list_and_then_says_what_happened(spare):
    window, site, lacking = spare
    give(window, [as_kept(lacking[n]) for n in (0, 2)])
    made = Claim(uuid.uuid4().bytes, "packet-made", {"number": 1, "digest": bytes(32)}, NOON, "L1", 0)
    assert "read what was restored" in site.settled([made], site.now())
    assert f"This laptop took over after entry {restore(site.day).last}" in window.get("/now").text
    sign_the_list(window)
    assert "This laptop took over" not in window.get("/now").text
    assert "read what was restored" not in site.settled([made], site.now())

    core = contents.core(site.place, site.day, 1, None, site.now())
    last = restore(site.day).last
    assert core["runs"] == [[1, 1, last, site.ledger.at(last).head], [2, 10_001, site.ledger.length, site.ledger.head]]
    assert (core["lost"], core["given_back"], core["kit"]) == (
        [[lacking[1].number] * 2, [lacking[3].number] * 2],
        [2, 2],
        "spare",
    )
    said = restored_words(core, site.place)
    assert (
        f"after entry {last}. Given back: 2, 2 of them read and signed by two parties. Lost: {lacking[1].number}, {lacking[3].number}."
        in said
    )


def test_a_number_that_only_paper_knows_is_listed(spare):
    window, site, lacking = spare
    sign_the_list(window, seen=str(lacking[3].number + 2))
    assert site.day.of("returned-read")[-1].body["lost"] == [[lacking[0].number, lacking[3].number + 2]]
    assert (
        window.send(
            window.get("/restored").form("/restored"), {"seen": "10001", "signer": "lindqvist", "pin": PIN}
        ).status
        == 422
    )
    assert (
        window.send(
            window.get("/restored").form("/restored"), {"seen": "many", "signer": "lindqvist", "pin": PIN}
        ).status
        == 422
    )


def test_a_place_that_was_never_restored_has_no_such_page(enrolled):
    app = webapp.create_app(Settings("place", enrolled.place, "practice"))
    assert app.test_client().get("/restored").status_code == 404
    assert "runs" not in contents.core(app.extensions["room"].place, app.extensions["room"].day, 1, None, NOON)
    app.extensions["room"].close()


def test_what_a_tablet_saw_of_another_is_listed_until_somebody_gives_it_back(spare):
    window, site, lacking = spare
    first, top = lacking[0].number, lacking[3].number + 3
    give(window, [as_kept(lacking[0])], seen=top)

    assert restore(site.day).lost == tuple(range(first + 1, top + 1))
    assert f"<b data-lost>{first + 1} to {top}</b>" in window.get("/restored").text
    give(window, [as_kept(lacking[1])], "B", seen=2**40)
    assert restore(site.day).seen == top


def test_the_command_lists_what_tablets_saw_and_which_were_not_heard(spare, tapeseal, tmp_path):
    window, _, lacking = spare
    give(window, [as_kept(lacking[1])], seen=lacking[3].number + 1)
    code, out, _ = tapeseal("record", "lost", tmp_path / "spare")

    numbers = [one.number for one in lacking]
    assert code == 1 and json.loads(out) | {"last": 0} == {
        "last": 0,
        "first": 10_001,
        "seen": numbers[3] + 1,
        "given_back": [numbers[1]],
        "lost": [numbers[0], numbers[2], numbers[3], numbers[3] + 1],
        "open": ["B"],
    }
    code, _, err = tapeseal("record", "lost", tmp_path / "spare", "--seen", 10_001)
    assert code == 2 and "of this laptop" in err


def test_the_page_shows_the_words_that_the_witness_holds_the_card_against(spare):
    window, site, lacking = spare
    said = window.get("/restored").text
    assert site.words_after(lacking[0].number - 1) in said and "No check words had been copied" in said


def test_a_second_restore_still_lists_what_the_first_one_lost(spare, tapeseal, stick, enrolled, tmp_path):
    window, site, lacking = spare
    give(window, [as_kept(lacking[1])], seen=lacking[3].number)
    assert tapeseal("record", "backup", tmp_path / "spare", "--to", stick)[0] == 0
    last = site.ledger.length
    words = ("--out", tmp_path / "third", "--kit", enrolled.kit, "--seen", last + 1)
    assert tapeseal("record", "restore", stick, *words)[0] == 0
    code, out, _ = tapeseal("record", "lost", tmp_path / "third")

    assert code == 1 and json.loads(out)["first"] == 20_001
    assert json.loads(out)["lost"] == [*(lacking[n].number for n in (0, 2, 3)), last + 1]


def test_a_line_of_the_paper_log_is_entered_with_its_time_and_who_waits_is_said(spare):
    window, site, lacking = spare
    form = window.get("/note/observers").form("/note/observers")
    typed = {"here": "2", "came": "1", "left": "0", "signer": "lindqvist", "pin": PIN}
    page = window.send(form, typed | {"written_at": "late"})
    assert page.status == 422 and "as it is written on the paper log" in page.text and 'value="late"' in page.text
    before = site.now() - 95 * MINUTE
    at = datetime.fromtimestamp(before / 1000, site.place.tz).strftime("%H:%M")
    page = window.send(page.form("/note/observers"), typed | {"written_at": at})
    assert page.status == 200
    kept = site.day.of("observers")[-1]
    assert before - MINUTE < kept.time <= before and kept.kept - kept.time > 94 * MINUTE

    form = window.get("/restored").form("/restored")
    window.send(form, {"signer": "lindqvist", "pin": PIN, "seen": ""})
    assert "Signed once, by Ada Lindqvist" in window.get("/restored").text


def kept_again(site, stored):
    """The same act on this laptop: its answer was lost, so a tablet held it, or somebody pressed the button again."""
    was = Entry.unpack(stored.data)
    return site.keep([Claim(was.id, was.kind, dict(was.body), was.happened, "A", 0)], PEOPLE[:1])


def test_what_was_kept_here_again_under_its_own_id_does_not_count_twice_when_it_is_given_back(spare):
    window, site, lacking = spare
    before = len(site.day.of("left"))
    kept_again(site, lacking[0])
    give(window, [as_kept(lacking[0]), as_kept(lacking[3])], seen=lacking[3].number)
    assert window.get("/restored").text.count("to be read only") == 1
    sign_the_list(window)
    assert len(site.day.of("left")) == before + 2


def test_what_was_given_back_is_not_kept_here_again_under_its_own_id(spare):
    window, site, lacking = spare
    before = len(site.day.of("left"))
    give(window, [as_kept(lacking[0])], seen=lacking[0].number)
    for _ in range(2):  # before the list is signed and after
        with pytest.raises(RecordRefused, match="was given back as entry"):
            kept_again(site, lacking[0])
        sign_the_list(window)
    assert len(site.day.of("left")) == before + 1
