"""What intake refuses leaves a trace: an entry with desk, digest and sentence, the bytes aside, a list; and the advice fits the file."""

import hashlib

from tests.office.test_desk import with_seals
from tests.office.test_goods_pages import page_of
from webapp.office.reading import refused_files
from webapp.office.reading.refused_files import RefusedFiles


def test_a_packet_of_another_places_key_is_kept_aside_and_listed(night):
    night.hold()
    parts = night.seal["W5"](place="W3")
    page = night.upload(("packet.cose", b"".join(parts)))
    assert "its key was enrolled for W5" in page.text
    assert night.kinds[-1] == "packet-refused" and "packet-received" not in night.kinds
    entry = list(night.room.ledger.entries())[-1]
    assert entry.holder == "calloway" and entry.body["kept"] is True
    lies = night.folder / "refused" / bytes(entry.body["digest"]).hex()
    assert hashlib.sha256(lies.read_bytes()).digest() == bytes(entry.body["digest"]) and lies.read_bytes() == b"".join(
        parts
    )
    text = night.window.get("/refused").text
    assert "its key was enrolled for W5" in text and "Ines Calloway" in text and "kept aside" in text
    night.window.send(night.window.get("/intake").form("/intake/clear"))
    night.upload(("packet.cose", b"".join(parts)))
    assert night.kinds.count("packet-refused") == 1, "the same bytes and the same sentence are one"
    night.restart()
    assert "1 packet or file was refused" in night.window.get("/refused").text


def test_one_bad_file_of_several_is_traced_and_the_rest_is_read(night):
    night.hold()
    good = b"".join(night.seal["W3"]())
    page = night.upload(
        ("note.txt", b"no code here\n"), ("packet.cose", good), ("broken.png", b"\x89PNG\r\n\x1a\n" + b"x" * 40)
    )
    assert "A text holds scanned codes" in page.text and "broken.png" in page.text
    assert night.kinds.count("packet-refused") == 2
    page = night.window.get("/intake")
    assert "Lantern Street School, packet 1" in page.text


def test_a_name_with_a_tag_is_inert_and_one_beyond_the_limits_leaves_its_digest(night, monkeypatch):
    night.hold()
    monkeypatch.setattr(refused_files, "LARGEST", 3)
    night.upload(("<script>x</script>.csv", b"precinct,votes\n"))
    text = night.window.get("/refused").text
    assert "<script>x" not in text and "&lt;script&gt;x" in text and "digest only" in text
    assert not (night.folder / "refused").exists() or not list((night.folder / "refused").iterdir())


def test_the_folder_takes_no_more_than_its_limits(tmp_path, monkeypatch):
    monkeypatch.setattr(refused_files, "MOST", 2)
    files = RefusedFiles(tmp_path)
    assert [files.keep(data)[1] for data in (b"a", b"b", b"a", b"c")] == [True, True, True, False]
    assert RefusedFiles(tmp_path).keep(b"d")[1] is False


def test_the_seals_of_the_bags_are_those_read_with_the_memory(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    page_of(night, "goods")
    text = night.window.get("/place/W3").text
    rows = text.partition("Seals of the containers")[2]
    assert "T1-bag" in rows and "not read here" not in rows.partition("T1-bag")[2].partition("</tr>")[0]
    assert "Only if it is needed" in text
