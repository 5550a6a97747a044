"""A count board in a real browser at tablet size: a tray opened, ten batches made on one page, one fed with a counter that does not agree, found and settled,
a duplicate made and checked. Taps are counted as in `test_taps.py`; a figure's digits and the Enter key after them are keys.
"""

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.board_days import BoardDays
from demo_precinct.count_board import BoardTruth, TrueBatch, TrueTray, board_place
from tests.browser.hand import TOUCHED
from tests.browser.page_check import checked, looked_at
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

MOST = 6  # taps of a batch that agrees, besides its digits
TICKED = """names => names.map((name) => {  // how many boxes were ticked
  const box = document.querySelector(`[name="${name}"]`);
  if (!box.checkVisibility() || box.disabled || box.checked) throw new Error(`nobody can tick ${name}`);
  box.click();
  if (!box.checked) throw new Error(`${name} is not ticked`);
}).length"""
NAMES_BESIDE_THEIR_TICKS = """() => {  // px by which the name of a stretch of the day lies off the tick where it begins, where that is seen
  const ticks = [...document.querySelectorAll('.picture.day .thick[y1="24"]')].map(one => one.getBoundingClientRect().x);
  const names = [...document.querySelectorAll('.joints > li')].map(one => one.getBoundingClientRect().x);
  return names.length === ticks.length ? names.map((x, at) => Math.round(x - ticks[at])).filter(off => Math.abs(off) > 4) : ['as many names as ticks'];
}"""
PAGES = (
    "/now", "/batches", "/batches/B001", "/batches/B002", "/batches/B002/again", "/batches/make", "/feed", "/feed/A1", "/trays", "/problems", "/running",
    "/trays/carrier", "/note", "/note/tray-open", "/note/settled", "/note/seat", "/note/tape-precinct/A1", "/steps/board-opening", "/steps/board-close",
)  # fmt: skip


class Table:
    """One tablet at the board, and the people around it."""

    def __init__(self, page, days: BoardDays, port: int):
        self.page, self.days, self.root, self.taps = page, days, f"http://localhost:{port}", 0

    def go(self, path: str) -> None:
        self.page.goto(self.root + path)

    @property
    def path(self) -> str:
        return self.page.url.removeprefix(self.root)

    def type(self, **values: str) -> None:
        self.page.evaluate(TOUCHED, ["", list(values.items())])

    def tick(self, *names: str) -> None:
        self.taps += self.page.evaluate(TICKED, names)

    def choose(self, name: str, value: str) -> None:
        """Out of buttons, or of a list that opens."""
        button = self.page.locator(f'[name="{name}"][value="{value}"]')
        button.check() if button.count() else self.page.locator(f'select[name="{name}"]').select_option(value)

    def sign(self, nth: int = 0) -> str:
        """A name, the field of the PIN, its digits and Enter."""
        names = self.page.locator('[name="signer"]')
        who = names.nth(nth).get_attribute("value")
        if not names.nth(nth).is_visible():
            self.page.get_by_text("Somebody else").click()
            self.taps += 1
        self.taps += self.page.evaluate(TOUCHED, ["", [("signer", who), ("pin", self.days.crew.pins[who])]])[0]
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        return who

    def both(self, nth: int = 0, then: int = 0) -> None:
        self.sign(nth)
        assert self.path.startswith("/sign/"), self.said()
        self.sign(then)
        assert not self.path.startswith("/sign/"), self.said()

    def said(self) -> str:
        return " ".join(self.page.locator("[role=alert]").all_inner_texts())


def one_tray() -> BoardTruth:
    """250 envelopes of one precinct in one tray: ten batches of 25."""
    place = place_file.read(place_file.write(board_place(1)).encode())
    batches = [TrueBatch(f"B{n:03}", "W3", 25, 0, 0, 25) for n in range(1, 11)]
    tray = TrueTray("1", "W3", 250, batches=batches)
    return BoardTruth(place, {"K1": {"W3": 250, "W4": 0}}, [tray], {"A1": {"W3": 0, "W4": 0}, "A2": {"W3": 0, "W4": 0}})


def test_a_tray_its_batches_and_a_duplicate_at_tablet_size(tmp_path, window, capsys):
    truth = one_tray()
    made = rehearsed_county.prepare(tmp_path, rehearsed_county.board_office(), [place_file.write(truth.place).encode()])
    start = truth.place.at(truth.place.opens) - 24 * 3_600_000
    app = webapp.create_app(Settings("place", tmp_path / "places" / "AB", clock="scripted", start=start))
    run = serve_in_thread(app)
    try:
        days = BoardDays(truth, run.port, made["AB"])
        days.begin()
        days.note("carrier-in", carrier="K1", seal="40001", **{"slip_envelopes.W3": "250"})
        days.note("envelopes-counted", carrier="K1", **{"envelopes.W3": "250; 250"})
        days.note("carrier-empty", carrier="K1")
        days.second_morning(night=False)
        played(Table(window("tablet upright"), days, run.port), app.extensions["room"], capsys)
    finally:
        run.stop()
        app.extensions["room"].close()


def played(table: Table, room, capsys) -> None:
    board = room.board
    table.go("/trays")
    table.page.get_by_role("link", name="Open a tray").click()
    table.type(tray="1", envelopes="250", empty="0", sleeves="250")
    table.tick("precincts.W3")
    table.both()
    assert room.board.trays["1"].sleeves == 250
    table.go("/batches/make?tray=1")
    checked(table.page, "/batches/make, a tray to unfold first")
    table.go("/note/unfold?tray=1")
    table.type(ballots="250; 250", extra="0", damaged="0")
    table.both()

    table.go("/trays")
    table.page.get_by_role("link", name="Make batches").first.click()
    for n in range(1, 11):
        table.type(**{f"row{n}/envelopes": "25", f"row{n}/ballots": "25"})
        table.tick(f"row{n}/header_checked", f"row{n}/way_round")
    table.taps = 0
    table.both()
    assert [batch.ballots for batch in room.board.batches.values()] == [25] * 10, table.said()

    # a batch that agrees
    table.go("/feed/A1")
    table.taps = 0
    table.type(batch="B001", before="0", after="25")
    table.tick("header_back", "end_reached")
    table.both()
    taps = table.taps
    assert table.path == "/feed/A1" and room.board.batches["B001"].fed.after == 25
    with capsys.disabled():
        print(f"\na batch that agrees, signed by two: {taps} taps besides the digits (at most {MOST})")
    assert taps <= MOST

    # a counter that does not agree: said before anybody has signed, and what was typed is still there
    table.type(batch="B002", before="25", after="49")
    table.tick("header_back", "end_reached")
    table.sign()
    assert table.path == "/feed/A1" and "1 ballot too few" in table.said()
    assert table.page.locator('[name="after"]').input_value() == "49"
    length = room.ledger.length
    # found: one lies torn under the feeder; it is set aside, and the batch agrees
    assert table.page.locator('[name="aside.torn"]').is_visible(), "where it may lie is asked at once"
    table.type(**{"aside.torn": "1"})
    table.both()
    assert room.ledger.length > length and not room.board.batches["B002"].again
    table.page.get_by_role("link", name="Note what was set aside").click()
    table.type(position="7")
    table.choose("cause", "torn")
    table.sign()
    # its duplicate, made by two and compared by two
    table.go("/problems")
    table.page.get_by_role("link", name="Make a duplicate").click()
    assert table.page.locator('[name="serial"]').input_value() == "D-0001"
    table.choose("style", "3A")
    table.choose("cause", "torn")
    table.tick("both_numbered", "void_stamped", "duplicate_stamped")
    table.both()
    table.go("/note/settled?batch=B002&position=7")
    table.choose("outcome", "duplicated")
    table.type(serial="D-0001")
    table.both()
    table.go("/problems")
    table.page.get_by_role("link", name="Compare with originals").click()
    table.type(to="D-0001")
    table.tick("agree")
    table.sign()
    assert "made D-0001: two others compare it" in table.said()
    table.both(4, 4)
    assert room.board.problems["B002", 7].serial == "D-0001" and room.board.duplicates["D-0001"].checked
    assert room.day.balance.gaps == () or all(line.id in ("duplicates", "envelopes") for line in room.day.balance.gaps)
    assert board.rules.batch == 25

    for path in PAGES:
        looked_at(table.page, table.root + path)
    table.go("/now")
    assert table.page.evaluate(NAMES_BESIDE_THEIR_TICKS) == []
