"""The office's laptop dies: its record goes on from stick and kit, packets and totals are those of before, its keys are its own, and no secret was on the stick."""

import json
import re
import shutil
import sqlite3
from contextlib import closing
from functools import partial

import pytest

from demo_precinct import rehearsed_county
from demo_precinct.rehearsed_day import PINS
from tests.stick.test_served import until
from webapp.commands import main
from webapp.commands.recovery import saved_folder
from webapp.commands.server.stick_choice import StickChoice
from webapp.gate import kit, office_keys, slip_code
from webapp.office.setup import enrolment, roster
from webapp.record.audit import verify
from webapp.record.backup import stored_after
from webapp.stick.folder import chosen, read_folder


@pytest.fixture
def minted(monkeypatch):
    """Every code that is made meanwhile, in order."""
    made, mint = [], slip_code.mint
    monkeypatch.setattr(slip_code, "mint", lambda: made.append(mint()) or made[-1])
    return made


@pytest.fixture
def saved(night, minted, tmp_path, capsys, monkeypatch):
    """A packet is in, everything is on the stick, the kit in the safe: (stick, kit, its code, second codes by person, figures of Totals)."""
    monkeypatch.setattr(kit, "MEMORY_KIB", 64)  # its real cost: tests/gate/test_kit.py
    night.hold()
    night.take_in("W3")
    figures = shown(night)
    assert main(["office", str(night.folder), "--make-kit", str(tmp_path / "safe")]) == 0
    people = [official.id for official in night.office.officials]
    second, code = dict(zip(people, minted, strict=False)), minted[len(people)]
    assert (tmp_path / "safe" / f"{night.office.id}-spare-sheet.pdf").read_bytes().startswith(b"%PDF")
    (tmp_path / "stick").mkdir()
    night.stop()
    assert main(["record", "backup", str(night.folder), "--to", str(tmp_path / "stick"), "--json"]) == 0
    monkeypatch.setenv("TAPESEAL_KIT_CODE", code)
    return tmp_path / "stick", tmp_path / "safe" / f"{night.office.id}.kit", code, second, figures


def shown(night) -> list[str]:
    return re.findall(r">([\d,]+)<", night.window.get("/totals").text)


def restored(night, saved, *words) -> int:
    stick, kit_file, *_ = saved
    shutil.rmtree(night.folder)
    night.folder = night.folder.with_name("taken-over")
    return main(["record", "restore", str(stick), "--out", str(night.folder), *(words or ("--kit", str(kit_file)))])


def test_the_desk_goes_on_with_the_totals_of_before_and_signs_and_certifies(night, saved, capsys, tmp_path):
    _, _, _, second, figures = saved
    known = roster.load(night.folder)
    before = stored_after(night.folder / "office.db", 0, 10_000)
    assert restored(night, saved, "--json", "--kit", str(saved[1])) == 0
    told = json.loads(capsys.readouterr().out.strip().splitlines()[-1])
    assert (told["run"], told["last"], told["first"]) == (2, before[-1].number, 10_001)
    assert stored_after(night.folder / "office.db", 0, 10_000)[: len(before)] == before

    night.start()
    assert shown(night) == figures and len(figures) > 5
    night.room.choose_stick = StickChoice(night.room, partial(saved_folder.task_for_office, night.folder)).move
    assert night.room.choose_stick(str(saved[0])) == ""
    assert until(lambda: f"On the stick to {night.room.ledger.length}" in night.window.get("/stick").text)
    assert f"took over after entry {before[-1].number}" in night.window.get("/intake").text
    person = night.office.officials[0].id
    form = night.window.get(f"/people/pin/{person}").form(f"/people/pin/{person}")
    page = night.window.send(form, {"pin": PINS[0], "pin_again": PINS[0], "code": second[person]})
    assert page.status == 200 and night.room.day.of("pin-set")[-1].body["by"] == "second-code"
    night.hold()
    page = night.upload(("packet.cose", b"".join(night.seal["W3"]())))
    assert "This very packet is in since" in page.text
    night.window.send(page.form("/intake/clear"))
    night.take_in("W5")
    assert night.kinds[-1] == "packet-received"
    assert until(lambda: read_folder(chosen(saved[0])).history.end.number == night.room.ledger.length)
    night.room.backup.close()
    assert len(list((chosen(saved[0]) / "in").iterdir())) == 2
    assert verify(night.folder / "office.db").ok
    capsys.readouterr()
    assert main(["record", "lost", str(night.folder), "--seen", str(before[-1].number + 2)]) == 1
    assert json.loads(capsys.readouterr().out)["lost"] == [before[-1].number + 1, before[-1].number + 2]

    after = roster.load(night.folder)
    assert after.keys.keys() == known.keys.keys() and after.enrolments == known.enrolments
    assert {p.digest for p in after.places.values()} == {p.digest for p in known.places.values()}
    toml = (rehearsed_county.HERE / "place.toml").read_bytes().replace(b'id = "W3"', b'id = "W9"', 1)
    enrolment.build(toml, night.folder, tmp_path / "w9.cose")
    made = enrolment.enrol((tmp_path / "w9.cose").read_bytes(), night.folder, tmp_path / "w9", 1_900_000_000_000)
    assert made.fingerprint and made.place.id == "W9"


def test_no_secret_of_the_office_is_on_its_stick_and_what_does_not_fit_is_refused(
    night, saved, capsys, monkeypatch, tmp_path
):
    stick, _, code, second, _ = saved
    with closing(sqlite3.connect(night.folder / "gate.db")) as db:
        secrets = [row[0] for row in db.execute("SELECT value FROM keys")]
        secrets += [row[0].encode() for row in db.execute("SELECT verifier FROM slips")]
        secrets += [row[0] for row in db.execute("SELECT key FROM authorities")]
    secrets += [one.replace("-", "").encode() for one in (code, *second.values())]
    assert len(secrets) > 5 and all(len(one) > 8 for one in secrets)
    everything = b"\n".join(file.read_bytes() for file in stick.rglob("*") if file.is_file())
    assert [one for one in secrets if one in everything] == []
    names = {path.relative_to(chosen(stick)).parts[0].split("-")[0] for path in stick.rglob("*") if path.is_file()}
    assert names == {"stick", "entries", "snapshot", "READ", "office", "keys", "in", "places"}
    what_does_not_fit(night, saved, capsys, monkeypatch, tmp_path)
    night.start()


def what_does_not_fit(night, saved, capsys, monkeypatch, tmp_path):
    """Each is one sentence, and nothing is laid down."""
    stick, kit_file, code, *_ = saved
    whole, out = kit_file.read_bytes(), tmp_path / "new"
    lists = {file: file.read_bytes() for file in chosen(stick).glob("keys-*")}
    capsys.readouterr()

    def refused(*words) -> bool:
        said = main([*map(str, words)]) == 2, len(capsys.readouterr().err.strip().splitlines()) == 1
        return all(said) and (not out.exists() or not any(out.iterdir()))

    restore = ("record", "restore", stick, "--kit", kit_file, "--out")
    assert refused(*restore, stick / "new") and refused(*restore, chosen(stick) / "new")
    monkeypatch.setenv("TAPESEAL_KIT_CODE", "0000-0000-0000")
    assert refused(*restore, out)
    monkeypatch.setenv("TAPESEAL_KIT_CODE", code)
    for other in (kit.locked(kit.Kit("W3", "practice", bytes(32), {}, {}), "000000000000"), whole[:-1], b""):
        kit_file.write_bytes(other)
        assert refused(*restore, out)
    kit_file.write_bytes(whole)
    for file, data in lists.items():
        file.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    assert refused(*restore, out)
    for safe in (night.folder / "safe", tmp_path / "safe"):  # inside the office's folder; over another kit
        assert refused("office", night.folder, "--make-kit", safe)


def test_without_the_kit_packets_are_proven_as_before_and_the_office_has_a_new_key(night, saved, capsys):
    figures, before = saved[-1], roster.load(night.folder)
    assert restored(night, saved, "--fresh") == 0
    assert "the office has a new key" in capsys.readouterr().err
    assert roster.load(night.folder).keys.keys() == before.keys.keys()
    night.start()
    assert shown(night) == figures


def test_the_list_of_keys_is_written_anew_only_when_a_key_came(night, tmp_path):
    file = office_keys.written(night.folder, 1)
    first = file.read_bytes()
    assert office_keys.written(night.folder, 2).read_bytes() == first and office_keys.read(file).made == 1
    file.write_bytes(first[:-1])
    assert office_keys.read(file) is None
    assert office_keys.read(office_keys.written(night.folder, 3)).made == 3


def test_the_desk_exports_its_record_from_the_page(night, tmp_path, capsys):
    night.hold()
    night.take_in("W3")
    form = night.window.get("/record/export").form("/record/export")
    who, pin = night.office.officials[0].id, PINS[0]
    page = night.window.send(form, {"words": "yes", "signer": who, "pin": pin})
    assert page.status == 200 and page.headers["content-type"] == "application/cbor-seq", page.said()
    (tmp_path / "office.cborseq").write_bytes(page.body)
    assert main(["record", "verify", str(tmp_path / "office.cborseq"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["entries"] == night.room.ledger.length
    assert night.kinds[-1] == "exported"
