"""The accuracy test played through its pages: a planted exchange found and named, what the pages refuse meanwhile, the place file that comes of it."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.printed_text import printed_text
from demo_precinct.rehearsed_test import BEFORE, DeckTest
from demo_precinct.tests_first import enrolled, test_place
from webapp.commands import main
from webapp.deck.deck import build as build_deck
from webapp.deck.plan import plan
from webapp.gate import keys, verifier
from webapp.office.checking import packet_checks
from webapp.office.setup import roster
from webapp.packet.envelope import PacketRefused, seal_packet
from webapp.pages.deck import deck_site
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import verify
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

DEMO = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())


class Tired(DeckTest):
    """Does what a tired tester does, and what somebody does who wants to break it; `seen` is what the pages answered."""

    def __init__(self, *args):
        super().__init__(*args)
        self.seen: dict[str, object] = {}
        self.slip = True

    def page(self, path: str):
        return self.crew.window.get(path)

    def refused(self, path: str, page, **values) -> str:
        """What the page says to this form, which it must not take."""
        form = page.form(path)
        answer = self.crew.window.send(form, values)
        assert answer.status == 422, f"{path} took it: {answer.path}"
        return answer.said()

    def do_deck_made(self, key, at):
        page = self.page("/step/deck-made")
        who = page.form("/step/deck-made").controls["signer"].options[0]
        self.seen["other sheets"] = self.refused(
            "/step/deck-made", page, sheets_agree="yes", rows="38", faults="9", signer=who, pin=self.crew.pins[who]
        )
        self.crew.do(key)

    def do_marked(self, key, at):
        chair = self.place.officials[0].id
        style = self.place.styles[0].id
        path = f"/deck/style/{style}"
        form = self.page(path).form(path)
        rows = form.controls["row"].options
        self.seen["nothing ticked"] = self.refused(path, self.page(path), what="marked")
        self.seen["checked first"] = self.refused(path, self.page(path), row=rows[:1], what="checked")
        self.crew.sent(form, {"row": rows[:1], "what": "marked"})
        self.crew.sent(form, {"row": rows[:1], "what": "marked"})  # pressed again: the same entry
        self.seen["checked by the marker"] = self.refused(path, self.page(path), row=rows[:1], what="checked")
        self.seen["sheet"] = self.page(f"/deck/row/{rows[0]}").text
        self.seen["card"] = self.page("/deck/row/X-001").text
        self.seen["no such row"] = self.page("/deck/row/9-999").status
        self.seen["certificate before"] = " ".join(printed_text(self.page("/deck/certificate.pdf").body).split())
        self.seen["chart before"] = self.page(f"/tapes/{self.place.tabulators[0].id}").text
        who = self.page("/step/marked").form("/step/marked").controls["signer"].options[0]
        values = {"rows": str(len(self.answers.ballots)), "spoiled": "0", "signer": who, "pin": self.crew.pins[who]}
        self.seen["half ticked"] = self.refused("/step/marked", self.page("/step/marked"), **values)
        self.crew.hold(chair)
        super().do_marked(key, at)

    def do_deck_fed(self, key, at):
        if "early" not in self.seen:
            self.by_the_back_door(at)
        page = self.page(f"/step/{key}")
        values = self.crew.values(page.form(f"/step/{key}"), "deck-fed", at) | {"counter": "3"}
        who = page.form(f"/step/{key}").controls["signer"].options[0]
        self.seen["counter behind"] = self.refused(f"/step/{key}", page, **values, signer=who, pin=self.crew.pins[who])
        self.crew.do(key)

    def by_the_back_door(self, at: str):
        """Figures sent to addresses that no page shows yet: a tape before the deck is fed, a tape and a comparison as plain steps."""
        token = self.page("/tablet").form("/tablet/light").controls["csrf_token"].value
        before = self.length()
        sent = [("csrf_token", token), ("public", "36"), ("how", "blind"), ("entry_id", "0" * 32), ("salt", "0" * 32)]
        answers = [
            self.crew.window.post(path, sent)
            for path in (f"/tape/{at}/key", f"/step/tape-typed:{at}", f"/step/compared:{at}")
        ]
        self.seen["early"] = [(one.status, one.path) for one in answers], self.length() - before

    def length(self) -> int:
        return int(self.page("/now").text.partition('data-kept="')[2].partition('"')[0])

    def do_tape_typed(self, key, at):
        """The first time both key the same wrong figure; it is corrected, and compared again."""
        if not self.slip:
            return super().do_tape_typed(key, at)
        self.slip = False
        right = self.answers.tapes[at].contests["SEN"]["under"]
        self.answers.tapes[at].contests["SEN"]["under"] = right + 40
        super().do_tape_typed(key, at)
        self.answers.tapes[at].contests["SEN"]["under"] = right
        page = self.page(f"/compared/{at}")
        self.seen["slip"] = page.text
        typed = page.text.partition("/record/")[2].partition("/correct")[0]
        self.seen["not equal"] = self.signed_as_equal(at)
        self.crew.correct(int(typed), {"contests.SEN.under": str(right)}, "Mistyped by both.")
        return None

    def signed_as_equal(self, at: str) -> str:
        page = self.page(f"/compared/{at}")
        who = page.form(f"/compared/{at}").controls["signer"].options[0]
        return self.refused(f"/compared/{at}", page, signer=who, pin=self.crew.pins[who])

    def edition_before(self, at: str) -> dict[str, str]:
        """What the page says of the typed tape and several files that may be the edition before."""
        path = f"/compared/{at}/edition"
        form = self.page(path).form(path)
        (contest, a), (_, b) = self.fault.ovals
        names = [c.id for c in self.place.contest(contest).choices]
        turned = {a: b, b: a}
        order = {contest: tuple(turned.get(c, c) for c in names)}
        styles = tuple(replace(s, order=order) if s.id == self.fault.style else s for s in self.place.styles)
        files = {
            "the edition before": place_file.write(replace(self.place, edition="demo 0", styles=styles)),
            "another edition": place_file.write(replace(self.place, edition="demo x")),
            "another place": place_file.write(replace(self.place, id="W9")),
            "no place file": "not TOML at all [",
            "no file": "",
            "a large place file": place_file.write(replace(self.place, edition="demo y")) + "# " + "x" * 200_000,
        }
        return {
            name: self.crew.window.upload(form, "file", [("before.toml" if text else "", text.encode())]).text
            for name, text in files.items()
        }

    def do_compared(self, key, at):
        if self.fault and "editions" not in self.seen:
            self.seen["editions"] = self.edition_before(at)
        elif not self.fault and "same edition" not in self.seen:
            path, same = f"/compared/{at}/edition", place_file.write(replace(self.place, edition="demo x"))
            answer = self.crew.window.upload(self.page(path).form(path), "file", [("before.toml", same.encode())])
            self.seen["same edition"] = answer.text
        self.seen.setdefault(f"{at} round {2 - bool(self.fault)}", self.page(f"/compared/{at}").text)
        self.seen["tapes page"] = self.page("/tapes").text
        super().do_compared(key, at)

    def mend(self):
        self.seen["sums held"] = self.page("/step/sums").text
        super().mend()
        self.seen["round 2"] = self.page("/tapes").text

    def do_sums(self, key, at):
        """The first signs, then the test begins again: the second signature keeps nothing of the round before."""
        if "late second" in self.seen:
            return self.crew.do(key)
        page = self.page("/step/sums")
        form = page.form("/step/sums")
        who = form.controls["signer"].options[0]
        waiting = self.crew.sent(form, self.crew.values(form, "sums", "") | {"signer": who, "pin": self.crew.pins[who]})
        assert waiting.path.startswith("/sign/")
        self.crew.note("again", why="other")
        second = self.page(waiting.path).form(waiting.path)
        other = next(o for o in second.controls["signer"].options if o != who)
        answer = self.crew.window.send(second, {"signer": other, "pin": self.crew.pins[other]})
        self.seen["late second"] = answer.said()
        self.report.cells = 0
        return None

    def observers_add(self):
        """Two ballots of Governor, first with a figure of their tape that differs, then as both sign them."""
        path = "/note/own-ballots"
        form = self.page(path).form(path)
        by_hand = {
            "votes.A": "1",
            "votes.B": "1",
            "votes.C": "0",
            "write_in": "0",
            "under": "0",
            "over": "0",
            "ballots": "2",
        }
        values = {"ballots": "2", "counted_first": "yes", "differing": "0"}
        for side in ("expected", "tape"):
            values |= {f"{side}.GOV.{line}": figure for line, figure in by_hand.items()}
        who = form.controls["signer"].options[0]
        values |= {"signer": who, "pin": self.crew.pins[who]}
        off = values | {"tape.GOV.votes.A": "2", "tape.GOV.votes.B": "0"}
        self.seen["own that differ"] = self.refused(path, self.page(path), **off)
        waiting = self.crew.sent(form, values)
        second = waiting.form(waiting.path)
        other = next(o for o in second.controls["signer"].options if o != who)
        self.crew.sent(second, {"signer": other, "pin": self.crew.pins[other]})
        self.seen["own ballots"] = self.page("/tapes").text

    def do_certificate(self, key, at):
        self.observers_add()
        self.seen["certificate"] = " ".join(printed_text(self.page("/deck/certificate.pdf").body).split())
        self.seen["packet"] = [
            self.page(path).status for path in ("/packet", "/packet/packet.cose", "/count", "/balance", "/where")
        ]
        token = self.page("/tablet").form("/tablet/light").controls["csrf_token"].value
        self.seen["packet posted"] = self.crew.window.post("/packet/make", [("csrf_token", token)]).status
        super().do_certificate(key, at)


@pytest.fixture(scope="module")
def test(tmp_path_factory):
    """(the player, the root with `office/` and `tests/W3`): the demo's place, its test played to the end, PINs at little cost."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(verifier, "MEMORY_KIB", 64)
        patch.setattr(verifier, "PASSES", 1)
        root: Path = tmp_path_factory.mktemp("test") / "demo"
        rehearsed_county.open_office(root, (rehearsed_county.HERE / "office.toml").read_bytes())
        folder = root / "tests" / DEMO.id
        folder.parent.mkdir()
        codes = enrolled(folder, root / "office", DEMO)
        app = webapp.create_app(Settings("place", folder, clock="scripted", start=DEMO.at(DEMO.opens) - BEFORE))
        running = serve_in_thread(app)
        player = Tired(test_place(DEMO), running.port, codes)
        try:
            assert player.play()
            player.seen["now"] = player.page("/now").text
            player.seen["record"] = [entry.kind for entry in app.extensions["room"].ledger.entries()]
        finally:
            running.stop()
            app.extensions["room"].close()
        yield player, root


def test_the_planted_exchange_is_found_named_first_mended_and_gone(test):
    report = test[0].report

    assert report.differing_first >= 2 * len(DEMO.tabulators)  # two choices on each tabulator
    assert report.named_at == 1
    assert report.differing == 0 and report.cells == sum(
        1 for t in DEMO.tabulators for _ in test[0].seen[f"{t.id} round 2"].split('<tr><th scope="row">')[1:]
    )


def test_the_certificate_has_what_the_record_holds_and_nothing_before(test):
    player, words = test[0], test[0].seen["certificate"]

    for number in (*player.report.seals.values(), *(f"{n:,}" for n in player.report.lifetime.values())):
        assert number in words
    assert "T1: all 69 figures of its tape are as expected" in words and "figures of the tape of T1 differed" in words
    assert "TEST-1" in words and "program or memory changed at T1, T2" in words
    assert (
        "From the record" not in player.seen["certificate before"] and "TEST-1" not in player.seen["certificate before"]
    )


def test_the_record_says_right_behind_its_beginning_which_deck_this_is_and_verifies(test):
    player, root = test

    assert player.seen["record"][:3] == ["record-opened", "deck", "started"]
    assert verify(root / "tests" / DEMO.id / "record.db", coarse=COARSE_KINDS).ok


SAID = {
    "other sheets": "not the number of this deck",
    "nothing ticked": "Tick at least one ballot",
    "checked first": "not ticked as marked yet",
    "checked by the marker": "Somebody else checks",
    "late second": "before the test began again",
    "half ticked": "Not ticked as marked on the page Deck",
    "counter behind": "the feeding list of",
    "not equal": "3 figures differ",
    "chart before": "The chart of T1 is on paper",
    "slip": "3 of 69 figures of T1 differ",
    "sums held": "are as expected",
    "round 2": "round 2",
    "card": "X-001",
    "same edition": "Edition demo x would give the same tape",
    "own that differ": "2; counted by hand 1: 1 more",
    "own ballots": "Their tape",
    "now": "The test is over",
    "T1 round 1": "Stop",
    "T1 round 2": "All 69 figures of T1 agree",
    "tapes page": "Something was changed",
}


@pytest.mark.parametrize("case", SAID)
def test_each_page_says_what_is_so(test, case):
    assert SAID[case] in test[0].seen[case]


EDITIONS = {
    "the edition before": "This is the tape of edition demo 0",
    "another edition": "This is not the tape of edition demo x",
    "another place": "This place file is of W9",
    "no place file": "not a place file that can be read",
    "no file": "Choose the place file",
    "a large place file": "This is not the tape of edition demo y",
}


def test_a_tape_is_held_against_the_edition_before_on_a_page(test):
    """Antrim 2020: one memory was made before the ballot was changed."""
    said = test[0].seen["editions"]
    assert {name: words in said[name] for name, words in EDITIONS.items()} == dict.fromkeys(EDITIONS, True)


def test_nothing_is_typed_or_compared_by_the_back_door(test):
    answers, entries = test[0].seen["early"]

    assert entries == 0 and all(status == 200 for status, _ in answers)
    assert [path for _, path in answers] == ["/tape/T1", "/tape/T1", "/compared/T1"]


def test_a_marking_sheet_names_what_to_mark_and_its_place(test):
    sheet = test[0].seen["sheet"]
    assert "Place in the contest" in sheet and " of " in sheet and "TEST" in sheet
    assert test[0].seen["no such row"] == 404


def test_a_test_makes_no_packet_and_has_no_page_of_the_day(test):
    assert test[0].seen["packet"] == [404] * 5 and test[0].seen["packet posted"] == 404


def test_what_the_test_signs_is_refused_at_the_desk(test):
    """Its key is enrolled apart: neither a packet made by hand with it, nor one that claims its name, reaches a total."""
    _, root = test
    found = roster.load(root / "office")
    key = keys.place_key(root / "tests" / DEMO.id)
    parts = seal_packet({"v": 1, "mode": "practice", "place": DEMO.id}, {}, key, "practice").parts

    assert found.places == {} and found.enrolments == {} and len(found.tests) == 1
    with pytest.raises(PacketRefused, match="accuracy test of W3"):
        packet_checks.check(parts, found)


def tapeseal(capsys, *words) -> tuple[int, str, str]:
    code = main([str(word) for word in words])
    said = capsys.readouterr()
    return code, said.out, said.err


def build(capsys, root: Path, name: str, place, after: Path):
    file = root / f"{name}.toml"
    file.write_text(place_file.write(place), encoding="utf-8")
    return tapeseal(
        capsys, "place", "build", file, "--office", root / "office", "--out", root / f"{name}-out.cose", "--after", after, "--json"
    )  # fmt: skip


def test_counters_seals_and_stock_flow_into_the_place_file_of_the_day(test, capsys):
    player, root = test
    code, out, _ = build(capsys, root, "day", DEMO, root / "tests" / DEMO.id)
    said = json.loads(out)["after"]
    day = place_file.read(Path(said["toml"]).read_bytes())

    assert code == 0 and {t.id: t.lifetime for t in day.tabulators} == player.report.lifetime
    on = {one.at: one.number for one in day.applied}
    assert {at: on[at] for at in player.report.seals} == player.report.seals
    assert not set(player.report.seals.values()) & set(day.seals)
    assert [s.received for s in day.stock] == [s.received - said["used"][s.style] for s in DEMO.stock]
    assert any("the file said" in sentence for sentence in said["says"])
    assert day.kind == "place" and day.contests == DEMO.contests


CHANGED = {
    "another place": (replace(DEMO, id="W9"), "The test was of W3"),
    "another tabulator": (
        replace(DEMO, tabulators=(replace(DEMO.tabulators[0], serial="99-1"), *DEMO.tabulators[1:])),
        "was not tested",
    ),
    "another ballot": (
        replace(DEMO, contests=(replace(DEMO.contests[0], title="Another"), *DEMO.contests[1:])),
        "not those that were tested",
    ),
    "a test itself": (test_place(DEMO), "of a test itself"),
    "too little stock": (replace(DEMO, stock=tuple(replace(s, received=3) for s in DEMO.stock)), "from the stock"),
}


@pytest.mark.parametrize("case", CHANGED)
def test_a_place_file_that_the_test_does_not_fit_is_refused(test, capsys, case):
    _, root = test
    place, sentence = CHANGED[case]
    code, _, err = build(capsys, root, case.replace(" ", "-"), place, root / "tests" / DEMO.id)

    assert code == 2 and sentence in err
    assert not (root / f"{case.replace(' ', '-')}-out.cose").exists()


def test_a_test_without_a_deck_is_not_signed(test, capsys):
    """Nothing to feed it to: said at the office, not on the morning of the test."""
    _, root = test
    file = root / "no-deck.toml"
    file.write_text(place_file.write(replace(test_place(DEMO), tabulators=(), applied=())), encoding="utf-8")
    code, _, err = tapeseal(capsys, "place", "build", file, "--office", root / "office", "--out", root / "no-deck.cose")

    assert code == 2 and "no tabulator" in err


def test_no_packet_is_built_of_a_test(test, capsys, tmp_path):
    code, _, err = tapeseal(capsys, "packet", "build", test[1] / "tests" / DEMO.id, "--out", tmp_path / "out")
    assert code == 1 and "A test makes no packet" in err


def test_a_test_begun_with_an_earlier_dealing_goes_on_with_its_deck(test, tmp_path, monkeypatch):
    """With straight party a newer program deals another pile: the record names the one in hand."""
    place = place_file.read((Path(__file__).parents[1] / "deck/stored/place.toml").read_bytes())
    enrolled(tmp_path / place.id, test[1] / "office", place)
    settings = Settings("place", tmp_path / place.id, clock="scripted", start=place.at(place.opens) - BEFORE)
    with monkeypatch.context() as earlier:
        earlier.setattr(deck_site, "plan", lambda place: replace(plan(place), dealing=1))
        begun = webapp.create_app(settings).extensions["room"]
        begun.say_started()
        begun.close()
    now = webapp.create_app(settings).extensions["room"]

    assert now.deck.plan.dealing == 1 and now.deck.digest == begun.deck.digest != build_deck(plan(now.place)).digest
    assert now.other_deck() == ""
    now.close()


def test_a_folder_that_is_no_test_is_refused(test, capsys, tmp_path):
    code, _, err = build(capsys, test[1], "no-test", DEMO, tmp_path)
    assert code == 2 and err.startswith("tapeseal place: ")
