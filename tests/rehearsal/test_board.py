"""A count board through its own pages: carriers to packet in two days, every line 0; and mistakes made on purpose, each met by its sentence.

One small board is played once up to the end of its count; the tests then try what must be refused, look for what must never be shown, and close it.
"""

import json
import re
from pathlib import Path

import pytest

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.board_days import BoardDays
from demo_precinct.board_rehearsal import board_files, rehearse_board
from demo_precinct.board_tables import FED_TWICE
from demo_precinct.count_board import board_place, board_truth
from tests.paper.printed import Printed
from webapp.board.batch_ids import header_code
from webapp.packet.print_model import in_words
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import verify
from webapp.record.entry import QUARTER
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

ENVELOPES = 120


class Board:
    """A board that is being served, with its people, as it stands when its count is over."""

    def __init__(self, folder: Path):
        self.place = place_file.read(place_file.write(board_place()).encode())
        made = rehearsed_county.prepare(
            folder, rehearsed_county.board_office(), [place_file.write(self.place).encode()]
        )
        self.folder = folder / "places" / "AB"
        start = self.place.at(self.place.opens) - 24 * 3_600_000
        self.app = webapp.create_app(Settings("place", self.folder, mode="practice", clock="scripted", start=start))
        self.running = serve_in_thread(self.app)
        self.days = BoardDays(board_truth(self.place, ENVELOPES, 1), self.running.port, made["AB"])
        self.days.begin()
        self.days.first_day()
        self.days.second_morning()
        self.days.count()

    @property
    def room(self):
        return self.app.extensions["room"]

    @property
    def window(self):
        return self.days.crew.window

    def tried(self, path: str, values: dict, action: str = "") -> str:
        """What the page says of a form that it must not take; nothing is in the record and nothing that was typed is lost."""
        form = self.window.get(path).form(action or path.partition("?")[0])
        who = form.controls["signer"].options[0] if "signer" in form.controls else ""
        signed = {"signer": who, "pin": self.days.crew.pins[who]} if who else {}
        before = self.room.ledger.length
        page = self.window.send(form, {**values, **signed})
        assert page.status == 422, f"{path} answers {page.status}"
        assert self.room.ledger.length == before
        again = page.form(action or path.partition("?")[0])
        for name, value in values.items():
            assert again.controls[name].value == value, f"{name} was lost"
        return page.said()

    def put_away(self, path: str, field: str) -> None:
        """What lies half typed on a page is put away, as its button does."""
        form = self.window.get(path).form(path)
        if form.controls[field].value:
            ids = sorted((name, control.value) for name, control in form.controls.items() if name.endswith("entry_id"))
            form.action = f"/draft/{ids[0][1]}/away?anew=1"
            self.window.send(form, {})
        assert not self.window.get(path).form(path).controls[field].value

    def fed(self, at: str, **own: str) -> str:
        return self.tried(f"/feed/{at}", {"header_back": "yes", "end_reached": "yes", **own})


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    one = Board(tmp_path_factory.mktemp("board") / "county")
    yield one
    one.running.stop()
    one.room.close()


# --- what is refused, each in a sentence with what to do


def test_a_batch_that_nobody_made_is_not_fed(board):
    assert "B099 was not made yet" in board.fed("A1", batch="B099", before="1", after="20")


def test_a_batch_that_went_through_is_not_fed_again_unsaid(board):
    said = board.fed("A2", batch="B001", before="90", after="110")
    assert "B001 was fed at" in said and "stop this tabulator and call the office" in said


def test_a_counter_never_runs_backwards(board):
    board.days.make("", "W3", [batch("B040", 25)])
    assert "a counter never runs backwards" in board.fed("A1", batch="B040", before="80", after="70")


def test_a_counter_that_does_not_go_on_from_the_last_batch_is_said(board):
    before = board.days.answers.public("A1")
    said = board.fed("A1", batch="B040", before=str(before + 3), after=str(before + 28))
    assert f"A1 stood at {before} after" in said and "3 ballots ran in between" in said


def test_a_header_sheet_of_another_place_is_not_taken(board):
    said = board.fed("A1", batch=header_code("XY", "B040"), before="1", after="26")
    assert "belongs to XY, not to AB" in said


def test_a_code_that_was_not_read_whole_is_not_taken(board):
    code = header_code("AB", "B040")
    wrong = code[:-1] + ("A" if code[-1] != "A" else "B")
    assert "contradicts its own last symbol" in board.fed("A1", batch=wrong, before="1", after="26")


def test_a_scanned_header_sheet_opens_its_batch(board):
    page = board.window.get(f"/batches/find?code={header_code('AB', 'B001')}")
    assert page.path == "/batches/B001" and page.status == 200


def test_a_batch_id_is_used_once(board):
    said = board.tried(
        "/note/batch-made",
        {"batch": "B001", "ballots": "20", "header_checked": "yes", "way_round": "yes", "kind": "first"},
    )
    assert "a batch id is used once" in said


def test_one_header_sheet_on_two_rows_of_a_page_is_said(board):
    rows = {}
    for row in ("row1/", "row2/"):
        rows |= {row + "batch": "B050", row + "envelopes": "25", row + "ballots": "25"}
        rows |= {row + "header_checked": "yes", row + "way_round": "yes"}
    assert "B050 is here twice" in board.tried("/batches/make?precinct=W3", rows, "/batches/make")


def test_a_position_beyond_the_batch_is_not_taken(board):
    said = board.tried("/note/problem", {"batch": "B001", "position": "99", "cause": "torn"})
    assert "there is no number 99" in said


def test_a_serial_is_used_once(board):
    said = board.tried(
        "/note/duplicate-made",
        {"serial": "D-0001", "style": "3A", "cause": "torn"}
        | dict.fromkeys(("both_numbered", "void_stamped", "duplicate_stamped"), "yes"),
    )
    assert "D-0001 was given out already" in said


def test_more_envelopes_in_trays_than_were_received_are_said(board):
    said = board.tried(
        "/note/tray-open", {"tray": "77", "precincts.W3": "yes", "envelopes": "50", "empty": "0", "sleeves": "50"}
    )
    assert "50 envelopes too many" in said


def test_sleeves_that_are_not_as_many_in_the_morning_open_nothing(board):
    said = board.tried("/note/morning-open", {"sleeves.W3": "60", "sleeves.W4": "48"})
    assert "stayed shut in the evening" in said and "Open none of them" in said


def test_a_carrier_on_one_page_is_kept_whole_or_not_at_all(board):
    values = {"carrier-in/carrier": "K8", "carrier-in/seal": "40088", "carrier-in/slip_envelopes.W3": "12"}
    values |= {
        "carrier-in/unhurt": "yes",
        "envelopes-counted/envelopes.W3": "11; 11",
        "carrier-empty/opened_flat": "yes",
    }
    said = board.tried("/trays/carrier", values)
    assert "The slip of carrier K8 says 12 envelopes of W3, 11 were counted" in said and "not taken in" not in said
    assert "K8" not in board.room.board.carriers, "what was not signed has not happened"
    assert "K1 was taken in already" in board.tried("/trays/carrier", {"carrier-in/carrier": "K1"})
    left = board.tried("/trays/carrier", {"carrier-in/carrier": "", "carrier-in/seal": "40089"})
    assert "Enter the carrier's number" in left and "not taken in" not in left
    form = board.window.get("/trays/carrier").form("/trays/carrier")
    assert [name for name in form.controls if name.endswith("/carrier")] == ["carrier-in/carrier"], "asked once"


def test_the_slip_of_a_carrier_is_asked_below_its_count(board):
    """A blind count: nobody reads what the slip says before the envelopes are counted, and no line of the page above the count tells them to."""
    form = board.window.get("/trays/carrier").form("/trays/carrier")
    order = list(form.controls)
    counted, slip = (
        [i for i, name in enumerate(order) if part in name] for part in ("counted/envelopes.", "slip_envelopes.")
    )
    assert counted and slip and max(counted) < min(slip)
    above = board.window.get("/trays/carrier").text.partition("Now unfold the slip")[0]
    assert "Read the slip" not in above and "Fold the slip away" in above


def test_a_carrier_with_a_wrong_seal_is_kept_alone_and_nothing_of_it_is_opened(board):
    board.put_away("/trays/carrier", "carrier-in/seal")
    values = {"carrier-in/carrier": "K9", "carrier-in/seal": "99999", "carrier-in/slip": "R-9"}
    assert "what was found" in board.tried("/trays/carrier", {**values, "carrier-in/not_so": "yes"})
    told = {"found": "Its seal is another one than on the slip.", "done": "Set apart in sight; the office was called."}
    said = {"carrier-in/not_so": "yes", **{f"carrier-in/{name}": words for name, words in told.items()}}
    half = board.tried("/trays/carrier", {**values, **said, "envelopes-counted/envelopes.W3": "12"})
    assert "open and flat" in half, "a count that was typed is not left out unsaid"
    before = board.room.ledger.length
    board.days.crew.signed(
        None,
        board.window.get("/trays/carrier?carrier=K9").form("/trays/carrier"),
        {**values, **said, "envelopes-counted/envelopes.W3": ""},
    )
    kept = [
        e
        for e in board.room.ledger.entries(after=before)
        if e.kind in ("carrier-in", "envelopes-counted", "carrier-empty")
    ]
    assert [(e.kind, e.body["carrier"], bool(e.body["not_so"])) for e in kept] == [("carrier-in", "K9", True)]
    assert len({s.party for s in kept[0].signers}) == 2
    carrier = board.room.board.carriers["K9"]
    assert carrier.counted is None and not carrier.empty
    assert "Carrier K9 was not shown empty" in board.window.get("/trays").text


def test_a_batch_put_aside_half_typed_comes_back_on_the_page_of_its_tabulator_without_what_vouches(board):
    """What was typed stands there again; that the header sheet is back and the end was reached is said anew, perhaps of another batch."""
    form = board.window.get("/feed/A1").form("/feed/A1")
    form.action = "/draft?path=%2Ffeed%2FA1&then=now"
    typed = {"batch": "B077", "before": "311", "aside.torn": "2"}
    board.window.send(form, {**typed, "header_back": "yes", "end_reached": "yes"})
    page = board.window.get("/feed/A1")
    again = page.form("/feed/A1").controls
    assert {name: again[name].value for name in typed} == typed
    assert not again["header_back"].value and not again["end_reached"].value
    assert board.window.get("/feed/A2").form("/feed/A2").controls["batch"].value != "B077"
    asked = board.window.get("/feed/A1?batch=B001").form("/feed/A1").controls
    assert asked["before"].value == "311", "what was typed is not lost when a header sheet is scanned"
    board.put_away("/feed/A1", "batch")


def test_what_is_signed_once_is_several_entries_one_after_the_other_by_the_same_people(board):
    """The second carrier's three entries, and a tray unfolded with its batches, as the days before were played."""
    found = [(e.kind, e.body, [s.person for s in e.signers]) for e in board.room.ledger.entries(after=0)]
    first = next(i for i, (kind, body, _) in enumerate(found) if kind == "carrier-in" and body["carrier"] != "K1")
    act = found[first : first + 3]
    assert [kind for kind, _, _ in act] == ["carrier-in", "envelopes-counted", "carrier-empty"]
    assert len({body["carrier"] for _, body, _ in act}) == 1 and act[0][2] == act[1][2] == act[2][2]
    tray = board.days.board.trays[-1].id
    at = next(i for i, (kind, body, _) in enumerate(found) if kind == "unfold" and body["tray"] == tray)
    assert found[at + 1][0] == "batch-made" and found[at + 1][2] == found[at][2]
    assert set(found[at][1]) == {"tray", "ballots", "extra", "damaged"}, "the body that the note alone has"


def test_batches_put_aside_half_typed_are_found_on_the_page_of_their_tray(board):
    path = "/batches/make?tray=1&precinct=W3"
    form = board.window.get(path).form("/batches/make")
    form.action = "/draft?path=%2Fbatches%2Fmake%3Ftray%3D1%26precinct%3DW3&then=now"
    board.window.send(form, {"row1/ballots": "17"})
    assert board.window.get(path).form("/batches/make").controls["row1/ballots"].value == "17"
    assert board.window.get("/batches/make?precinct=W4").form("/batches/make").controls["row1/ballots"].value == ""


# --- what is never shown


def test_no_page_ties_a_batch_to_a_tray_and_no_envelope_has_a_number(board):
    """No body of a batch, a ballot or a duplicate names a tray or a carrier; no body at all holds an envelope's number."""
    for entry in board.room.ledger.entries(after=0):
        if entry.kind in ("batch-made", "batch-fed", "problem", "settled", "duplicate-made", "hand-count", "moved"):
            assert not {"tray", "carrier"} & set(entry.body), entry.kind
        if entry.kind in ("tray-open", "unfold", "envelopes-away"):
            assert not {"batch", "position", "serial"} & set(entry.body), entry.kind


def test_ballots_set_aside_carry_their_quarter_hour_and_no_counter(board):
    rough = [e for e in board.room.ledger.entries(after=0) if e.kind in COARSE_KINDS]
    assert len(rough) > 20
    assert [e.kind for e in rough if e.happened % QUARTER or e.kept % QUARTER] == []
    assert [e.kind for e in rough if {"before", "after", "counter"} & set(e.body)] == []


@pytest.mark.parametrize(
    "path",
    [
        "/now",
        "/batches",
        "/batches/B001",
        "/trays",
        "/problems",
        "/running",
        "/feed",
        "/feed/A1",
        "/batches/make",
        "/note",
    ],
)
def test_pages_of_the_count_show_no_votes(board, path):
    page = board.window.get(path)
    assert page.status == 200
    for contest in board.place.contests:
        for choice in contest.choices:
            if len(choice.label) > 4:
                assert choice.label not in page.text, f"{path} names {choice.label}"


def test_batches_of_few_ballots_carry_their_quarter_hour_only(board):
    few = [
        e
        for e in board.room.ledger.entries(after=0)
        if e.kind in ("batch-made", "batch-fed") and e.body["batch"][0] in "DG"
    ]
    assert len(few) == 6 and [e.body["batch"] for e in few if e.happened % QUARTER or e.kept % QUARTER] == []
    large = [e for e in board.room.ledger.entries(after=0) if e.kind == "batch-fed" and e.body["batch"][0] == "B"]
    assert any(e.happened % QUARTER for e in large)


def test_the_board_prints_its_own_papers(board):
    for path in ("/papers/board.pdf", "/papers/headers.pdf?kind=first&first=9&count=2", "/papers/forms.pdf"):
        assert board.window.get(path).body.startswith(b"%PDF"), path
    assert board.window.get("/papers/headers.pdf?kind=first&first=0&count=999").status == 400
    assert "Papers of the board" in board.window.get("/papers").text


def test_a_correction_gives_no_batch_the_id_of_another(board):
    made = board.room.day.sheet.made["B001"]
    said = board.tried(f"/record/{made}/correct", {"batch": "B002", "reason": "Read wrong."})
    assert "B002 is another batch of this board" in said


def test_the_forms_that_a_tablet_keeps_open_at_a_board_too(board):
    page = board.window.get("/shell/note/problem")
    assert page.status == 200 and "It is found again by its batch" in page.text


def test_before_the_close_the_balance_of_a_board_speaks_of_batches_and_of_no_poll_book(board):
    text = board.window.get("/balance").text.partition("<main")[2].partition("</main>")[0]
    assert "each batch is compared with its envelopes" in text and "poll book" not in text


def test_problems_tell_no_hour(board):
    body = board.window.get("/problems").text.partition("<main")[2].partition("</main>")[0]
    assert len(re.findall(r"\b\d\d:\d\d\b", body)) <= 1, "only the hour of the page itself"


def test_a_polling_place_has_no_page_of_a_board():
    from webapp.pages.place import routes

    assert {page.name for page in routes.PAGES} & {
        "batches",
        "making",
        "feeding",
        "trays",
        "problems",
        "running",
    } == set()


# --- a batch that stops its tabulator, and goes on after another count


def test_a_batch_that_does_not_agree_stops_its_tabulator_until_another_pair_has_counted(board):
    days = board.days
    before = days.answers.public("A1")
    values = {"batch": "B040", "before": str(before), "after": str(before + 24)}
    assert "A1 stops until another pair has counted" in board.fed("A1", **values)

    form = board.window.get("/feed/A1").form("/feed/A1")
    days.crew.signed(
        None,
        form,
        {**values, "header_back": "yes", "end_reached": "yes", "not_so": "yes"}
        | {"found": "24 went through.", "done": "Another pair counts."},
    )
    assert "stop:A1" in board.window.get("/now").text
    days.make("", "W3", [batch("B041", 25)])
    assert "A1 stops after B040" in board.fed("A1", batch="B041", before=str(before + 24), after=str(before + 49))

    page = board.window.get("/batches/B040")
    assert "1</b> fewer fed and set aside than the 25 in the batch" in page.text
    assert "Consistent with" in page.text
    form = board.window.get("/batches/B040/again").form("/batches/B040/again")
    first = [who for who in form.controls["signer"].options if who in days.crew.pins]
    page = board.window.send(form, {"n": "24", "signer": first[-1], "pin": days.crew.pins[first[-1]]})
    days.crew.second(page)
    assert "stop:A1" not in board.window.get("/now").text
    # its 25 envelopes gave 24 ballots now: that row wants its remark
    form = board.window.get("/batches/B040").form("/batches/B040/remark")
    days.crew.signed(None, form, {"remark": "Cause unknown. Envelopes and floor were searched."})
    assert json.loads(json.dumps(board.room.day.without_remark(board.room.day.balance.gaps))) is not None


def test_a_batch_that_was_fed_twice_stops_that_tabulator_until_two_have_signed_a_remark(board):
    """The figures stay as they are: what is taken off the tape is the office's order."""
    days = board.days
    before = days.answers.public("A2")
    form = board.window.get("/feed/A2").form("/feed/A2")
    values = {
        "batch": "B003",
        "before": str(before),
        "after": str(before + 19),
        "header_back": "yes",
        "end_reached": "yes",
    }
    days.crew.signed(
        None,
        form,
        values | {"not_so": "yes", "found": "It was fed once more.", "done": "Stopped, the office was called."},
    )
    days.board.fed["A2"]["W3"] += 19

    now = board.window.get("/now").text
    assert "stop:A2" in now and 'href="/batches/B003"' in now, "the page on which the remark is signed"
    assert 'href="/batches/B003">Look at B003' in board.window.get("/feed/A2").text
    days.make("", "W3", [batch("B042", 25)])
    said = board.fed("A2", batch="B042", before=str(before + 19), after=str(before + 44))
    assert "A2 stops: B003 was fed a second time" in said and "Call the office" in said
    page = board.window.get("/batches/B003")
    assert "B003 was fed again on A2" in page.text and "the tape has 19 too many" in page.text
    days.crew.signed(
        None, page.form("/batches/B003/remark"), {"remark": "Fed twice after a jam. The office was called."}
    )
    assert "stop:A2" not in board.window.get("/now").text
    assert board.room.board.batches["B003"].fed.at == "A1", "the first feeding stands"


def test_a_batch_has_the_letter_of_its_header_sheet(board):
    said = board.tried(
        "/note/batch-made",
        {"batch": "D077", "ballots": "20", "header_checked": "yes", "way_round": "yes", "kind": "first"},
    )
    assert "theirs begins with B, as B014" in said


def batch(id: str, ballots: int):
    from demo_precinct.count_board import TrueBatch

    return TrueBatch(id, "W3", ballots, 0, 0, ballots)


def test_the_record_verifies(board):
    assert verify(board.folder / "record.db", coarse=COARSE_KINDS).ok


def test_a_whole_board_reaches_the_office_and_its_totals_are_those_of_its_tapes(tmp_path):
    """Two days, the packet as codes, the list of batches, the desk's own lines: every vote arrives, and what is off is the batch that was fed twice, with its remark."""
    report = rehearse_board(tmp_path / "county", 240, 2, beside=False)
    assert report.ok, report.as_json()
    remarked, batches = report.board.pop("remarked"), report.board.pop("batches")
    assert report.board == {"envelopes": 240, "stopped": 2, "duplicates": 5, "equal": True} and batches == 14
    assert remarked > 0 and {row["code"] for row in report.findings} == {"batches:A2", "board"}
    assert all("24 more" in row["says"] for row in report.findings), "24 ballots of one batch, on the tape twice"
    assert report.totals["equal"] == report.totals["contests"] == 11
    states_what_is_true(tmp_path / "county" / "places" / "AB")


def states_what_is_true(folder: Path) -> None:
    """The packet as it is printed and signed in ink, read back by PDFium: the board's account, and a statement of each precinct in words and digits, as it truly was."""
    _, place, truth = board_files(240, 2)
    app = webapp.create_app(Settings("place", folder, mode="practice", clock="scripted", start=place.at(place.closes)))
    paper = Printed(app.test_client().get("/packet/packet.pdf").data)
    copied = words_copied(app.extensions["room"])
    app.extensions["room"].close()
    first, (stated,) = paper.texts[0], [text for text in paper.texts if "Statement by precinct" in text]
    assert f"Envelopes received {in_words(240)} 240 " in first and "Rejected, unopened" in first
    assert all(words in first for words in copied[:4])
    assert "24 more ballots on the tape than by the batches" in first and FED_TWICE in first
    for precinct in place.precincts[:2]:
        trays = [tray for tray in truth.trays if tray.precinct == precinct.id]
        by_hand = sum(batch.precinct == precinct.id for batch, _ in truth.outcomes("hand-counted"))
        twice = truth.batches[4].through().get(precinct.id, 0)
        figures = [
            ("Envelopes received", sum(tray.envelopes for tray in trays)),
            ("Rejected, unopened", sum(tray.rejected for tray in trays)),
            ("Held, unopened", sum(tray.held for tray in trays)),
            ("Empty", sum(tray.empty for tray in trays)),
            ("Extra ballots in envelopes", sum(tray.extra for tray in trays)),
            ("Ballots out of the envelopes", in_batches(truth, precinct.id)),
            ("On the tapes", in_batches(truth, precinct.id) - by_hand + twice),
            ("Counted by hand", by_hand),
            ("Not counted, by law", 0),
            ("Waiting for a decision", 0),
        ]
        rows = " ".join(f"{words} {in_words(n)} {n}" for words, n in figures)
        assert f"{precinct.name} {rows}" in stated


def words_copied(room) -> list[str]:
    """Which entry's words were copied, and when: as the board shut for the night, at each zero tape, at the close."""
    marks = [entry.body["number"] for entry in room.ledger.entries(after=0) if entry.kind == "check-words"]
    whens = ("night", "zero tape", "zero tape", "close", "hand-over")
    return [f"entry {n}, {when}" for n, when in zip(marks, whens, strict=True)]


def in_batches(truth, precinct: str) -> int:
    """Ballots in batches of envelopes that are of this precinct, those that lay in another's trays among them."""
    own = sum(batch.ballots - bool(batch.stray) for batch in truth.batches if batch.precinct == precinct)
    return own + sum(batch.stray == precinct for batch in truth.batches)
