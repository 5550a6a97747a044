"""Sealed and public archives: what lies in them, both checkers, one byte changed anywhere, and what a dishonest office cannot do.

Sources: BagIt (RFC 8493), Ed25519 (RFC 8032, 7.1), CBOR (RFC 8949, Appendix A), COSE (RFC 9052, 4.4; the working group's eddsa-sig-01), 22 months
(52 U.S.C. 20701).
"""

import ast
import base64
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest

from tests.archive.conftest import VERIFY
from tests.archive.small_office import SmallOffice, signed_again
from tests.canvass.what_can_be_worked_out import given_away, published
from tests.matrix import some
from tests.packet.test_cose import EDDSA_01, EDDSA_01_KEY
from tests.record.test_cbor import APPENDIX_A
from tests.stored_folder import unpacked
from webapp.archive import bag, check, folder_check
from webapp.commands import main

KINDS = ("sealed", "public")
STORED = Path(__file__).parent / "stored" / "sealed.tar.gz"


def files_of(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def both(folder: Path, alone, capsys) -> tuple[set[str], set[str]]:
    """What the command and what verify.py say is wrong: the first word of each."""
    capsys.readouterr()
    code = alone.main([str(folder)])
    said = [line.split()[3] for line in capsys.readouterr().out.splitlines() if line.startswith("DOES NOT AGREE")]
    assert bool(said) == bool(code)
    return check.checked(folder).named, set(said)


def test_both_checkers_agree_with_both_archives_and_say_what_they_did_not_look_at(kept_as_printed, capsys):
    kept = kept_as_printed
    for kind in KINDS:
        folder = getattr(kept, kind)
        assert main(["archive", "verify", str(folder), "--json"]) == 0
        answer = json.loads(capsys.readouterr().out)
        assert answer["ok"] and answer["differs"] == [] and "does not read them" in answer["unchecked"][-1]
        words = [sys.executable, "-I", str(folder / "data" / "verify.py")]
        found = subprocess.run(words, capture_output=True, text=True, timeout=60, cwd=folder)
        assert found.returncode == 0 and "What this program checked agrees." in found.stdout, (
            found.stdout + found.stderr
        )
        assert ("figures of every place and count" in found.stdout) == (kind == "sealed")
        key = json.loads((folder / "data/keys.json").read_bytes())["office"]["public"]
        assert f"compare:        the office's public key: {key}" in found.stdout
        assert not list(folder.rglob("__pycache__")), "nothing is left behind"
        listed = subprocess.run(
            ["sha256sum", "-c", "--quiet", bag.MANIFEST], cwd=folder, capture_output=True, text=True
        )
        assert (listed.returncode, listed.stdout) == (0, "")
    assert (
        sha256((kept.sealed / bag.MANIFEST).read_bytes()).hexdigest()
        in (kept.public / "data" / "READ-ME-FIRST.txt").read_text()
    )


def test_where_nobody_reads_the_lines_to_their_end_verify_says_that_nothing_is_said(kept_as_printed):
    """As behind `| head -1`: the reading end of the pipe is closed before the first line."""
    reading, writing = os.pipe()
    os.close(reading)
    words = [sys.executable, "-I", str(kept_as_printed.sealed / "data" / "verify.py")]
    found = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, text=True, timeout=60)
    os.close(writing)
    assert found.returncode == 2 and found.stderr.startswith("The lines were cut off before the end"), found.stderr
    assert "AGREE" not in found.stderr and "Traceback" not in found.stderr


def test_verify_needs_no_library_and_knows_nothing_of_the_product():
    tree = ast.parse(VERIFY.read_text(encoding="utf-8"))
    names = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    names |= {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert names - set(sys.stdlib_module_names) == {"argon2.low_level"}, "asked for, and said where it is not there"
    inner = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module == "argon2.low_level"]
    assert all(node not in tree.body for node in inner)


@pytest.mark.parametrize("kind", KINDS)
def test_one_byte_changed_anywhere_is_named_by_both(copies, kind, alone, capsys):
    """Every file: one byte of it, with --all its first and its last too; then cut off, taken away, another name. Then files that nobody put there."""
    folder = getattr(copies, kind)
    for name in files_of(folder):
        path = folder / name
        data = path.read_bytes()
        for at in some((len(data) // 3,), (0, len(data) // 3, len(data) - 1)):
            path.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])
            for named in both(folder, alone, capsys):
                assert any(name in one for one in named), (name, at, named)
        path.write_bytes(data[:-1])
        for named in both(folder, alone, capsys):
            assert any(name in one for one in named), (name, "cut off", named)
        path.rename(folder / f"{name}.x")
        for named in both(folder, alone, capsys):
            assert any(name == one or name in one.split() for one in named), (name, "gone", named)
            assert f"{name}.x" in named
        (folder / f"{name}.x").unlink()
        path.write_bytes(data)
    for name in ("notes.txt", "data/notes.txt", "data/editions/1/.results.csv"):
        (folder / name).write_bytes(b"x")
        assert both(folder, alone, capsys) == ({name}, {name})
        (folder / name).unlink()
    (folder / "data/results.csv").symlink_to(folder / "data/editions/1/results.csv")
    for named in both(folder, alone, capsys):
        assert "data/results.csv" in named
    (folder / "data/results.csv").unlink()
    assert both(folder, alone, capsys) == (set(), set())


def changed(data: bytes, old: bytes, new: bytes) -> bytes:
    assert old in data
    return data.replace(old, new, 1)


OF_THE_OFFICE = (
    ("data/editions/2/results.csv", b",choice,5,", b",choice,6,"),
    ("data/editions/2/results.csv", b",undervote,", b",overvote,"),
    ("data/editions/2/results-1500-100.json", b'"Count": 5', b'"Count": 6'),
    ("data/editions/1/edition.json", b'"small": 10', b'"small": 11'),
    ("data/editions-sealed/2.json", b'"A": ', b'"A": 1'),
    ("data/office/office.cborseq", b"edition-posted", b"edition-pasted"),
    ("data/office/heads.json", b'"head": "', b'"head": "00'),
    ("data/office/heads.json", b'"words": "', b'"words": "Z'),
    ("data/places/W3/packet-1", b"\x58\x40", b"\x58\x41"),
)


@pytest.mark.parametrize("name, old, new", OF_THE_OFFICE)
def test_an_office_that_signs_a_changed_archive_again_is_found_out(copies, alone, capsys, name, old, new):
    path = next(copies.sealed.glob(f"{name}*"))
    path.write_bytes(changed(path.read_bytes(), old, new))
    signed_again(copies.sealed, copies.office)
    for named in both(copies.sealed, alone, capsys):
        assert any(name in one or (name.startswith("data/editions") and "data/editions" in one) for one in named), named


STRANGE = (
    ("data/editions/1/edition.json", b"{}"),
    ("data/editions/2/results-1500-100.json", b"[]"),
    ("data/editions/2/results.csv", b"a,b\n1,2\n"),
    ("data/editions-sealed/1.json", b'{"format": 1, "contests": 3}'),
    ("data/office/heads.json", b'[{"entry": 1}]'),
    ("data/office/office.toml", b"id = 3"),
    ("data/office/office.cborseq", b"\x80"),
    ("data/keys.json", b'{"office": {}}'),
    ("data/archive.json", b"[" * 100_000),
)


def test_signed_files_of_another_form_are_a_sentence_and_no_trace(kept, tmp_path, alone, capsys):
    for name, data in STRANGE:
        folder = tmp_path / "sealed"
        shutil.copytree(kept.sealed, folder)
        (folder / name).write_bytes(data)
        if name not in ("data/keys.json", "data/archive.json"):
            signed_again(folder, kept.office)
        for named in both(folder, alone, capsys):
            assert named, name
        shutil.rmtree(folder)


def test_r31_a_folder_of_far_too_many_files_is_no_archive(kept, capsys, monkeypatch):
    monkeypatch.setattr(folder_check, "MOST_FILES", 10)
    assert main(["archive", "verify", str(kept.public)]) == 2
    assert "more than 10 files" in capsys.readouterr().err


def test_packets_and_place_files_are_held_against_the_record_and_the_office(copies, alone, capsys):
    packet = next(copies.sealed.glob("data/places/W5/packet-1-*"))
    packet.rename(packet.with_name("packet-3-0123456789abcdef.cose"))
    signed_again(copies.sealed, copies.office)
    for named in both(copies.sealed, alone, capsys):
        assert named == {f"data/places/W5/{packet.name}", "data/places/W5/packet-3-0123456789abcdef.cose"}
    packet.with_name("packet-3-0123456789abcdef.cose").rename(packet)
    place = next(copies.sealed.glob("data/places/W5/place-*"))
    place.write_bytes(changed(place.read_bytes(), b"Heathfield", b"Heathfaeld"))
    signed_again(copies.sealed, copies.office)
    for named in both(copies.sealed, alone, capsys):
        assert f"data/places/W5/{place.name}" in named


def test_figures_that_do_not_follow_from_the_packets_are_found_though_all_files_agree(kept, tmp_path, alone, capsys):
    """A dishonest program at the office moves three votes into an edition, its record and every file of it."""
    shutil.copytree(kept.office, tmp_path / "office")
    made = SmallOffice.again(tmp_path)
    made.post("Three votes moved.", stolen=3)
    made.close()
    assert main(["export", str(made.folder), "--out", str(tmp_path / "sealed"), "--archive", "sealed"]) == 1
    assert "other figures for W3/election_day in GOV than its packet or count" in capsys.readouterr().out
    assert both(tmp_path / "sealed", alone, capsys) == ({"data/editions/3"}, {"data/editions/3"})


def test_ed25519_cbor_and_envelopes_of_verify_are_the_published_ones(alone, shared):
    """RFC 8032 section 7.1 (TEST 1 restated here, the rest from the shared list); RFC 8949 Appendix A; eddsa-sig-01 of the COSE working group."""
    public = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
    signature = bytes.fromhex(
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
    )
    assert alone.signed_by(public, b"", signature)
    for at in range(0, 64, 7):
        assert not alone.signed_by(public, b"", signature[:at] + bytes([signature[at] ^ 4]) + signature[at + 1 :])
    more = (int.from_bytes(signature[32:], "little") + alone.L).to_bytes(32, "little")
    assert not alone.signed_by(public, b"", signature[:32] + more), "5.1.7: S below L"
    assert not alone.signed_by(public, b"x", signature) and not alone.signed_by(public[:31], b"", signature)
    listed = json.loads(shared("standards/rfc8032-ed25519.json").read_text())
    for row in (*listed["vectors"], *listed["derived_negative"]):
        one = [bytes.fromhex(row[name]) for name in ("public_key", "message", "signature")]
        assert alone.signed_by(*one) == row["valid"], row
    for data, value in APPENDIX_A:
        assert alone.cbor(bytes.fromhex(data)) == (value, len(data) // 2), data
        assert alone.written(value) == bytes.fromhex(data)
    for wrong in ("1817", "1900ff", "9f01ff", "f90000", "a2616201616101", "62ff", "8201", "f8ff"):
        with pytest.raises(ValueError):
            alone.cbor(bytes.fromhex(wrong))
    (tag, (protected, bare, payload, signed)), end = alone.cbor(EDDSA_01)
    assert (tag, bare, end) == (18, {4: b"11"}, len(EDDSA_01))
    assert alone.holds((b"", protected, payload, signed, 0), bytes.fromhex(EDDSA_01_KEY), "")
    assert not alone.holds((b"", protected, payload, signed, 0), bytes.fromhex(EDDSA_01_KEY), "tapeseal/archive/1/live")


def test_no_secret_of_the_office_is_in_any_file(kept):
    """Private keys, pepper, certificates' keys, verifiers of slips and PINs: not as bytes, hex or base64."""
    with closing(sqlite3.connect(kept.office / "gate.db")) as db:
        secrets = [value for name, value in db.execute("SELECT name, value FROM keys") if name != "office"]
        secrets += [value for (value,) in db.execute("SELECT verifier FROM slips UNION SELECT verifier FROM pins")]
        secrets += [value for (value,) in db.execute("SELECT key FROM authorities")] if has(db, "authorities") else []
    codes = [json.loads(path.read_text())["codes"].values() for path in kept.office.parent.rglob("slips*.json")]
    secrets += [code for some in codes for code in some]
    assert len(secrets) > 8
    for kind in KINDS:
        every = b"\n".join((getattr(kept, kind) / name).read_bytes() for name in files_of(getattr(kept, kind)))
        for secret in secrets:
            data = secret if isinstance(secret, bytes) else secret.encode()
            for told in (data, data.hex().encode(), base64.b64encode(data), data.replace(b"-", b"")):
                assert told not in every, "a secret is in an archive"


def has(db, table: str) -> bool:
    return bool(db.execute("SELECT 1 FROM sqlite_schema WHERE name = ?", (table,)).fetchall())


def test_a_public_archive_has_what_was_posted_and_nothing_else_with_figures(kept):
    """Its only figures are the editions' own files; over both of them nothing of fewer than ten ballots comes back, by elimination over the rationals."""
    beside = {name for name in files_of(kept.public) if not name.startswith("data/editions/")}
    assert beside == {"bagit.txt", bag.INFO, bag.MANIFEST, bag.TAG_MANIFEST, bag.SIGNATURE} | {
        f"data/{name}" for name in ("READ-ME-FIRST.txt", "verify.py", "keys.json", "archive.json", "office/heads.json")
    }
    for number in (1, 2):
        for path in (kept.office / "editions" / str(number)).iterdir():
            assert (kept.public / f"data/editions/{number}" / path.name).read_bytes() == path.read_bytes()
    facts = json.loads((kept.public / bag.FACTS).read_bytes())
    assert facts["issued"] == {} and facts["sealed"] == sha256((kept.sealed / bag.MANIFEST).read_bytes()).hexdigest()
    heads = json.loads((kept.public / bag.HEADS).read_bytes())
    assert all(set(row) <= {"entry", "head", "words", "edition", "digest"} for row in heads)
    keys = json.loads((kept.public / bag.KEYS).read_bytes())
    assert {name for row in keys["places"] for name in row} == {
        "kid",
        "place",
        "mode",
        "public",
        "from",
        "to",
        "lost",
        "spare",
    }
    sums = published([(kept.public / f"data/editions/{n}/results.csv").read_bytes() for n in (1, 2)])
    sizes = {"W3/election_day": 40, "W5/election_day": 6, "HM4/election_day": 30, "W3/provisional": 12}
    assert len(sums) == 2 and all(given_away(vectors, sizes, 10) == [] for vectors in sums.values())
    alone_w5 = [*next(iter(sums.values())), {"W5/election_day": 1}]
    assert given_away(alone_w5, sizes, 10) == [{"W5/election_day"}], "the check can fail"


def test_the_public_archive_names_the_sealed_one_by_one_digest_only(kept):
    """Digests of small files could be tried out: the figures of six ballots have few possible contents. So none of them is handed out."""
    text = b"\n".join((kept.public / name).read_bytes() for name in files_of(kept.public))
    private = [name for name in files_of(kept.sealed) if not (kept.public / name).exists()]
    assert len(private) > 8
    for name in private:
        digest = sha256((kept.sealed / name).read_bytes())
        assert digest.hexdigest().encode() not in text and digest.digest() not in text, name


def test_what_cannot_be_archived_or_read_is_one_sentence(kept, tmp_path, capsys):
    office, out = str(kept.office), str(tmp_path / "out")
    (tmp_path / "there").mkdir()
    (tmp_path / "packed.zip").write_bytes(b"PK")
    broken = tmp_path / "broken"
    shutil.copytree(kept.sealed, broken)
    (broken / "data/keys.json").write_bytes(b"{}")
    refused = (
        (["export", office, "--out", str(tmp_path / "there"), "--archive", "sealed"], "is there already", 2),
        (["export", office, "--out", out, "--archive", "sealed", "--edition", "1"], "leave out --edition", 2),
        (
            ["export", office, "--out", out, "--archive", "sealed", "--with-sealed", out],
            "belongs to --archive public",
            2,
        ),
        (["export", office, "--out", out, "--with-sealed", out], "belongs to --archive public", 2),
        (["export", office, "--out", out, "--archive", "public", "--with-sealed", str(tmp_path)], "no archive in", 2),
        (
            ["export", office, "--out", out, "--archive", "public", "--with-sealed", str(kept.public)],
            "no sealed archive",
            2,
        ),
        (
            ["export", office, "--out", out, "--archive", "public", "--with-sealed", str(broken)],
            "is not as it was made",
            1,
        ),
        (["export", str(tmp_path), "--out", out, "--archive", "public"], "holds no office.db", 2),
        (["archive", "verify", str(tmp_path / "there")], "There is no archive in", 2),
        (["archive", "verify", str(tmp_path / "packed.zip")], "is a file: unpack it", 2),
    )
    for words, sentence, code in refused:
        assert main(words) == code, words
        said = capsys.readouterr().err.strip()
        assert sentence in said and "\n" not in said, said
        assert not Path(out).exists() and not list((tmp_path / "there").iterdir())


def test_an_edition_that_was_changed_is_never_archived(kept, tmp_path, capsys):
    folder = tmp_path / "office"
    shutil.copytree(kept.office, folder)
    path = folder / "editions/1/results.csv"
    path.write_bytes(path.read_bytes() + b"\n")
    assert main(["export", str(folder), "--out", str(tmp_path / "out"), "--archive", "public"]) == 1
    assert "results.csv is not what was posted" in capsys.readouterr().err and not (tmp_path / "out").exists()


def test_a_packet_that_the_office_lost_is_named_and_the_rest_is_archived(kept, tmp_path, alone, capsys):
    folder = tmp_path / "office"
    shutil.copytree(kept.office, folder)
    gone, altered = sorted(folder.glob("in/*.cose"))[:2]
    gone.unlink()
    altered.write_bytes(altered.read_bytes()[:-1] + b"x")
    assert main(["export", str(folder), "--out", str(tmp_path / "out"), "--archive", "sealed"]) == 1
    said = capsys.readouterr().out
    assert f"{gone.stem[:16]}.cose is not there, and the office's record names it" in said
    for named in both(tmp_path / "out", alone, capsys):
        assert {name.rpartition("-")[2] for name in named} >= {f"{one.stem[:16]}.cose" for one in (gone, altered)}


def test_records_of_a_federal_election_are_kept_twenty_two_months():
    assert bag.keep_until(date(2026, 11, 3)) == date(2028, 9, 3)
    assert bag.keep_until(date(2024, 4, 30)) == date(2026, 2, 28)
    assert bag.keep_until(date(2023, 12, 31)) == date(2025, 10, 31)


def test_a_stored_archive_is_read_for_good(tmp_path, alone, real_words, capsys):
    """A sealed archive as this format first had it, read by both checkers of today and by the one that lies in it."""
    unpacked(STORED, tmp_path)
    folder = tmp_path / "sealed"
    assert sha256((folder / bag.MANIFEST).read_bytes()).hexdigest() == MANIFEST
    assert both(folder, alone, capsys) == (set(), set())
    found = subprocess.run(
        [sys.executable, "-I", str(folder / "data/verify.py")], capture_output=True, text=True, timeout=60
    )
    assert found.returncode == 0, found.stdout


MANIFEST = "713b7bfd2af88aaf223ec783506cc27d7bfa4adfd091ad7d64af1ef1f962b8b2"
