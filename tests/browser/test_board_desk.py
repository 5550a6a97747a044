"""The desk's pages of a count board in a real browser: its envelopes and batches, the file of its votes by precinct, Canvass and Totals beside its places."""

import uuid
from dataclasses import replace
from zoneinfo import ZoneInfo

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.count_board import board_place
from demo_precinct.office_night import DeskNight
from tests.browser.page_check import checked, looked_at
from webapp.office.setup import office_file
from webapp.pages.place import packet
from webapp.precinct.place import place_file
from webapp.record.entry import Act, Claim, quarter_hour
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

HOUR = 3_600_000


def gov(a: int, b: int) -> dict:
    return {"GOV": {"votes": {"A": a, "B": b, "C": 0}, "under": 0, "over": 0, "write_in": 0, "ballots": a + b}}


TOLD = [
    ("carrier-in", {"carrier": "K1", "slip_envelopes": {"W3": 26, "W4": 24}}),
    ("envelopes-counted", {"carrier": "K1", "envelopes": {"W3": [26, 26], "W4": [24, 24]}}),
    ("carrier-empty", {"carrier": "K1"}),
    ("tray-open", {"tray": "1", "precincts": ["W3"], "envelopes": 26, "empty": 0, "sleeves": 26}),
    ("tray-open", {"tray": "2", "precincts": ["W4"], "envelopes": 24, "empty": 0, "sleeves": 24}),
    ("batch-made", {"batch": "B001", "kind": "first", "precincts": {"W3": 25}, "envelopes": 26, "ballots": [25, 25]}),
    ("batch-made", {"batch": "B002", "kind": "first", "precincts": {"W4": 24}, "envelopes": 24, "ballots": [24, 24]}),
    ("batch-fed", {"at": "A1", "batch": "B001", "before": 0, "after": 25}),
    ("batch-fed", {"at": "A1", "batch": "B002", "before": 25, "after": 49}),
    ("tape-typed", {"at": "A1", "public": 49, "lifetime": 5169, "ballots": {"W3": 25, "W4": 24}, "contests": gov(30, 19)}),
    ("tape-precinct", {"at": "A1", "precincts": ["W3"], "ballots": 25, "contests": gov(16, 9)}),
    ("tape-precinct", {"at": "A1", "precincts": ["W4"], "ballots": 24, "contests": gov(14, 10)}),
]  # fmt: skip


def packed(folder, place, now: int):
    """The packet of a board whose record was written without its pages, and the files beside it."""
    app = webapp.create_app(Settings("place", folder, clock="scripted", start=now))
    room = app.extensions["room"]
    try:
        before = room.ledger.length
        claims = []
        for kind, body in TOLD:
            when = quarter_hour(now) if room.ledger.rough(kind, body) else now
            claims.append(Claim(uuid.uuid4().bytes, kind, body, when, "L", 0))
        room.ledger.append(*(Act(claim, (), now, 0, None) for claim in claims), now=now)
        room.catch_up(before)
        with app.test_request_context():
            from flask import g

            g.now = now
            return packet.build(room)
    finally:
        room.close()


def test_the_desk_of_a_count_board(tmp_path, window):
    board = board_place(1)
    place = place_file.read(place_file.write(replace(board, board=replace(board.board, votes="by-precinct"))).encode())
    demo = (rehearsed_county.HERE / "place.toml").read_bytes()
    made = rehearsed_county.prepare(tmp_path, rehearsed_county.board_office(), [place_file.write(place).encode(), demo])
    _, sealed, _, files = packed(tmp_path / "places" / "AB", place, place.at(place.closes) + HOUR)
    night = place.at(place.closes) + 3 * HOUR
    app = webapp.create_app(Settings("office", tmp_path / "office", clock="scripted", start=night))
    running = serve_in_thread(app)
    try:
        desk = DeskNight(
            office_file.read(rehearsed_county.board_office()), running.port, made[""], night, ZoneInfo(place.zone)
        )
        desk.open()
        home = desk.crew.window
        sent = home.upload(home.get("/intake").form("/intake/file"), "files", [("packet.cose", sealed.data)])
        assert home.send(sent.form("/intake/take")).path == "/place/AB"

        page, root = window("tablet upright"), f"http://localhost:{running.port}"
        page.goto(root + "/board/AB")
        assert "one sum of absentee ballots" in page.inner_text("main")
        checked(page, "/board/AB")
        (tmp_path / "wrong.csv").write_bytes(files["votes"].replace(b",16", b",17"))
        for name, data in (("wrong", None), ("votes", files["votes"]), ("batches", files["batches"])):
            if data:
                (tmp_path / f"{name}.csv").write_bytes(data)
            what = "batches" if name == "batches" else "votes"
            page.set_input_files(f'form[action="/board/AB/{what}"] input[type="file"]', tmp_path / f"{name}.csv")
            page.click(f'form[action="/board/AB/{what}"] button')
            if name == "wrong":
                assert "not the votes by precinct that were signed" in page.inner_text("[role=alert]")
        told = page.inner_text("main")
        assert "add up to the packet's" in told and "Drawn again here" in told and place_name(app) in told
        for path in ("/board/AB", "/canvass", "/totals?contest=GOV", "/counts/W3", "/counts/W3/absentee/1"):
            looked_at(page, root + path)
        page.goto(root + "/canvass")
        assert "Absentee, Tarn absentee board" in page.inner_text("main")
        page.goto(root + "/totals?contest=GOV")
        row = page.get_by_role("region", name="Governor, absentee ballots by place").locator("tbody tr").inner_text()
        assert row.split()[-7:] == ["30", "19", "0", "0", "0", "0", "49"]
    finally:
        running.stop()
        app.extensions["room"].close()


def place_name(app) -> str:
    return app.extensions["room"].roster.places["W3"].name
