"""On the spare laptop each person sets a PIN with the own second code: once, for themselves, signed; without a kit the record says so."""

import uuid

import pytest

import webapp
from demo_precinct.http_window import Window
from tests.stick import nights
from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.gate import verifier
from webapp.record.entry import Act, Claim, Signer
from webapp.record.ledger import Ledger
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

PIN = "739152"


@pytest.fixture
def spare(enrolled, tapeseal, stick, tmp_path, monkeypatch):
    """Serves a spare laptop after two officials took the oath on the one that died; `spare("--fresh")` without a kit."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    served = []
    with Ledger.open(enrolled.record, nights.story.COARSE) as ledger:
        for n, (person, role, party) in enumerate((("lindqvist", "chair", "M"), ("okafor", "witness", "P"))):
            signer = Signer(person, role, party, "pin")
            for kind, body in (
                ("pin-set", {"person": person, "by": "slip"}),
                ("oath", {"person": person, "row": n + 1}),
            ):
                claim = Claim(uuid.uuid4().bytes, kind, body, nights.story.SIX, "L1", ledger.last_seq("L1") + 1)
                ledger.append(Act(claim, (signer,), nights.story.SIX), now=nights.story.SIX)
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0

    def serve(*how):
        words = how or ("--kit", enrolled.kit)
        assert tapeseal("record", "restore", stick, "--out", tmp_path / "spare", *words)[0] == 0
        app = webapp.create_app(Settings("place", tmp_path / "spare", "practice"))
        served.append((app, serve_in_thread(app)))
        return Window(served[-1][1].port), app.extensions["room"]

    yield serve
    for app, running in served:
        running.stop()
        app.extensions["room"].close()


def set_again(window, person, **typed):
    form = window.get(f"/people/pin/{person}").form(f"/people/pin/{person}")
    return window.send(form, {"pin": PIN, "pin_again": PIN, **typed})


def test_a_pin_is_set_again_with_the_second_code_and_signed_by_its_owner(enrolled, spare):
    window, room = spare()
    assert "Set a PIN again" in window.get("/people").text
    assert "taken" not in window.get("/people/pin/lindqvist").said()

    assert set_again(window, "lindqvist", code=enrolled.second["lindqvist"]).status == 200

    kept = room.day.of("pin-set")[-1]
    assert (kept.body, [s.person for s in kept.signers]) == (
        {"person": "lindqvist", "by": "second-code"},
        ["lindqvist"],
    )
    room.gate.check_pin("lindqvist", PIN, "L1", room.now())
    assert window.get("/people/pin/lindqvist").status == 404
    assert len(room.day.of("oath")) == 2


@pytest.mark.parametrize("which", ["first", "another's", "mistyped"])
def test_no_other_code_opens_it(enrolled, spare, which):
    window, room = spare()
    code = {"first": enrolled.first["lindqvist"], "another's": enrolled.second["okafor"], "mistyped": "0000-0000-0000"}[
        which
    ]

    assert set_again(window, "lindqvist", code=code).status == 422
    assert not room.gate.pins.has("lindqvist")


def test_a_code_works_once(enrolled, spare):
    window, room = spare()
    set_again(window, "lindqvist", code=enrolled.second["lindqvist"])
    room.gate.pins.clear("lindqvist")

    assert "used already" in set_again(window, "lindqvist", code=enrolled.second["lindqvist"]).text


def test_without_a_kit_the_entry_says_that_nothing_proves_it(spare):
    window, room = spare("--fresh")
    assert "nothing proves who sets this PIN" in window.get("/people/pin/okafor").text

    assert set_again(window, "okafor").status == 200
    assert room.day.of("pin-set")[-1].body == {"person": "okafor", "by": "fresh"}


def test_nobody_sets_one_who_did_not_take_the_oath(spare):
    window, _ = spare()
    assert window.get("/people/pin/moreau").status == 404
