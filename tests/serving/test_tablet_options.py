"""`tapeseal precinct DIR --tablets` as a person starts it: what it says, what stops it, what it warns of."""

import re
import signal
import socket
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from cryptography import x509

from demo_precinct import moments
from tests.serving.conftest import trusting
from tests.serving.opened_place import HOST, TOML, Named, prepared  # noqa: F401 - fixture
from tests.serving.test_commands import folder, posix, refused  # noqa: F401 - fixtures
from tests.serving.test_lifecycle import free_again
from webapp.commands.server import self_check
from webapp.gate import certificates
from webapp.gate.signed_place_file import load_place
from webapp.precinct.place import place_file
from webapp.record.entry import Act, Claim
from webapp.record.ledger import Ledger


@pytest.fixture(scope="module")
def enrolled(prepared):  # noqa: F811
    return prepared[0] / "places" / "W3"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--cert", "x.pem", "--key", "x.key"), "--cert and --key are for the tablets' door: say --tablets with them."),
        (("--tablets", "--cert", "x.pem"), "--cert and --key go together: give both"),
        (
            ("--tablets", "w3.tarn.example"),
            "--tablets w3.tarn.example is not an address of this laptop: write its number",
        ),
        (("--tablets", "--tablet-port", "70000"), "Port 70000 does not exist"),
        (("--tablets", "--trust-port", "-1"), "Port -1 does not exist"),
        (("--tablets", "--tablet-port", "8612"), "three doors: give each a number of its own"),
        (("--tablets", "--cert", "nowhere.pem", "--key", "nowhere.key"), "nowhere.pem cannot be read"),
    ],
)
def test_options_that_do_not_go_together_are_refused_before_anything_is_written(refused, enrolled, words, says):  # noqa: F811
    assert says in refused("precinct", enrolled, "--port", "0", *words)
    assert not (enrolled / "record.db").exists()


def test_a_folder_from_before_there_were_tablets_opens_and_only_their_door_is_refused(refused, folder):  # noqa: F811
    """Such a folder's gate holds no certificate: one sentence tells to enrol again or to bring one."""
    said = refused("precinct", folder, "--port", "0", "--tablets")

    assert "holds no certificate for tablets: enrol the place again" in said and "--cert and --key" in said
    assert certificates.keys.held(folder, certificates.LEAF) is None and load_place(folder).id == "W3"


def test_a_place_without_a_host_has_no_door_for_tablets(refused, folder):  # noqa: F811
    toml = (folder / "place.toml").read_text(encoding="utf-8")
    (folder / "place.toml").write_text(toml.replace(f'host = "{HOST}"\n', ""), encoding="utf-8")

    assert "The place file has no host, the name under which tablets reach the laptop" in refused(
        "precinct", folder, "--port", "0", "--tablets"
    )


@pytest.mark.parametrize("option", ["--tablet-port", "--trust-port"])
def test_a_taken_port_of_any_door_is_refused_before_the_record_is_touched(refused, enrolled, option):  # noqa: F811
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        ports = {"--tablet-port": "0", "--trust-port": "0"} | {option: str(port)}
        said = refused(
            "precinct",
            enrolled,
            "--port",
            "0",
            "--tablets",
            "127.0.0.1",
            *(word for pair in ports.items() for word in pair),
        )

    assert f"Port {port} on 127.0.0.1 cannot be had" in said and f"or give another with {option}." in said
    assert not (enrolled / "record.db").exists()


@posix
def test_it_opens_three_doors_says_where_they_are_and_stops_all_of_them(enrolled):
    child = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "webapp",
            "precinct",
            str(enrolled),
            "--port",
            "0",
            "--tablets",
            "127.0.0.1",
            "--tablet-port",
            "0",
            "--trust-port",
            "0",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    lines = [child.stdout.readline() for _ in range(4)]
    tablets = int(re.search(rf"Tablets: https://{HOST}:(\d+)/", lines[1])[1])
    shown = certificates.enrolled(enrolled)
    client = Named(HOST, tablets, timeout=30, context=trusting(shown))
    client.request("GET", "/pair", headers={"Host": f"{HOST}:{tablets}"})
    assert client.getresponse().status == 200
    child.send_signal(signal.SIGTERM)
    _, err = child.communicate(timeout=30)

    assert (
        re.search(r"http://127\.0\.0\.1:\d+/", lines[2])
        and " ".join(certificates.fingerprint(shown.authority)) in lines[3]
    )
    assert child.returncode == 0 and f"Nobody here answers to the name {HOST}" in err and err.count("\n") == 1
    for port in (
        tablets,
        int(re.search(r"localhost:(\d+)", lines[0])[1]),
        int(re.search(r"127\.0\.0\.1:(\d+)/", lines[2])[1]),
    ):
        with pytest.raises(OSError):
            socket.create_connection(("127.0.0.1", port), timeout=5)
    (enrolled / "record.db").unlink()


@posix
def test_no_child_outlives_a_kill_and_every_port_is_free_again(enrolled):
    """One process for all three doors, kill -9: nothing is left that holds a port, and the next start goes on with the record."""
    child = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "webapp",
            "precinct",
            str(enrolled),
            "--port",
            "0",
            "--tablets",
            "127.0.0.1",
            "--tablet-port",
            "0",
            "--trust-port",
            "0",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    ports = [int(re.search(r":(\d+)/", child.stdout.readline())[1]) for _ in range(3)]
    children = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(child.pid)], capture_output=True, text=True
    ).stdout.split()
    child.kill()
    child.communicate()

    assert children == [] and len(set(ports)) == 3
    for port in ports:
        free_again(port)
    ledger = Ledger.open(enrolled / "record.db")
    assert [entry.kind for entry in ledger.entries()] == ["record-opened", "started"]
    ledger.close()
    (enrolled / "record.db").unlink()


PLACE = place_file.read(TOML.replace(b'mode = "practice"', b'mode = "live"'))
DAY = datetime(2026, 11, 3, 12, tzinfo=UTC)


@pytest.fixture
def record(tmp_path):
    """A function: what the first entry says -> the record's file."""

    def made(**body):
        path = tmp_path / "record.db"
        ledger = Ledger.create(path)
        now = int(DAY.timestamp() * 1000)
        ledger.append(Act(Claim(uuid4().bytes, "record-opened", body, now, "L", 0), (), now, 0, None), now=now)
        ledger.close()
        return path

    return made


def test_the_record_of_another_place_or_mode_stops_the_start(record):
    path = record(place="W5", mode="live")
    said = self_check.other_record(path, PLACE)
    assert said.startswith(
        "record.db in this folder is the record of W5 (live), and the place file is for W3 (live): give the folder of W5"
    )


def test_the_places_own_record_or_none_yet_does_not(record, tmp_path):
    assert self_check.other_record(tmp_path / "none.db", PLACE) == ""
    assert self_check.other_record(record(place="W3", mode="live"), PLACE) == ""


def test_a_file_that_is_no_record_is_left_to_the_checker(tmp_path):
    (tmp_path / "record.db").write_text("x" * 1000)
    assert (
        self_check.other_record(tmp_path / "record.db", PLACE) == ""
        and self_check.clock(DAY, PLACE, tmp_path / "record.db", None) == []
    )


def test_the_command_refuses_another_places_record(refused, folder, record):  # noqa: F811
    record(place="W5", mode="practice").rename(folder / "record.db")

    assert "is the record of W5 (practice)" in refused("precinct", folder, "--port", "0")


def test_a_clock_before_the_folder_was_made_is_said(tmp_path):
    (said,) = self_check.clock(DAY, PLACE, tmp_path / "none.db", DAY + timedelta(hours=1))
    assert (
        said
        == "This laptop's clock says 03 November 2026, 06:00, and its folder was made later, on 03 November 2026, 07:00: set the clock before anything is kept."
    )


def test_a_clock_before_the_last_entry_is_said(record):
    path = record(place="W3", mode="live")
    assert self_check.clock(DAY, PLACE, path, None) == []
    (said,) = self_check.clock(DAY - timedelta(hours=2), PLACE, path, None)
    assert (
        said
        == "This laptop's clock says 03 November 2026, 04:00, and the last entry of the record was kept at 03 November 2026, 06:00: set the clock."
    )


@pytest.mark.parametrize(
    ("moment", "other"),
    [
        (datetime(2026, 11, 4, 5, 59, tzinfo=UTC), False),
        (datetime(2026, 11, 4, 6, 1, tzinfo=UTC), True),
        (datetime(2026, 11, 2, 18, tzinfo=UTC), True),
    ],
)
def test_a_live_place_on_another_day_by_its_own_zone_is_said(tmp_path, moment, other):
    """Chicago on 3 November 2026 is six hours behind UTC (time zone database: standard time from 1 November)."""
    said = self_check.clock(moment, PLACE, tmp_path / "none.db", None)
    assert ["the election is on Tuesday 03 November 2026: set the clock" in line for line in said] == [True] * other


def test_practice_may_be_on_any_day(tmp_path):
    assert self_check.clock(datetime(2030, 1, 1, tzinfo=UTC), place_file.read(TOML), tmp_path / "none.db", None) == []


@pytest.mark.parametrize(
    ("at", "says"),
    [
        (timedelta(days=-3), "begins on"),
        (timedelta(days=100), None),
        (timedelta(days=390), "runs out on"),
        (timedelta(days=398), "ran out on"),
    ],
)
def test_a_certificate_that_tablets_would_not_believe_is_said_with_what_to_do(enrolled, at, says):
    shown = certificates.enrolled(enrolled)
    said = self_check.certificate(shown, datetime.now(UTC) + at)

    assert len(said) == (says is not None) and all(
        says in line and ("--renew" in line or "set the clock" in line) for line in said
    )


@pytest.mark.parametrize(
    ("leads_to", "here", "says"),
    [
        ((), ("192.168.1.20",), "enter w3.tarn.example with 192.168.1.20 in the router's list of names"),
        (("203.0.113.9",), ("192.168.1.20",), "leads to 203.0.113.9, and this laptop is 192.168.1.20"),
        (("192.168.1.20",), ("10.0.0.1", "192.168.1.20"), None),
        ((), (), "is on no network yet"),
    ],
)
def test_a_name_that_does_not_lead_here_is_said(leads_to, here, says):
    said = self_check.name(HOST, leads_to, here)

    assert len(said) == (says is not None) and all(says in line for line in said)


def test_the_demo_opens_the_doors_under_a_name_that_this_computer_answers_to(tmp_path):
    """For trying out with tablets at hand: a .local name (RFC 6762), and an authority for that name alone."""
    demo = moments.start("before-dawn", folder=tmp_path / "demo", tablets=("127.0.0.1", 0, 0))
    try:
        tablets, shown = demo.tablets, demo.tablets.watched.shown
        client = Named("w3.local", tablets.ports()[0], timeout=30, context=trusting(shown))
        client.request("GET", "/pair", headers={"Host": f"w3.local:{tablets.ports()[0]}"})
        assert client.getresponse().status == 200
        client.close()
        assert tablets.lines()[0] == f"Tablets: https://w3.local:{tablets.ports()[0]}/"
        assert shown.authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees == [
            x509.DNSName("w3.local")
        ]
    finally:
        demo.stop()
