"""Intake over HTTP: scanner, pictures, PDF, file, camera; mixed, cut and hostile bytes; who may take in; and what is there after a restart."""

import http.client
import io
import json

import pytest
from PIL import Image

from tests.office.conftest import tiny
from webapp.office.checking import packet_checks
from webapp.packet import codes, frames
from webapp.packet.keyboard_scanner import CALIBRATION
from webapp.pages.desk.intake import intake
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.audit import verify

GERMAN = str.maketrans(
    "YZ-/:", "ZYß&Ö"
)  # a scanner set for one layout on a computer set for another, in part (from memory)


def texts(night, place="W3", **changes) -> tuple[str, ...]:
    return frames.split(night.seal[place](**changes))


def scan(night, text: str, window=None):
    window = window or night.window
    return window.send(window.get("/intake").form("/intake/codes"), {"codes": text})


def needed(night, place="W3") -> list[str]:
    """Just enough codes: the spare ones in the place of the first."""
    found = texts(night, place)
    return [
        t
        for part in (0, 1)
        for own in [[t for t in found if frames.read(t).part == part]]
        for t in own[-frames.read(own[0]).k :]
    ]


def test_codes_from_the_hand_scanner_in_any_order_again_and_run_together_are_one_packet(night):
    night.hold()
    some = needed(night)
    assert any(" " in t for t in some)  # base45 (RFC 9285) has the space as a digit
    page = scan(night, "\r\n".join([*reversed(some[2:]), some[3], some[4]]))
    assert "still wanted" in page.text and page.path == "/intake"
    page = scan(night, some[0] + some[1])
    assert "Enough codes are in" in page.text
    page = night.window.send(page.form("/intake/take"))
    assert page.path == "/place/W3" and night.kinds.count("packet-received") == 1


def test_a_scanner_with_another_layout_is_mended_by_the_calibration_code(night):
    night.hold()
    typed = [t.translate(GERMAN) for t in needed(night)]
    assert scan(night, "\n".join(typed)).status == 422
    form = night.window.get("/intake").form("/intake/keyboard")
    assert "layout" in night.window.send(form, {"typed": CALIBRATION[:-1]}).said()
    assert night.window.send(form, {"typed": CALIBRATION.translate(GERMAN)}).status == 200
    assert "Enough codes are in" in scan(night, "\n".join(typed)).text


def test_pictures_and_a_pdf_give_the_same_packet_as_the_codes(night):
    parts = night.seal["W3"]()
    drawn = [(f"{i}.png", codes.as_png(t, 4)) for i, t in enumerate(frames.split(parts))]
    page = night.upload(*drawn[:4])
    assert page.status == 200 and "more wanted" in page.text
    page = night.upload(*drawn[2:])
    assert "Enough codes are in" in page.text
    assert b"".join(next(iter(night.room.stacks.values())).complete[0].parts()) == b"".join(parts)
    other = night.another()
    pdf = io.BytesIO()
    pages = [Image.open(io.BytesIO(png)).convert("RGB") for _, png in drawn]
    pages[0].save(pdf, "PDF", save_all=True, append_images=pages[1:])
    assert "Enough codes are in" in night.upload(("packet.pdf", pdf.getvalue()), window=other).text


def test_codes_of_two_packets_are_sorted_and_both_are_wanted(night):
    one, two = texts(night), texts(night, "W5")
    scan(night, one[0])
    page = scan(night, two[0])
    assert page.status == 200 and "2 packets read: 0 agree, 2 need attention" in page.text
    assert page.text.count("still wanted") >= 2


def test_foreign_codes_are_counted_and_passed_over(night):
    import segno

    out = io.BytesIO()
    segno.make("https://elsewhere.example").save(out, kind="png", scale=6)
    page = night.upload(("poster.png", out.getvalue()))
    assert page.status == 422 and "1 not ours, passed over" in page.text
    assert "None of these lines" in scan(night, "https://elsewhere.example").said()


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.pdf", b""),
        ("cut.pdf", b"%PDF-1.7\n1 0 obj <<"),
        ("cut.png", codes.as_png("TS1:", 4)[:120]),
        ("noise.jpg", b"\xff\xd8\xff" + bytes(range(256)) * 9),
        ("packet.cose", b"\xd2\x84\x4d"),
        ("words.txt", b"\x00\x01"),
        ("x.heic", b"\0\0\0\x18ftypheic"),
    ],
)
def test_a_broken_file_gets_one_sentence_with_its_name_and_nothing_is_kept(night, name, data):
    before = len(night.kinds)
    page = night.upload((name, data))
    assert page.status == 422 and name in page.said() and page.said().rstrip().endswith(".")
    assert set(night.kinds[before:]) == {"packet-refused"} and list((night.folder / "in").iterdir()) == []


def test_a_good_file_beside_a_broken_one_counts_and_the_broken_one_is_named(night):
    page = night.upload(("cut.png", b"\x89PNG\r\n"), ("packet.cose", b"".join(night.seal["W3"]())))
    assert page.status == 422 and "cut.png" in page.said()
    assert "Enough codes are in" in night.window.get("/intake").text


def test_the_cameras_frames_are_answered_with_what_is_still_wanted(night):
    page = night.window.get("/intake")
    token = page.form("/intake/codes").controls["csrf_token"].value
    form = page.form("/intake/file")
    form.action, form.controls = "/intake/frame", {"csrf_token": form.controls["csrf_token"]}
    said = night.window.upload(form, "frame", [])
    assert said.status == 422 and "No picture" in json.loads(said.body)["says"]
    edge = "edge"
    for text, read in zip(texts(night)[:2], (1, 2), strict=True):
        body = b"".join(
            [
                f'--{edge}\r\nContent-Disposition: form-data; name="csrf_token"\r\n\r\n{token}\r\n'.encode(),
                f'--{edge}\r\nContent-Disposition: form-data; name="frame"; filename="frame.png"\r\n\r\n'.encode(),
                codes.as_png(text, 5),
                f"\r\n--{edge}--\r\n".encode(),
            ]
        )
        answer = night.window._follow(
            "POST",
            "/intake/frame",
            body,
            {
                "Content-Type": f"multipart/form-data; boundary={edge}",
                "Origin": f"http://127.0.0.1:{night.running.port}",
            },
        )
        assert json.loads(answer.body)["read"] == read and json.loads(answer.body)["complete"] is False


@pytest.mark.parametrize("path", ["/intake/file", "/intake/frame", "/compare"])
def test_one_byte_more_than_a_page_takes_is_refused_before_it_is_sent(night, path):
    limit = night.app.config["BODY_LIMITS"][path]
    line = http.client.HTTPConnection("127.0.0.1", night.running.port, timeout=20)
    line.putrequest("POST", path)
    line.putheader("Content-Length", str(limit + 1))
    line.endheaders()
    assert line.getresponse().status == 413
    assert limit >= intake.LIMITS.get(path, 0)
    line.close()


def test_nobody_takes_in_a_packet_without_a_sworn_holder(night):
    page = night.upload(("packet.cose", b"".join(night.seal["W3"]())))
    page = night.window.send(page.form("/intake/take"))
    assert page.status == 422 and "Nobody holds this tablet" in page.said()
    assert "packet-received" not in night.kinds and list((night.folder / "in").iterdir()) == []


def test_the_same_packet_twice_is_one_and_an_amended_one_counts_whichever_came_first(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W3")
    assert night.kinds.count("packet-received") == 1
    first = packet_checks.check(night.seal["W3"](), night.room.roster).opened.digest
    third = packet_checks.check(night.seal["W3"](number=2, amends=first), night.room.roster).opened.digest
    night.take_in("W3", number=3, amends=third)  # 3 before 2
    assert night.room.state("W3")[1].startswith("two packets disagree")
    page = night.take_in("W3", number=2, amends=first)
    assert night.room.tray.counts("W3")[1].core["number"] == 3
    assert "3 packets: which one counts, and what differs" in page.text and "replaces number 2" in page.text


def test_after_a_restart_every_packet_is_there_and_dropped_tables_come_back_the_same(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W5", **tiny(night.room.roster.places["W5"]))
    before, totals = night.room.tables.sums(), night.window.get("/totals").text.partition("<h2")[2]
    night.stop()
    for file in night.folder.glob("desk.db*"):
        file.unlink()
    night.start()
    assert night.room.tables.sums() == before != {}
    assert night.window.get("/totals").text.partition("<h2")[2] == totals
    assert verify(night.folder / "office.db", coarse=BALLOT_KINDS).ok


def test_a_packet_file_that_was_changed_or_is_gone_is_told_on_the_places_page(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W5")
    files = {p: night.room.tray.path(night.room.tray.counts(p)[0]) for p in ("W3", "W5")}
    night.stop()
    files["W3"].unlink()
    files["W5"].write_bytes(b"".join(night.seal["W5"](number=7)))
    night.start()
    assert (
        "cannot be read" in night.window.get("/place/W3").text
        and "is not what was taken in" in night.window.get("/place/W5").text
    )
    assert "a stored packet was changed or lost" in night.window.get("/places").text


def test_figures_stand_above_the_button_and_no_envelope_container_or_seal_does(night, desk):
    """What the clerk holds against the signed tape before a packet is accepted."""
    night.hold()
    page = night.upload(("packet.cose", b"".join(night.seal["W3"]())))
    above = page.text.partition("Accept this packet")[0]
    assert "<dt>Ballots counted</dt><dd>517</dd>" in above and "<dt>Check-ins</dt><dd>522</dd>" in above
    assert "<dt>Unused ballots</dt><dd>948</dd>" in above
    assert "Poll book: 1 more check-in than ballots" in above and "remark signed" in above
    assert "provisional" not in above.lower() and all(c["seal"] not in above for c in desk.opened.core["containers"])
    night.window.send(page.form("/intake/take"))
    page = night.upload(("packet.cose", b"".join(night.seal["W3"]())))
    assert "This very packet is in since" in page.text and "accepted by Ines Calloway" in page.text


def test_a_file_with_one_line_longer_than_any_reader_takes_is_one_sentence(night):
    """Three million letters without an end of line, as a text of codes and as a packet."""
    night.hold()
    for name, data in (("codes.txt", b"TS1:" + b"A" * 3_000_000), ("packet.cose", b"\xd2\x84" + b"\x5b" * 3_000_000)):
        page = night.upload((name, data))
        assert page.status == 422 and name in page.text or "code" in page.said(), page.said()
        assert 0 < len(page.said()) < 600, page.said()[:700]
    assert "packet-received" not in night.kinds


def test_codes_that_a_file_gave_are_counted_in_words(night):
    night.hold()
    packet = b"".join(night.seal["W3"]())
    page = night.upload(("one.cose", packet), ("again.cose", packet), ("noise.png", b"\x89PNG noise"))
    assert "codes read" in page.text and "read before" in page.text and " new" not in page.text.partition("<main")[2]
