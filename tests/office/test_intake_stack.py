"""Several packets in one choice of files: sorted, shown beside each other, those that agree accepted in one act."""

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.packet import contents

STRANGER = Ed25519PrivateKey.generate()


def plain(desk) -> dict:
    """Changes that leave the demo's packet without anything to ask: no step short-signed or not so, each gap with its remark."""
    steps = [[*step[:4], step[4] & ~(contents.SHORT | contents.NOT_SO)] for step in desk.opened.core["steps"]]
    return {"steps": steps, "notes": {**desk.opened.remarks, "short": [], "not_so": []}}


def sent(night, *packets):
    return night.upload(*((f"packet-{n}.cose", b"".join(parts)) for n, parts in enumerate(packets, 1)))


def test_two_packets_in_one_choice_of_files_are_two_rows_and_those_that_agree_are_accepted_at_once(night, desk):
    night.hold()
    page = sent(night, night.seal["W3"](**plain(desk)), night.seal["W5"](**plain(desk)))
    assert "2 packets read: 2 agree, 0 need attention" in page.text and page.text.count("<td>517</td><td>522</td>") == 2
    page = night.window.send(page.form("/intake/accept"))
    assert page.path == "/places" and sorted(night.room.board.places) == ["W3", "W5"]
    assert night.kinds.count("packet-received") == 2


def test_what_does_not_agree_stays_in_the_stack_and_is_opened_by_itself(night, desk):
    night.hold()
    page = sent(night, night.seal["W3"](**plain(desk)), night.seal["W5"](by=STRANGER, **plain(desk)))
    assert "1 agrees, 1 needs attention" in page.text and "not proven" in page.text
    page = night.window.send(page.form("/intake/accept"))
    assert page.path == "/intake" and list(night.room.board.places) == ["W3"]
    assert "Heathfield Chapel" in page.text and "Not proven" in page.text


def test_of_two_packets_of_one_place_that_disagree_the_second_is_not_accepted_by_the_way(night, desk):
    night.hold()
    page = sent(
        night, night.seal["W3"](**plain(desk)), night.seal["W3"](made=desk.opened.core["made"] + 1, **plain(desk))
    )
    page = night.window.send(page.form("/intake/accept"))
    assert night.kinds.count("packet-received") == 1 and "disagree" in page.text


def test_a_file_that_is_broken_stops_no_other_and_a_packet_that_is_refused_has_its_sentence(night, desk):
    night.hold()
    good = b"".join(night.seal["W3"](**plain(desk)))
    foreign = b"".join(night.seal["W5"](place_digest=bytes(32)))
    page = night.upload(("one.cose", good), ("noise.png", b"\x89PNG noise"), ("two.cose", foreign))
    assert page.status == 422 and "noise.png" in page.text
    page = night.window.get("/intake")
    assert "2 packets read: 1 agrees, 1 needs attention" in page.text and "never issued" in page.text


def test_no_row_of_the_stack_shows_an_envelope_a_container_or_a_seal(night, desk):
    night.hold()
    page = sent(night, night.seal["W3"](**plain(desk)), night.seal["W5"](**plain(desk)))
    assert all(c["seal"] not in page.text for c in desk.opened.core["containers"] if len(c["seal"]) > 3)
    assert "provisional" not in page.text.lower() and "spoiled" not in page.text.lower()


def test_nobody_accepts_a_stack_on_a_tablet_that_nobody_holds(night, desk):
    window = night.another()
    page = window.get("/intake")
    files = [
        ("a.cose", b"".join(night.seal["W3"](**plain(desk)))),
        ("b.cose", b"".join(night.seal["W5"](**plain(desk)))),
    ]
    page = window.upload(page.form("/intake/file"), "files", files)
    page = window.send(page.form("/intake/accept"))
    assert page.status == 422 and "Nobody holds this tablet" in page.text and "packet-received" not in night.kinds
