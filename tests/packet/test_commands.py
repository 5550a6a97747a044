"""`tapeseal packet build` and `tapeseal packet read`: what they write, what they say, how they end."""

import hashlib
import json
import uuid
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.commands import main, packet_file
from webapp.gate import keys
from webapp.packet import contents, envelope, frames
from webapp.precinct.account import balanced_day
from webapp.precinct.place import place_file
from webapp.record.entry import Act, Claim, Signer
from webapp.record.ledger import Ledger

PLACE = Path(__file__).resolve().parents[2] / "demo_precinct" / "place.toml"
MADE = 1_793_757_240_000  # 3 November 2026, ms UTC
BOTH = (Signer("a", "chair", "elm", "pin"), Signer("b", "witness", "heron", "pin"))


class Hall:
    """A place's folder in which packets are made, as the precinct's pages leave it."""

    def __init__(self, folder: Path):
        self.folder, self.place = folder, place_file.read(PLACE.read_bytes())
        (folder / "packet").mkdir(parents=True)
        (folder / "place.toml").write_bytes(PLACE.read_bytes())
        keys.create_practice(folder, self.place)
        self.record = Ledger.create(folder / "record.db")

    def make(self, number: int, signers=BOTH, name: str | None = None) -> envelope.Packet:
        empty = balanced_day.fold(self.place, [])
        empty.head = bytes(32)
        packet = envelope.seal_packet(
            contents.core(self.place, empty, number, None, MADE),
            contents.remarks(self.place, empty),
            keys.place_key(self.folder),
            "practice",
        )
        (self.folder / "packet" / (name or f"{number}.cose").format(digest=packet.digest.hex())).write_bytes(
            packet.data
        )
        claim = Claim(
            uuid.uuid4().bytes,
            "packet-made",
            {"number": number, "digest": packet.digest, "amends": None},
            MADE,
            "laptop",
            0,
        )
        self.record.append(Act(claim, signers, MADE), now=MADE)
        return packet


@pytest.fixture
def hall(tmp_path):
    hall = Hall(tmp_path / "W3")
    yield hall
    hall.record.close()


@pytest.fixture
def office(tmp_path, hall):
    """An office that enrolled the hall's key."""
    folder = tmp_path / "office"
    folder.mkdir()
    keys.create_office(folder, "tarn")
    keys.enrol(folder, hall.place, keys.place_key(hall.folder).public_key(), MADE)
    return folder


def said(capsys):
    out = capsys.readouterr().out
    assert out.count("\n") == 1
    return json.loads(out)


def build(hall, out) -> int:
    return main(["packet", "build", str(hall.folder), "--out", str(out), "--json"])


def test_build_writes_the_pages_the_file_and_a_picture_a_code_while_the_record_is_open(hall, tmp_path, capsys):
    packet = hall.make(1)
    before = hashlib.sha256((hall.folder / "record.db").read_bytes()).digest()

    assert 0 == build(hall, tmp_path / "out")
    told = said(capsys)
    assert {
        "frames": len(frames.split(packet.parts)),
        "needed": frames.needed(packet.parts),
        "bytes": len(packet.data),
        "digest": packet.digest.hex(),
    } == told
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert [*(f"frame-{place:02d}.png" for place in range(1, told["frames"] + 1)), "packet.cose", "packet.pdf"] == names
    assert packet.data == (tmp_path / "out" / "packet.cose").read_bytes()
    assert before == hashlib.sha256((hall.folder / "record.db").read_bytes()).digest()


def test_build_writes_the_files_of_a_count_board_that_were_signed_with_it(hall, tmp_path):
    packet = hall.make(1)
    (hall.folder / "packet" / "1-batches.csv").write_bytes(b"batch,kind\n")
    (hall.folder / "packet" / f"waiting-{packet.digest.hex()}-votes.csv").write_bytes(b"precinct,contest\n")

    assert 0 == build(hall, tmp_path / "out")
    assert (tmp_path / "out" / "batches.csv").read_bytes() == b"batch,kind\n"
    assert (tmp_path / "out" / "votes.csv").read_bytes() == b"precinct,contest\n"


def test_build_takes_the_newest_packet_that_two_parties_signed(hall, tmp_path, capsys):
    hall.make(1)
    second = hall.make(2, name="waiting-{digest}.cose")
    hall.make(3, signers=BOTH[:1])
    assert 0 == build(hall, tmp_path / "out")
    assert second.digest.hex() == said(capsys)["digest"]


def test_build_before_any_packet_was_signed_ends_with_1(hall, tmp_path, capsys):
    hall.make(1, signers=BOTH[:1])
    assert 1 == build(hall, tmp_path / "out")
    captured = capsys.readouterr()
    assert (
        "" == captured.out
        and "No packet of W3 was signed by two parties yet" in captured.err
        and not (tmp_path / "out").exists()
    )


def test_build_refuses_bytes_that_the_record_does_not_name(hall, tmp_path, capsys):
    hall.make(1)
    other = envelope.seal_packet({"mode": "practice"}, {}, Ed25519PrivateKey.generate(), "practice")
    (hall.folder / "packet" / "1.cose").write_bytes(other.data)
    assert 2 == build(hall, tmp_path / "out")
    assert "1.cose is not the packet that entry 1 names" in capsys.readouterr().err


def test_build_refuses_a_folder_that_is_none_and_one_with_codes_of_another_packet(hall, tmp_path, capsys):
    hall.make(1)
    assert 2 == main(["packet", "build", str(tmp_path / "nowhere"), "--out", str(tmp_path / "out")])
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "frame-99.png").write_bytes(b"")
    assert 2 == build(hall, tmp_path / "out")
    assert "frame-99.png of another packet: choose an empty folder" in capsys.readouterr().err


@pytest.fixture
def out(hall, tmp_path, capsys):
    hall.make(1)
    assert 0 == build(hall, tmp_path / "out")
    capsys.readouterr()
    return tmp_path / "out"


def read(*words) -> int:
    return main(["packet", "read", *map(str, words), "--json"])


@pytest.mark.parametrize("kind", ["packet.pdf", "packet.cose", "frame-*.png", "scanned.txt"])
def test_read_gives_the_packet_back_from_paper_pictures_file_and_text(out, office, capsys, kind):
    parts = packet_file.parts(out / "packet.cose")
    texts = frames.split(parts)
    (out / "scanned.txt").write_text("\n".join(texts) + "\n")

    assert 0 == read(*sorted(out.glob(kind)), "--office", office)
    assert {
        "complete": True,
        "digest": envelope.Packet(parts).digest.hex(),
        "verified": True,
        "place": "W3",
        "frames_read": len(texts),
        "foreign": 0,
        "missing": [],
    } == said(capsys)


def test_read_without_an_office_asks_for_no_proof(out, capsys):
    assert 0 == read(out / "packet.cose")
    assert (None, "W3") == (lambda told: (told["verified"], told["place"]))(said(capsys))


def test_read_with_too_few_codes_names_those_missing_and_ends_with_1(out, capsys):
    assert 1 == read(out / "frame-02.png")
    told = said(capsys)
    assert (False, None, None, 1) == (told["complete"], told["digest"], told["place"], told["frames_read"])
    one = frames.read(frames.split(packet_file.parts(out / "packet.cose"))[1])
    assert [*[number for number in range(1, one.n + 1) if number != 2], one.n + 1, one.n + 2, one.n + 3] == told[
        "missing"
    ]


def test_read_with_a_key_that_is_not_enrolled_is_not_verified_and_ends_with_1(out, tmp_path, capsys):
    (tmp_path / "other").mkdir()
    keys.create_office(tmp_path / "other", "elsewhere")
    assert 1 == read(out / "packet.cose", "--office", tmp_path / "other")
    captured = capsys.readouterr()
    assert json.loads(captured.out)["verified"] is False and "is not enrolled here" in captured.err


def test_read_of_a_packet_under_the_key_of_another_place_is_not_verified(hall, office, tmp_path, capsys):
    forged = envelope.seal_packet({"mode": "practice", "place": "W9"}, {}, keys.place_key(hall.folder), "practice")
    (tmp_path / "forged.cose").write_bytes(forged.data)
    assert 1 == read(tmp_path / "forged.cose", "--office", office)
    captured = capsys.readouterr()
    assert (
        json.loads(captured.out)["verified"] is False
        and "The key of W3 (practice) signed a packet of W9" in captured.err
    )


def test_read_of_a_changed_signature_is_not_verified(out, office, capsys):
    data = bytearray((out / "packet.cose").read_bytes())
    length = len(packet_file.parts(out / "packet.cose")[0])
    data[length - 1] ^= 1
    (out / "changed.cose").write_bytes(data)
    assert 1 == read(out / "changed.cose", "--office", office)
    captured = capsys.readouterr()
    assert json.loads(captured.out)["verified"] is False and "does not hold" in captured.err


def test_read_of_codes_of_two_packets_ends_with_2(out, hall, tmp_path, capsys):
    hall.make(2)
    assert 0 == build(hall, tmp_path / "second")
    capsys.readouterr()
    assert 2 == read(out / "frame-01.png", tmp_path / "second" / "frame-02.png")
    captured = capsys.readouterr()
    assert "" == captured.out and "frame-02.png: This code is of packet" in captured.err


def test_read_of_a_broken_file_names_it_and_ends_with_2(out, capsys):
    (out / "cut.png").write_bytes((out / "frame-01.png").read_bytes()[:300])
    assert 2 == read(out / "packet.cose", out / "cut.png")
    assert "cut.png is cut off or damaged" in capsys.readouterr().err
    assert 2 == read(out / "nowhere.png")
    assert "nowhere.png cannot be read" in capsys.readouterr().err


def test_read_where_no_file_holds_a_code_ends_with_2(tmp_path, capsys):
    (tmp_path / "note.txt").write_text("https://example.org\n")
    assert 2 == read(tmp_path / "note.txt")
    assert "No code of a summary packet is in note.txt" in capsys.readouterr().err


def test_read_passes_over_damaged_and_foreign_text_and_says_so(out, capsys):
    texts = frames.split(packet_file.parts(out / "packet.cose"))
    (out / "typed.txt").write_text("\n".join((*texts[1:], texts[0][:-1], "https://example.org")))
    assert 0 == read(out / "typed.txt")
    captured = capsys.readouterr()
    assert (True, 1, len(texts) - 1) == (lambda told: (told["complete"], told["foreign"], told["frames_read"]))(
        json.loads(captured.out)
    )
    assert "typed.txt: This code holds" in captured.err


def test_read_stores_nothing(out, office, capsys):
    def state():
        return sorted(
            (str(path), path.stat().st_mtime_ns)
            for folder in (out, office)
            for path in folder.rglob("*")
            if not path.name.endswith(("-shm", "-wal"))
        )

    before = state()
    read(out / "packet.cose", "--office", office)
    assert before == state()


def test_in_words_it_is_one_sentence_for_a_person(out, capsys):
    assert 0 == main(["packet", "read", str(out / "packet.cose")])
    assert "of W3, complete, signature not asked for (give --office)." in capsys.readouterr().out
