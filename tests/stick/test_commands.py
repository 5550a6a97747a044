"""The commands from a laptop that dies to a spare one that goes on, and each refusal in one sentence."""

import base64
import json
import shutil
import sqlite3

import pytest

from tests.stick import nights
from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.commands.recovery.kit_code import CODE
from webapp.gate import keys, signed_place_file, spare
from webapp.packet.cose import key_id
from webapp.record.backup import stored_after
from webapp.record.ledger import Ledger
from webapp.stick.folder import chosen


@pytest.fixture
def saved(enrolled, tapeseal, stick):
    """Twelve more entries on the stick, three more on the laptop only."""
    enrolled.keep(12)
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    enrolled.keep(3, 300)
    return enrolled


def restored(saved, tapeseal, stick, out, *more):
    return tapeseal("record", "restore", stick, "--out", out, "--kit", saved.kit, "--json", *more)


def test_backup_says_what_is_on_the_stick(enrolled, tapeseal, stick):
    enrolled.keep(12)
    code, out, _ = tapeseal("record", "backup", enrolled.place, "--to", stick, "--json")
    with Ledger.read_only(enrolled.record) as reader:
        told = json.loads(out)
        assert (code, told["run"], told["last"], told["head"], told["record"]) == (
            0,
            1,
            reader.length,
            reader.head.hex(),
            reader.record_id.hex(),
        )
    assert told["bytes"] == sum(
        path.stat().st_size for path in chosen(stick).rglob("*") if path.is_file() and path.name != "READ-ME.txt"
    )


def test_no_secret_lies_on_the_stick(saved, stick):
    """The bytes of every key, pepper, verifier and certificate key, and of the codes, looked for in every file."""
    with sqlite3.connect(saved.place / "gate.db") as gate:
        secrets = [
            value
            for name, value in gate.execute("SELECT name, value FROM keys")
            if name not in ("office", "tls_leaf", "authority")
        ]
        secrets += [verifier.encode() for (verifier,) in gate.execute("SELECT verifier FROM slips")]
    gate.close()
    secrets += [code.encode() for code in (saved.code, *saved.first.values(), *saved.second.values())]
    secrets += [code.replace(b"-", b"") for code in secrets if b"-" in code and len(code) in (11, 14)]
    assert len(secrets) > 20

    everything = {path: path.read_bytes() for path in stick.rglob("*") if path.is_file()}
    assert [path for path, data in everything.items() if any(secret in data for secret in secrets)] == []
    assert not {path.name for path in everything} & {"gate.db", saved.kit.name}


def test_a_spare_laptop_goes_on_from_the_stick(saved, tapeseal, stick, tmp_path):
    code, out, _ = restored(saved, tapeseal, stick, tmp_path / "spare", "--seen", "17")
    told = json.loads(out)

    assert code == 0
    assert (told["ok"], told["run"], told["first"], told["torn"]) == (True, 2, 10_001, 0)
    assert stored_after(tmp_path / "spare" / "record.db", 0)[:-1] == stored_after(saved.record, 0)[:-3]
    assert tapeseal("record", "verify", tmp_path / "spare" / "record.db")[0] == 0


def test_the_spare_has_keys_of_its_own_that_the_office_knows(saved, tapeseal, stick, tmp_path):
    restored(saved, tapeseal, stick, tmp_path / "spare")
    mine = keys.place_key(tmp_path / "spare").public_key()

    assert [one.kid for one in spare.spares(saved.office)] == [key_id(mine)]
    assert mine.public_bytes_raw() != keys.place_key(saved.place).public_key().public_bytes_raw()
    assert keys.pepper(tmp_path / "spare") != keys.pepper(saved.place)
    assert signed_place_file.load_place(tmp_path / "spare").id == signed_place_file.load_place(saved.place).id


def test_an_office_from_before_there_were_kits_has_none(saved):
    with sqlite3.connect(saved.office / "gate.db") as gate:
        gate.execute("DROP TABLE spares")
    gate.close()
    assert spare.spares(saved.office) == ()


def test_without_a_kit_the_record_goes_on_with_a_key_that_nobody_knows(saved, tapeseal, stick, tmp_path):
    code, out, err = tapeseal("record", "restore", stick, "--out", tmp_path / "fresh", "--fresh", "--json")

    assert (code, json.loads(out)["run"]) == (0, 2)
    assert "accepted, not proven" in err
    assert signed_place_file.load_place(tmp_path / "fresh").id == signed_place_file.load_place(saved.place).id
    with Ledger.read_only(tmp_path / "fresh" / "record.db") as reader:
        assert reader.entry(10_001).body["kit"] == "fresh"


def test_a_fresh_folder_takes_no_other_place_file(saved, tapeseal, stick, tmp_path):
    place = chosen(stick) / "place.cose"
    data = bytearray(place.read_bytes())
    at = data.find(b"invented")
    data[at] ^= 1
    place.write_bytes(data)

    code, _, err = tapeseal("record", "restore", stick, "--out", tmp_path / "fresh", "--fresh")
    assert code == 2 and "place file" in err
    assert not (tmp_path / "fresh" / "gate.db").exists()


@pytest.mark.parametrize(
    ("what", "says"),
    [("code", "does not open"), ("cut", "not a kit, or only part"), ("none", "cannot be read"), ("both", "--kit")],
)
def test_a_kit_that_does_not_fit_is_refused_and_nothing_is_laid_down(
    saved, tapeseal, stick, tmp_path, monkeypatch, what, says
):
    kit = saved.kit
    if what == "code":
        monkeypatch.setenv(CODE, "0000-0000-0000")
    if what == "cut":
        kit.write_bytes(kit.read_bytes()[:200])
    if what == "none":
        kit = tmp_path / "none.kit"
    words = [
        "record",
        "restore",
        stick,
        "--out",
        tmp_path / "spare",
        "--kit",
        kit,
        *(["--fresh"] if what == "both" else []),
    ]

    code, _, err = tapeseal(*words)
    assert code == 2 and says in err
    assert not (tmp_path / "spare" / "place.cose").exists()


def test_words_of_another_history_are_exit_1(saved, tapeseal, stick, tmp_path):
    from webapp.record.check_words import check_words

    other = check_words(bytes(32))
    code, _, err = restored(saved, tapeseal, stick, tmp_path / "spare", "--expect", f"5:{other}")
    assert code == 1 and "another history" in err
    code, _, err = restored(saved, tapeseal, stick, tmp_path / "spare", "--expect", "five")
    assert code == 2 and "41:XXXX" in err


def test_a_folder_that_is_there_is_never_written_over(saved, tapeseal, stick):
    before = {path: path.read_bytes() for path in saved.place.iterdir() if path.is_file()}
    code, _, err = restored(saved, tapeseal, stick, saved.place)

    assert code == 2 and "not empty" in err
    assert {path: path.read_bytes() for path in saved.place.iterdir() if path.is_file()} == before


def test_a_copy_inside_the_places_folder_is_refused(saved, tapeseal):
    code, _, err = tapeseal("record", "backup", saved.place, "--to", saved.place / "copy")
    assert code == 2 and "inside the place's folder" in err


@pytest.mark.parametrize("what", ["missing", "other-history"])
def test_a_stick_that_cannot_be_used_is_said(saved, tapeseal, stick, tmp_path, what):
    if what == "other-history":
        with Ledger.open(saved.record, nights.story.COARSE) as ledger:
            later = ledger.length
        saved.keep(2, 700)
        tapeseal("record", "backup", saved.place, "--to", stick)
        shutil.copy(saved.record, tmp_path / "keep.db")
        with sqlite3.connect(saved.record, isolation_level=None) as db:
            for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                db.execute(f"DROP TRIGGER {trigger}")
            db.execute("DELETE FROM entries WHERE number > ?", (later,))
        db.close()
    code, _, err = tapeseal(
        "record", "backup", saved.place, "--to", stick if what == "other-history" else tmp_path / "nowhere"
    )
    assert code == 2 and ("another history" in err if what == "other-history" else "not there" in err)


def test_what_the_old_disk_has_comes_back_once_and_nothing_is_lost(saved, tapeseal, stick, tmp_path):
    restored(saved, tapeseal, stick, tmp_path / "spare", "--seen", "18")
    code, out, _ = tapeseal("record", "lost", tmp_path / "spare")
    assert (code, json.loads(out)) == (
        1,
        {"last": 15, "first": 10_001, "seen": 18, "given_back": [], "lost": [16, 17, 18], "open": []},
    )

    for _ in range(2):
        code, out, _ = tapeseal("record", "give-back", saved.record, "--to", tmp_path / "spare")
        assert (code, json.loads(out)) == (0, {"taken": [16, 17, 18], "refused": []})

    code, out, _ = tapeseal("record", "lost", tmp_path / "spare")
    assert (code, json.loads(out)["given_back"], json.loads(out)["lost"]) == (0, [16, 17, 18], [])
    with Ledger.read_only(tmp_path / "spare" / "record.db") as reader:
        back = [entry for entry in reader.entries(10_001) if entry.kind == "given-back"]
        assert [entry.body["entry"] for entry in back] == [one.data for one in stored_after(saved.record, 15)]
        assert all(entry.signers == () and entry.tablet == "L" for entry in back)
        texts = {entry.body["was"]: reader.texts(entry.number) for entry in back}
        assert texts[16] == {"remark": "Remark 300: é ✓"}
    assert tapeseal("record", "verify", tmp_path / "spare" / "record.db")[0] == 0


def memory(saved, numbers, change=lambda data: data):
    """A tablet's memory as it saves it."""
    entries = []
    for one in stored_after(saved.record, 0):
        if one.number in numbers:
            words = {name: text for name, _, text in one.words}
            entries.append(
                {
                    "number": one.number,
                    "entry": base64.b64encode(change(one.data)).decode(),
                    "texts": words,
                    "salts": {name: salt.hex() for name, salt, _ in one.words},
                }
            )
    return json.dumps({"tablet": "A", "entries": entries})


def test_a_tablets_memory_comes_back_and_what_is_altered_or_foreign_is_refused(saved, tapeseal, stick, tmp_path):
    restored(saved, tapeseal, stick, tmp_path / "spare", "--seen", "18")
    (tmp_path / "a.json").write_text(memory(saved, {17}))
    (tmp_path / "b.json").write_text(memory(saved, {17, 18}, lambda data: data.replace(b"reading", b"sealing")))
    (tmp_path / "c.json").write_text(memory(saved, {18}, lambda data: data[:-1]))

    assert json.loads(tapeseal("record", "give-back", tmp_path / "a.json", "--to", tmp_path / "spare")[1])["taken"] == [
        17
    ]
    code, out, _ = tapeseal("record", "give-back", tmp_path / "b.json", "--to", tmp_path / "spare")
    assert code == 1
    assert json.loads(out)["taken"] == [18]  # nobody can tell yet: it stands on the tablet's word
    assert "another one" in json.loads(out)["refused"][0]
    code, out, _ = tapeseal("record", "give-back", tmp_path / "c.json", "--to", tmp_path / "spare")
    assert (code, json.loads(out)["taken"]) == (1, []) and "not an entry" in json.loads(out)["refused"][0]
    with Ledger.read_only(tmp_path / "spare" / "record.db") as reader:
        assert [entry.body["number"] for entry in reader.entries(10_001) if entry.kind == "contradicted"] == [17]


@pytest.mark.parametrize("data", [b"", b"{}", b"[1]", b"hello", b"\x8c\x70nothing"])
def test_a_file_that_holds_nothing_is_exit_2(saved, tapeseal, stick, tmp_path, data):
    restored(saved, tapeseal, stick, tmp_path / "spare")
    (tmp_path / "x.json").write_bytes(data)
    code, _, err = tapeseal("record", "give-back", tmp_path / "x.json", "--to", tmp_path / "spare")
    assert code == 2 and err.count("\n") == 1


def test_a_record_that_was_never_restored_has_nothing_to_lose(saved, tapeseal):
    assert tapeseal("record", "lost", saved.place)[0] == 2
    assert tapeseal("record", "give-back", saved.record, "--to", saved.place)[0] == 2


def test_an_export_verifies_with_and_without_its_words_and_says_so_in_the_record(saved, tapeseal, tmp_path):
    for name, more in (("with.cborseq", ()), ("bare.cborseq", ("--without-words",))):
        code, out, _ = tapeseal("record", "export", saved.place, "--out", tmp_path / name, "--json", *more)
        assert code == 0
        checked, said, _ = tapeseal("record", "verify", tmp_path / name, "--json")
        assert (checked, json.loads(said)["head"]) == (0, json.loads(out)["head"])
    assert "withheld" in json.loads(said)["says"]
    assert tapeseal("record", "export", saved.place, "--out", tmp_path / "with.cborseq")[0] == 2
    with Ledger.read_only(saved.record) as reader:
        assert [entry.body["with_words"] for entry in reader.entries() if entry.kind == "exported"] == [True, False]


def test_verify_reads_a_stick_and_says_what_is_torn(saved, tapeseal, stick):
    for at in (stick, chosen(stick)):
        assert tapeseal("record", "verify", at)[0] == 0
    (file,) = chosen(stick).glob("entries-*")
    file.write_bytes(file.read_bytes() + b"\x00" * 9)
    code, out, _ = tapeseal("record", "verify", stick)
    assert code == 0 and "9 bytes hold no whole entry" in out


def test_a_restored_place_is_served_and_its_record_goes_on(saved, tapeseal, stick, tmp_path):
    import webapp
    from webapp.settings import Settings

    restored(saved, tapeseal, stick, tmp_path / "spare")
    app = webapp.create_app(Settings("place", tmp_path / "spare", "practice"))
    assert app.test_client().get("/now").status_code in (200, 303)
    app.extensions["room"].close()
    with Ledger.read_only(tmp_path / "spare" / "record.db") as reader:
        assert [entry.kind for entry in reader.entries(10_000)] == ["restored", "started", "stopped"]


def test_paths_may_be_relative_to_where_one_stands(saved, tapeseal, stick, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "k.kit").write_bytes(saved.kit.read_bytes())
    saved.keep(1, 900)
    with Ledger.open(saved.record, nights.story.COARSE) as ledger:
        nights.keep_words(ledger, 950)

    assert tapeseal("record", "backup", "place", "--to", "stick")[0] == 0
    assert tapeseal("record", "restore", "stick", "--out", "spare", "--kit", "k.kit")[0] == 0
    assert tapeseal("record", "verify", "stick")[0] == 0
    assert tapeseal("record", "export", "place", "--out", "e.cborseq")[0] == 0
    assert tapeseal("record", "give-back", "place/record.db", "--to", "spare")[0] == 0
    assert tapeseal("record", "lost", "spare")[0] == 0
