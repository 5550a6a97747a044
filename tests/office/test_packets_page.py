"""Which packet counts, through the pages: a stranger's packet moves nothing, two parties settle what disagrees, and every page says so."""

import random
from dataclasses import replace

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from demo_precinct.rehearsed_day import MINUTE
from webapp.office.checking import packet_checks
from webapp.office.received.received_packets import ReceivedPackets

STRANGER = Ed25519PrivateKey.generate()


def moved(core, votes: int = 100) -> dict:
    """Changes that move votes of one contest from its first choice to its second, on tape T1 and in the room's row."""
    row = list(core["contests"]["GOV"])
    row[0], row[1] = row[0] - votes, row[1] + votes
    tabulators = [dict(one) for one in core["tabulators"]]
    mine = list(tabulators[0]["contests"]["GOV"])
    mine[0], mine[1] = mine[0] - votes, mine[1] + votes
    tabulators[0]["contests"] = {**tabulators[0]["contests"], "GOV": mine}
    return {"contests": {**core["contests"], "GOV": row}, "tabulators": tabulators}


def digest(night, **changes) -> bytes:
    return packet_checks.check(night.seal["W3"](**changes), night.room.roster).opened.digest


def decide(night, form: str, first: str = "calloway", second: str = "durand", **values):
    """The form of the page of packets, signed by two, a minute later."""
    night.now += MINUTE
    night.crew.clock(night.now)
    page = night.window.get("/packets/W3")
    sent = page.form(f"/packets/W3/{form}")
    pins = night.crew.pins
    page = night.window.send(sent, {**values, "signer": first, "pin": pins[first]})
    if page.status != 200 or not page.path.startswith("/sign/"):
        return page
    return night.window.send(page.form(page.path), {"signer": second, "pin": pins[second]})


def votes(night) -> tuple[int, int]:
    total = next(t for t in night.room.tables.sums().items() if t[0] == ("GOV", "A"))
    other = next(t for t in night.room.tables.sums().items() if t[0] == ("GOV", "B"))
    return total[1], other[1]


def test_a_strangers_packet_that_says_it_amends_moves_no_figure_and_is_named_on_every_page(night, desk):
    """A copy of the packet with 100 votes moved, signed by a key that nobody enrolled."""
    night.hold()
    night.take_in("W3")
    before = votes(night)
    night.take_in("W3", by=STRANGER, number=2, amends=digest(night), **moved(desk.opened.core))
    assert votes(night) == before == (267, 94)
    assert "question" in night.room.state("W3")[1]
    for path in ("/totals", "/places", "/canvass"):
        assert "Held and in no figure, 1 place with a packet that is not proven" in night.window.get(path).text, path
    page = night.window.get("/packets/W3")
    assert (
        "A packet that is not proven is in no figure" in page.text
        and "T1: " in page.text
        and "]&nbsp;100&nbsp;[" in page.text
    )


def test_a_strangers_packet_alone_is_in_no_figure_until_two_parties_compared_its_tape(night):
    night.hold()
    night.take_in("W3", by=STRANGER)
    assert night.room.board.places == {} and night.room.state("W3") == ("look", "held: not proven")
    assert "No packet counts yet" in night.window.get("/place/W3").text
    name = digest(night, by=STRANGER).hex()[:16]
    page = decide(night, "counts", which=name, why="The spare laptop; the tape was compared.")
    assert page.status == 422 and "Compare its tape in full" in page.text
    page = decide(night, "counts", which=name, why="The spare laptop; the tape was compared.", tape="yes")
    assert page.path == "/packets/W3" and night.kinds[-1] == "place-counts"
    assert list(night.room.board.places) == ["W3"] and votes(night) == (267, 94)
    for path in ("/totals", "/places", "/canvass"):
        assert "Includes 1 packet that is not proven" in night.window.get(path).text, path
    night.restart()
    assert list(night.room.board.places) == ["W3"]


def test_both_signers_of_one_party_settle_nothing(night):
    night.hold()
    night.take_in("W3", by=STRANGER)
    name = digest(night, by=STRANGER).hex()[:16]
    page = decide(night, "counts", "durand", "ekstrom", which=name, why="so", tape="yes")
    assert page.status == 422 and "place-counts" not in night.kinds


def test_two_that_disagree_stand_side_by_side_and_two_parties_settle_it(night, desk):
    night.hold()
    night.take_in("W3")
    night.take_in("W3", number=2, **moved(desk.opened.core))
    assert votes(night) == (167, 194) and night.room.state("W3")[1].startswith("two packets disagree")
    assert "Two packets disagree at 1 place" in night.window.get("/canvass").text
    page = night.window.get("/packets/W3")
    assert "figures differ. Until this is settled packet 2 counts" in page.text
    page = decide(night, "counts", which=digest(night).hex()[:16], why="")
    assert page.status == 422 and "in one sentence for the board" in page.text
    decide(night, "counts", which=digest(night).hex()[:16], why="The signed tape agrees with packet 1.")
    assert votes(night) == (267, 94) and not night.room.tray.outcome("W3").contradicted
    assert "The signed tape agrees with packet 1." in night.window.get("/packets/W3").text
    assert "which packet counts" in night.window.get("/record").text.lower()


def test_a_packet_is_set_aside_and_brought_back_by_two_parties(night):
    night.hold()
    night.take_in("W3")
    name = digest(night).hex()[:16]
    opened = night.window.get("/packets/W3").form("/packets/W3/aside")
    decide(night, "aside", packet=name, why="It was made in a rehearsal.")
    kept = night.room.ledger.length
    late = {"packet": name, "why": "It is not real.", "signer": "calloway", "pin": night.crew.pins["calloway"]}
    page = night.window.send(opened, late)  # a page from before would bring it back
    assert page.status == 422 and "was set aside or brought back since" in page.text
    assert night.room.ledger.length == kept
    assert night.room.board.places == {} and night.room.state("W3") == ("look", "every packet is set aside")
    assert "Every packet is set aside" in night.window.get("/place/W3").text
    decide(night, "aside", packet=name, why="It was not.")
    assert list(night.room.board.places) == ["W3"]
    assert night.kinds.count("packet-set-aside") == 2


def test_a_packet_signed_with_a_lost_key_is_held(night):
    """A key that may be in other hands proves nothing, whatever the packet says of the time it was made."""
    night.hold()
    roster = night.room.roster
    kid, row = next((kid, row) for kid, row in roster.enrolments.items() if row.place == "W3")
    object.__setattr__(roster, "enrolments", {**roster.enrolments, kid: replace(row, to_ms=10**14, lost_at=1)})
    night.take_in("W3")
    assert night.room.state("W3") == ("look", "held: not proven") and night.room.board.places == {}


def test_in_any_order_of_packets_the_figures_are_the_same(night, desk, tmp_path):
    """Seven packets of one place, proven and not, laid into the tray in forty drawn orders: one outcome, one core."""
    sealed, roster = night.seal["W3"], night.room.roster
    first = digest(night)
    drawn = [
        sealed(),
        sealed(number=2, amends=first),
        sealed(number=2, **moved(desk.opened.core)),
        sealed(number=3, amends=first, by=STRANGER),
        sealed(number=9, by=STRANGER, **moved(desk.opened.core, 5)),
        sealed(number=4, amends=digest(night, number=2, **moved(desk.opened.core))),
        sealed(number=2, amends=first, made=desk.opened.core["made"] + 60_000),
    ]
    opened = [packet_checks.check(parts, roster).opened for parts in drawn]
    outcomes = []
    for seed in range(40):
        (tmp_path / str(seed)).mkdir()
        tray = ReceivedPackets(tmp_path / str(seed), roster)
        for one in random.Random(seed).sample(opened, len(opened)):
            tray.count_in("W3", one.digest, one)
        outcomes.append((tray.outcome("W3"), tray.counts("W3")[1].core))
    assert all(one == outcomes[0] for one in outcomes)


def test_an_amendment_says_what_it_changed_before_it_is_accepted_and_on_the_places_page(night, desk):
    night.hold()
    night.take_in("W3")
    first = digest(night)
    said = "Packet 2 replaces packet 1: 2 of "
    sent = b"".join(night.seal["W3"](number=2, amends=first, **moved(desk.opened.core, 3)))
    page = night.upload(("packet.cose", sent))
    assert said not in night.window.get("/place/W3").text and said in page.text
    page = night.window.send(page.form("/intake/take"))
    assert said in page.text and 'href="/packets/W3"' in page.text
    second = night.room.tray.outcome("W3").digest
    page = night.take_in("W3", number=3, amends=second, **moved(desk.opened.core, 3))
    assert "Packet 3 replaces packet 2: no figure differs." in page.text
