"""`tapeseal record verify FILE [--json] [--expect NUMBER:WORDS ...] [--packet FILE]`: exits 0, 1 and 2, and one line of JSON."""

import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.people.conftest import CAST, place_of
from tests.record import story
from tests.record.tampering import flip, opened
from tests.record.test_chain_and_marks import STORED, WORDS_5
from webapp.commands import main
from webapp.gate import keys
from webapp.packet import envelope
from webapp.record.ledger import Ledger

pytestmark = pytest.mark.usefixtures("real_cost")  # the words are stored ones

HEADS = [bytes.fromhex(entry["head"]) for entry in STORED["entries"]]


@pytest.fixture
def told(capsys):
    """Run the command and give its exit code, what it printed, and what it said as a mistake."""

    def run(*words):
        code = main(["record", "verify", *map(str, words)])
        out, err = capsys.readouterr()
        return code, out, err

    return run


def packet(folder, key=None, **core):
    """A packet.cose whose core says this and nothing else, signed with the secret key of RFC 8032 section 7.1, TEST 1, or another."""
    key = key or Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    )
    path = folder / "packet.cose"
    path.write_bytes(envelope.seal_packet({"mode": "practice", **core}, {}, key, "practice").data)
    return path


def test_a_whole_record_is_exit_0_and_a_sentence(told, morning):
    assert (0, "All 5 entries agree with their heads.\n", "") == told(morning)


def test_json_is_one_object_on_one_line(told, morning):
    code, out, err = told(morning, "--json")

    assert (0, "", 1) == (code, err, out.count("\n"))
    assert {
        "ok": True,
        "entries": 5,
        "head": HEADS[4].hex(),
        "first_wrong": None,
        "says": "All 5 entries agree with their heads.",
    } == json.loads(out)


def test_a_changed_record_is_exit_1_and_names_the_entry(told, morning):
    with opened(morning) as db:
        flip(db, "entries", "entry", 3, 50)
    code, out, _ = told(morning, "--json")
    said = json.loads(out)

    assert (1, False, 3, 5, HEADS[1].hex()) == (code, said["ok"], said["first_wrong"], said["entries"], said["head"])
    assert 1 == told(morning)[0]


def test_check_words_from_paper_may_be_given_more_than_once(told, morning):
    assert 0 == told(morning, "--expect", f"5:{WORDS_5}", "--expect", f"2: {STORED['check_words']['2'].lower()}")[0]


def test_words_of_another_history_are_exit_1(told, morning):
    code, out, _ = told(morning, "--expect", f"4:{WORDS_5}", "--json")

    assert (1, 4) == (code, json.loads(out)["first_wrong"])


def test_a_slip_in_copying_is_exit_1_and_names_no_entry(told, morning):
    code, out, _ = told(morning, "--expect", f"5:{WORDS_5[:-1]}", "--json")

    assert (1, None) == (code, json.loads(out)["first_wrong"])


def test_entries_cut_off_show_with_expect(told, morning):
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number = 5")
    assert 0 == told(morning)[0]
    code, out, _ = told(morning, "--json", "--expect", f"5:{WORDS_5}")

    assert (1, 5) == (code, json.loads(out)["first_wrong"])


def test_a_packet_states_words_length_and_head(told, morning, tmp_path):
    marks = [[2, STORED["check_words"]["2"]], [5, WORDS_5]]
    assert (0, "") == told(morning, "--packet", packet(tmp_path, length=5, head=HEADS[4], marks=marks))[::2]


def test_entries_cut_off_show_with_a_packet(told, morning, tmp_path):
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number > 3")
        db.execute("DELETE FROM words")
    code, out, _ = told(morning, "--json", "--packet", packet(tmp_path, length=5, head=HEADS[4], marks=[]))

    assert (1, 4) == (code, json.loads(out)["first_wrong"])


@pytest.mark.parametrize(
    "core", [{"length": 5, "head": HEADS[3], "marks": []}, {"length": 5, "head": HEADS[4], "marks": [[4, WORDS_5]]}]
)
def test_a_packet_of_another_history_is_exit_1(told, morning, tmp_path, core):
    assert 1 == told(morning, "--packet", packet(tmp_path, **core))[0]


@pytest.mark.parametrize(
    "typed", ["", "5", "WORDS", f"{WORDS_5}", f"x:{WORDS_5}", f"-1:{WORDS_5}", "5:", f"٥:{WORDS_5}"]
)
def test_an_expectation_that_is_not_number_and_words_is_exit_2(told, morning, typed):
    code, out, err = told(morning, f"--expect={typed}")

    assert (2, "", 1) == (code, out, err.count("\n"))
    assert "write the entry's number, a colon and the words from the paper" in err


def test_what_is_no_record_is_exit_2_and_one_sentence(told, tmp_path):
    (tmp_path / "notes.txt").write_text("Dear office")
    for name in ("nowhere.db", "notes.txt", "."):
        code, out, err = told(tmp_path / name, "--json")
        assert (2, "", 1) == (code, out, err.count("\n"))
        assert err.startswith("tapeseal record: ") and "Give the path of a record.db." in err


def test_what_is_no_packet_is_exit_2_and_one_sentence(told, morning, tmp_path):
    (tmp_path / "notes.txt").write_text("Dear office")
    for file in (
        tmp_path / "nowhere.cose",
        tmp_path / "notes.txt",
        packet(tmp_path, length=5),
        packet(tmp_path, length="x", head=1, marks=3),
    ):
        code, out, err = told(morning, "--packet", file)
        assert (2, "", 1) == (code, out, err.count("\n")), err


def test_a_ballot_s_entry_with_a_fine_time_is_named(told, path):
    """The command knows which kinds speak of one ballot, although the record does not."""
    with Ledger.create(path) as careless:
        careless.append(story.OPENED, now=story.SIX)
        careless.append(story.act(2, "provisional", at=story.SIX + 1), now=story.SIX + 2)
    code, out, _ = told(path)

    assert (1, True) == (code, "finer time than the quarter hour" in out)


UNCHECKED = "The packet's own signature was not checked"


@pytest.fixture
def office(tmp_path):
    """An office that enrolled one place; its folder, and the place's key."""
    folder = tmp_path / "office"
    folder.mkdir()
    keys.create_office(folder, "Tarn County")
    place, own = place_of(*CAST), Ed25519PrivateKey.generate()
    keys.enrol(folder, place, own.public_key(), 0)
    return folder, own, place.id


def test_a_packet_signed_by_a_forger_proves_nothing_and_the_verdict_says_what_was_not_checked(told, morning, office):
    """A history rewritten with new heads, and a packet that states them, signed with a fresh key."""
    folder, own, place = office
    stated = {"place": place, "marks": [], "length": 5, "head": HEADS[4]}
    forged = packet(morning.parent, Ed25519PrivateKey.generate(), **stated)

    code, out, err = told(morning, "--packet", forged)
    assert (code, err) == (0, "") and UNCHECKED in out and "could state any head" in out
    code, out, err = told(morning, "--packet", forged, "--office", folder)
    assert (
        (code, err) == (1, "") and "is not enrolled at this office: it proves nothing" in out and UNCHECKED not in out
    )
    assert json.loads(told(morning, "--packet", forged, "--office", folder, "--json")[1])["ok"] is False

    code, out, _ = told(morning, "--packet", packet(morning.parent, own, **stated), "--office", folder)
    assert code == 0 and "The packet is signed with the key enrolled for its place." in out


def test_a_packet_of_another_place_under_a_key_of_this_office_proves_nothing(told, morning, office):
    folder, own, _ = office
    other = packet(morning.parent, own, place="OTHER", marks=[], length=5, head=HEADS[4])

    code, out, _ = told(morning, "--packet", other, "--office", folder)
    assert code == 1 and "speaks of another place: it proves nothing" in out


def test_an_office_without_a_packet_is_asked_for_it(told, morning, office):
    assert told(morning, "--office", office[0])[0] == 2


def test_a_number_of_five_thousand_digits_is_exit_2_in_a_sentence(told, morning):
    code, out, err = told(morning, "--expect", "9" * 5000 + ":A")

    assert (code, out) == (2, "") and len(err) < 300 and "write the entry's number" in err
