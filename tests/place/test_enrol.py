"""The commands `place check`, `place build` and `enrol`, as an office runs them before the day."""

import hashlib
import json
import shutil
import sqlite3
import stat

import pytest
from cryptography import x509

from tests.matrix import some
from tests.place.conftest import HERE, SMALL
from webapp.commands import main
from webapp.gate import Gate, authorities, certificates, keys, signed_place_file
from webapp.gate.refusals import GateRefused
from webapp.office.setup import authority, enrolment
from webapp.precinct.place import place_file

DEMO = HERE.parents[1] / "demo_precinct"

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture
def office(tmp_path):
    folder = tmp_path / "office"
    folder.mkdir()
    shutil.copy(DEMO / "office.toml", folder)
    return folder


@pytest.fixture
def tapeseal(capsys):
    """Run the command; its exit code and what it wrote on both channels."""

    def run(*words):
        code = main([str(word) for word in words])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


@pytest.fixture
def live(tmp_path):
    file = tmp_path / "place.toml"
    file.write_text(SMALL)
    return file


@pytest.fixture
def built(tmp_path, office, live, tapeseal):
    out = tmp_path / "place.cose"
    assert tapeseal("place", "build", live, "--office", office, "--out", out)[0] == 0
    return out


def tree(*folders):
    """Every file below these folders with the digest of its bytes."""
    return {
        path: hashlib.sha256(path.read_bytes()).hexdigest()
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_right_place_file_is_told_in_one_line(tapeseal):
    code, out, err = tapeseal("place", "check", DEMO / "place.toml")

    assert (code, err) == (0, "") and out.count("\n") == 1
    assert "Lantern Street School (W3), 2026-11-03, 07:00 to 20:00, practice" in out and "Nothing to correct." in out


def test_mistakes_are_listed_with_their_lines(live, tapeseal):
    live.write_text(SMALL.replace("n = 1", "n = 0").replace('box = "X"', 'box = "Z"'))

    code, out, _ = tapeseal("place", "check", live)
    said = json.loads(tapeseal("place", "check", live, "--json")[1])

    assert code == 1 and [line.partition(": ")[0] for line in out.splitlines()] == [
        f"{live}, line 54",
        f"{live}, line 66",
    ]
    assert said["ok"] is False and [row["line"] for row in said["mistakes"]] == [54, 66] and said["digest"] is None


def test_a_file_that_is_not_there_is_told_on_stderr(tmp_path, tapeseal):
    code, out, err = tapeseal("place", "check", tmp_path / "no.toml")

    assert (code, out) == (2, "") and err.count("\n") == 1 and "give the path of a file that is there" in err


def test_a_signed_file_is_told_apart_from_its_text(built, tapeseal):
    code, _, err = tapeseal("place", "check", built)

    assert code == 2 and "is a signed place file: give the TOML file it was built from" in err


def test_the_first_build_makes_the_offices_key_and_the_slips_of_its_desk(tmp_path, office, live, tapeseal):
    first = json.loads(tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "1.cose", "--json")[1])
    second = json.loads(tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "2.cose", "--json")[1])

    assert (first["office_key_made"], second["office_key_made"]) == (True, False)
    assert first["slips"] == str(office / "slips-desk.pdf") and second["slips"] is None
    assert first["digest"] == hashlib.sha256(SMALL.encode()).hexdigest()
    assert (tmp_path / "1.cose").read_bytes() == (tmp_path / "2.cose").read_bytes()
    assert signed_place_file.opened((tmp_path / "1.cose").read_bytes(), keys.office_public(office)) == place_file.read(
        SMALL.encode()
    )


def test_build_writes_over_nothing_and_then_makes_no_key(tmp_path, office, live, tapeseal):
    (tmp_path / "place.cose").write_text("mine")

    code, _, err = tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "place.cose")

    assert code == 2 and "is there already, and nothing is written over" in err
    assert (tmp_path / "place.cose").read_text() == "mine" and not (office / "gate.db").exists()


def test_build_refuses_a_place_with_mistakes_and_an_office_without_its_file(tmp_path, office, live, tapeseal):
    live.write_text(SMALL.replace("n = 1", "n = 0"))
    code, _, err = tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "place.cose")
    assert code == 2 and "line 54" in err and not (office / "gate.db").exists()

    live.write_text(SMALL)
    (office / "office.toml").unlink()
    code, _, err = tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "place.cose")
    assert code == 2 and "holds no office.toml" in err and not (tmp_path / "place.cose").exists()


def test_build_says_when_the_office_does_not_await_the_place(tmp_path, office, live, tapeseal):
    out = tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "place.cose")[1]

    assert "R7 is not among the [[places]] of office.toml" in out


def test_an_enrolled_folder_opens_and_its_key_is_known(tmp_path, office, built, tapeseal):
    code, out, _ = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--json")
    said = json.loads(out)

    place = signed_place_file.load_place(tmp_path / "R7", "live")
    assert code == 0 and place.id == said["place"] == "R7" and said["mode"] == "live" and said["codes"] is None
    assert (
        keys.enrolled(office)[bytes.fromhex(said["kid"])].public_bytes_raw()
        == keys.place_key(tmp_path / "R7").public_key().public_bytes_raw()
    )
    assert sorted(path.name for path in (tmp_path / "R7").iterdir()) == ["gate.db", "place.cose"]
    assert [path.read_bytes() for path in (office / "places").iterdir()] == [built.read_bytes()]
    assert said["slips"] == str(office / "slips-R7.pdf") and not list(office.glob("*.json"))


def test_what_is_secret_is_for_its_owner_only(tmp_path, office, built, tapeseal):
    tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")

    for path in (tmp_path / "R7" / "gate.db", office / "gate.db", office / "slips-R7.pdf"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_no_code_is_ever_said(tmp_path, office, tapeseal):
    shutil.copy(DEMO / "place.toml", tmp_path)
    told = tapeseal(
        "place", "build", tmp_path / "place.toml", "--office", office, "--out", tmp_path / "w3.cose", "--json"
    )
    told += tapeseal("enrol", tmp_path / "w3.cose", "--office", office, "--out", tmp_path / "W3", "--json")
    codes = json.loads((office / "slips-W3.json").read_text())["codes"]

    assert len(codes) == 8 and not any(code in str(told) for code in codes.values())


def test_practice_codes_lie_beside_the_slips_and_work(tmp_path, office, tapeseal):
    tapeseal("place", "build", DEMO / "place.toml", "--office", office, "--out", tmp_path / "w3.cose")
    tapeseal("enrol", tmp_path / "w3.cose", "--office", office, "--out", tmp_path / "W3")
    said = json.loads((office / "slips-W3.json").read_text())
    gate = Gate.open(tmp_path / "W3" / "gate.db")

    gate.set_pin_with_slip("okafor", said["codes"]["okafor"], "739152", "L", 0)

    gate.check_pin("okafor", "739152", "L", 0)
    gate.close()
    assert said["place"] == "W3"


def test_enrol_writes_over_nothing(tmp_path, office, built, tapeseal):
    folder = tmp_path / "R7"
    folder.mkdir()
    (folder / "record.db").write_text("a day's record")
    before = tree(folder, office)

    code, _, err = tapeseal("enrol", built, "--office", office, "--out", folder)

    assert code == 2 and "is there already and not empty: nothing was written" in err and tree(folder, office) == before


def test_enrol_takes_an_empty_folder(tmp_path, office, built, tapeseal):
    (tmp_path / "R7").mkdir()

    assert tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")[0] == 0


def test_a_place_is_enrolled_once_unless_it_is_replaced(tmp_path, office, built, tapeseal):
    tapeseal("enrol", built, "--office", office, "--out", tmp_path / "first")
    before = tree(office)

    code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "second")
    assert (
        code == 2
        and "was enrolled for live already" in err
        and tree(office) == before
        and not (tmp_path / "second").exists()
    )

    code, out, _ = tapeseal(
        "enrol", built, "--office", office, "--out", tmp_path / "second", "--replace", "--lost", "--json"
    )
    old, new = keys.enrolments(office)
    assert (
        code == 0
        and json.loads(out)["slips"] == str(office / "slips-R7-2.pdf")
        and before[office / "slips-R7.pdf"] == tree(office)[office / "slips-R7.pdf"]
    )
    assert old.replaced_by == new.kid and old.lost_at == old.to_ms == new.from_ms


def test_lost_alone_says_what_goes_with_it(tmp_path, office, built, tapeseal):
    code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--lost")

    assert code == 2 and "say --replace with it" in err


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda data: data.replace(b"received = 500", b"received = 900"), "was changed after the office signed it"),
        (lambda data: data[:-1], "is cut off"),
        (lambda data: SMALL.encode(), "carries no signature"),
        (lambda data: b"", "carries no signature"),
    ],
)
def test_what_the_office_did_not_sign_is_not_enrolled(tmp_path, office, built, tapeseal, spoil, says):
    built.write_bytes(spoil(built.read_bytes()))
    before = tree(office)

    code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")

    assert (
        code == 2 and says in err and err.count("\n") == 1 and tree(office) == before and not (tmp_path / "R7").exists()
    )


def test_another_offices_place_is_not_enrolled(tmp_path, office, built, live, tapeseal):
    other = tmp_path / "other"
    other.mkdir()
    shutil.copy(DEMO / "office.toml", other)
    tapeseal("place", "build", live, "--office", other, "--out", tmp_path / "other.cose")

    code, _, err = tapeseal("enrol", tmp_path / "other.cose", "--office", office, "--out", tmp_path / "R7")

    assert code == 2 and "was signed by another office" in err and not (tmp_path / "R7").exists()


def test_an_office_without_a_key_enrols_nothing(tmp_path, built, tapeseal):
    code, _, err = tapeseal("enrol", built, "--office", tmp_path / "elsewhere", "--out", tmp_path / "R7")

    assert code == 2 and "has no key yet" in err and not (tmp_path / "R7").exists()


def test_an_enrolment_that_fails_leaves_nothing_behind(tmp_path, office, built, monkeypatch):
    monkeypatch.setattr(enrolment.keys, "enrol", lambda *words: 1 / 0)
    before = tree(office)

    with pytest.raises(ZeroDivisionError):
        enrolment.enrol(built.read_bytes(), office, tmp_path / "R7", 0)

    assert not (tmp_path / "R7").exists() and tree(office) == before


def test_who_joins_the_desk_later_gets_a_slip_with_the_next_build(tmp_path, office, built, live, tapeseal):
    file = office / "office.toml"
    file.write_text(
        file.read_text() + '\n[[officials]]\nid = "gray"\nname = "Martha Gray"\nparty = "N"\nrole = "clerk"\n'
    )

    said = json.loads(
        tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "again.cose", "--json")[1]
    )

    assert said["slips"] == str(office / "slips-desk-2.pdf")


def certificate_of(folder):
    return certificates.enrolled(folder).chain[0]


def test_enrol_makes_an_authority_for_the_domain_above_the_host_and_says_its_fingerprint(
    tmp_path, office, built, tapeseal
):
    code, out, _ = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")
    (file,) = office.glob("authority-*.crt")
    digits = hashlib.sha256(file.read_bytes()).hexdigest().upper()

    assert (
        code == 0
        and file.name == "authority-sable.example.crt"
        and " ".join(digits[i : i + 4] for i in range(0, 64, 4)) in out
    )
    assert certificate_of(tmp_path / "R7").extensions.get_extension_for_class(
        x509.SubjectAlternativeName
    ).value.get_values_for_type(x509.DNSName) == ["r7.sable.example"]


def other_place(tmp_path, office, tapeseal, name: str, host: str):
    """Another place of the same office, built."""
    file, out = tmp_path / f"{name}.toml", tmp_path / f"{name}.cose"
    file.write_text(SMALL.replace('id = "R7"', f'id = "{name}"').replace("r7.sable.example", host))
    assert tapeseal("place", "build", file, "--office", office, "--out", out)[0] == 0
    return out


@pytest.mark.parametrize(
    ("host", "many"),
    some(
        [("r8.sable.example", 1), ("r8.other.example", 2)],
        [("r8.sable.example", 1), ("r8.other.example", 2), ("r8.local", 2), ("r8.example", 2)],
    ),
)
def test_one_authority_serves_every_place_of_its_domain_and_another_is_made_for_a_host_outside(
    tmp_path, office, built, tapeseal, host, many
):
    tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")
    assert (
        tapeseal(
            "enrol", other_place(tmp_path, office, tapeseal, "R8", host), "--office", office, "--out", tmp_path / "R8"
        )[0]
        == 0
    )
    issuers = [certificates.enrolled(tmp_path / name).authority for name in ("R7", "R8")]

    assert (
        len(authorities.authorities(office))
        == len({issuer.serial_number for issuer in issuers})
        == len(list(office.glob("authority-*.crt")))
        == many
    )


@pytest.mark.parametrize(
    ("host", "domain"),
    [
        ("w3.tarn.example", "tarn.example"),
        ("a.b.tarn.example", "b.tarn.example"),
        ("w3.local", "w3.local"),
        ("w3.example", "w3.example"),
        ("w3", "w3"),
    ],
)
def test_an_authority_is_never_made_for_a_whole_top_level(host, domain):
    """A place called w3.local gets one for w3.local alone: .local is everybody's (RFC 6762, 3)."""
    assert authority.domain_of(host) == domain


def test_a_domain_of_ones_own_choice_must_hold_the_host(tmp_path, office, built, tapeseal):
    for domain in ("example", "other.example", "ble.example"):
        code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--domain", domain)
        assert (
            code == 2
            and f"--domain {domain} does not hold the host of Ropewalk Hall, which is r7.sable.example" in err
            and not (tmp_path / "R7").exists()
        )

    assert (
        tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--domain", "r7.sable.example")[0] == 0
    )
    assert [one.domain for one in authorities.authorities(office)] == ["r7.sable.example"]


def test_a_practice_place_without_a_host_gets_no_certificate(tmp_path, office, live, tapeseal):
    live.write_text(SMALL.replace('mode = "live"', 'mode = "practice"').replace('host = "r7.sable.example"\n', ""))
    tapeseal("place", "build", live, "--office", office, "--out", tmp_path / "r7.cose")
    code, out, _ = tapeseal("enrol", tmp_path / "r7.cose", "--office", office, "--out", tmp_path / "R7", "--json")

    assert code == 0 and json.loads(out)["authority"] is None and not list(office.glob("*.crt"))
    with pytest.raises(GateRefused, match="holds no certificate for tablets"):
        certificates.enrolled(tmp_path / "R7")


def test_a_renewal_is_one_file_that_is_never_written_over(tmp_path, office, built, tapeseal):
    tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")
    said = json.loads(tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--renew", "--json")[1])
    code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--renew")

    assert said["file"] == str(tmp_path / "R7" / "tablets.pem") and said["place"] == "R7"
    assert (
        x509.load_pem_x509_certificate((tmp_path / "R7" / "tablets.pem").read_bytes()).public_key()
        == certificate_of(tmp_path / "R7").public_key()
    )
    assert code == 2 and "tablets.pem is there already, and nothing is written over" in err
    assert (
        len(authorities.certified(office, "R7", "live")) == 2 and authorities.certified(office, "R7", "practice") == ()
    )


def test_renew_keeps_key_and_authority_so_it_goes_with_neither_replace_nor_domain(tmp_path, office, built, tapeseal):
    for words in (("--replace",), ("--domain", "sable.example")):
        code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7", "--renew", *words)
        assert code == 2 and "leave --replace and --domain out" in err


def test_a_place_that_was_never_enrolled_has_nothing_to_renew(tmp_path, office, built, tapeseal):
    code, _, err = tapeseal("enrol", built, "--office", office, "--out", tmp_path / "r7.pem", "--renew")

    assert (
        code == 2
        and "Ropewalk Hall (R7) has no certificate for live yet: enrol it, which makes the first." in err
        and not (tmp_path / "r7.pem").exists()
    )


def test_an_office_from_before_there_were_authorities_enrols_as_before(tmp_path, office, built, tapeseal):
    """Its gate.db has no such tables yet; the first enrolment makes them beside the others."""
    with sqlite3.connect(office / "gate.db") as db:
        assert db.execute(
            "SELECT count(*) FROM sqlite_schema WHERE name IN ('authorities', 'certified')"
        ).fetchone() == (0,)

    assert (
        authorities.authorities(office) == ()
        and tapeseal("enrol", built, "--office", office, "--out", tmp_path / "R7")[0] == 0
    )
    assert len(authorities.authorities(office)) == 1


def test_an_authority_near_its_end_makes_room_for_another(tmp_path, office, built, tapeseal):
    """It serves a host only while it outlasts the host's certificate."""
    old = authority.made("x", "sable.example", 0)

    assert authority.serves(old, "r7.sable.example", 0) and not authority.serves(old, "r7.other.example", 0)
    assert not authority.serves(old, "r7.sable.example", (3652 - 396) * 86_400_000)
