"""The keys in `gate.db`: a place's own, the office's, and at the office those of every place it enrolled.

A folder's `gate.db` is made here, once, and never replaced. Each function takes the file or its folder. Private keys
and the pepper leave this module only to the room that signs; they are never logged or shown.
"""

import os
import secrets
import sqlite3
from collections.abc import Callable, Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp.gate import slip_code, verifier
from webapp.gate.database import GateDatabase, image_of, prepare
from webapp.gate.refusals import GateDiskRefused, GateRefused, of_the_disk
from webapp.packet.cose import key_id
from webapp.precinct.place.place import Place

FILE = "gate.db"
EARLIER = "office-earlier"  # at a desk apart of such an office: that key of its office, beside the one in BEFORE
BEFORE = "office-before"  # at an office that lost its key: the public key with which it signed until then
SCHEMA = Path(__file__).with_name("schema_keys.sql")


@dataclass(frozen=True, slots=True)
class Enrolment:
    """A place's public key as the office holds it: in force from `from_ms` (ms UTC) to `to_ms`, None while it is."""

    kid: bytes
    place: str
    mode: str  # live | practice
    public: bytes  # 32 bytes
    from_ms: int
    to_ms: int | None
    replaced_by: bytes | None
    lost_at: int | None


@dataclass(frozen=True, slots=True)
class FolderIdentity:
    """Whose gate this is: `what` = place | office; `mode` is None for an office."""

    what: str
    id: str
    mode: str | None


def create_office(folder: Path, office: str, people: Iterable[str] = ()) -> dict[str, str]:
    """Makes the office's key and pepper, and a slip for each who signs at its desk. Returns {person: code}; the codes are given out this once."""
    return _create(folder, FolderIdentity("office", office, None), Ed25519PrivateKey.generate(), None, people)


def create_place(folder: Path, place: Place, office: Ed25519PublicKey) -> dict[str, str]:
    """Makes the key, pepper and slips of a place, with its office's public key. Returns {person: code}; the codes are given out this once."""
    return _create(
        folder,
        FolderIdentity("place", place.id, place.mode),
        Ed25519PrivateKey.generate(),
        office,
        [o.id for o in place.officials],
    )


def create_practice(folder: Path, place: Place) -> dict[str, str]:
    """A place of its own for practice, known to no office: key, pepper and slips; `{person: code}`."""
    if place.mode != "practice":
        raise GateRefused(f"{place.name} is live: its folder comes from the office, by `tapeseal enrol`.")
    return _create(
        folder,
        FolderIdentity("place", place.id, "practice"),
        Ed25519PrivateKey.generate(),
        None,
        [o.id for o in place.officials],
    )


def add_slips(path: Path, people: Iterable[str]) -> dict[str, str]:
    """Makes slips for those of these people who have none yet. Returns {person: code}; the codes are given out this once."""
    spice, known = pepper(path), {row[0] for row in rows(path, "SELECT person FROM slips")}
    codes = {person: slip_code.mint_slip() for person in people if person not in known}
    if codes:
        with closing(_drawer(path)) as drawer, drawer.change() as db:
            db.executemany(
                "INSERT INTO slips VALUES (?, ?, NULL)",
                [(person, _verifier(spice, code)) for person, code in codes.items()],
            )
    return codes


def whose(path: Path) -> FolderIdentity:
    """The identity of the gate: what it is (place or office), its id and its mode."""
    return FolderIdentity(*_row(path, "SELECT what, id, mode FROM folder"))


def place_key(path: Path) -> Ed25519PrivateKey:
    """The place's own key, which signs its packets."""
    return _own(path, "place")


def office_key(path: Path) -> Ed25519PrivateKey:
    """The office's own key, which signs place files."""
    return _own(path, "office")


def office_public(path: Path) -> Ed25519PublicKey | None:
    """The key that must have signed the place file of this folder; None where a place practises on its own."""
    if whose(path).what == "office":
        return office_key(path).public_key()
    found = rows(path, "SELECT value FROM keys WHERE name = 'office'")
    return Ed25519PublicKey.from_public_bytes(found[0][0]) if found else None


def pepper(path: Path) -> bytes:
    """The 32 bytes without which no verifier of this folder can be tried."""
    return _row(path, "SELECT value FROM keys WHERE name = 'pepper'")[0]


def enrol(
    office: Path,
    place: Place,
    public: Ed25519PublicKey,
    now: int,
    replace: bool = False,
    lost: bool = False,
    also: Callable[[sqlite3.Connection], None] = lambda db: None,
) -> bytes:
    """Puts a place's public key into force from `now` (ms UTC), and `also` what goes with it, both or neither; returns its name (kid).

    Raises GateRefused where one is in force already, unless it is replaced.
    """
    kid = key_id(public)
    with closing(_drawer(office)) as drawer, drawer.change() as db:
        old = db.execute(
            "SELECT kid FROM enrolled WHERE place = ? AND mode = ? AND to_ms IS NULL", (place.id, place.mode)
        ).fetchone()
        if old and not replace:
            raise GateRefused(enrolled_already(place, old[0]))
        if old:
            db.execute(
                "UPDATE enrolled SET to_ms = ?, replaced_by = ?, lost_at = ? WHERE kid = ?",
                (now, kid, now if lost else None, old[0]),
            )
        db.execute(
            "INSERT INTO enrolled VALUES (?, ?, ?, ?, ?, NULL, NULL, NULL)",
            (kid, place.id, place.mode, public.public_bytes_raw(), now),
        )
        also(db)
    return kid


def held(path: Path, name: str) -> bytes | None:
    """The bytes in the gate file `path` under this name; None if there are none."""
    return dict(rows(path, "SELECT name, value FROM keys")).get(name)


def add(path: Path, values: Mapping[str, bytes]) -> None:
    """Adds values to the gate of a folder that is being made, under names that are not there yet."""
    with closing(_drawer(path)) as drawer, drawer.change() as db:
        db.executemany("INSERT INTO keys VALUES (?, ?)", list(values.items()))


def settle(path: Path) -> None:
    """Moves what is in the database's log into its one file, so that the folder can be copied."""
    _drawer(path).close()


def enrolled_already(place: Place, kid: bytes) -> str:
    """Why a place is not enrolled twice, and what to do."""
    return (
        f"{place.name} ({place.id}) was enrolled for {place.mode} already, with key {kid.hex()}: use the folder made then. "
        "If its laptop is lost or it starts over, say --replace, and --lost if the key may be in other hands."
    )


def enrolments(office: Path) -> tuple[Enrolment, ...]:
    """Every key the office ever enrolled, oldest first."""
    return tuple(Enrolment(*row) for row in rows(office, "SELECT * FROM enrolled ORDER BY from_ms, kid"))


def enrolled(office: Path) -> dict[bytes, Ed25519PublicKey]:
    """Every key the office ever enrolled, by name: a replaced key still proves what was signed with it; `enrolments` says until when."""
    return {row.kid: Ed25519PublicKey.from_public_bytes(row.public) for row in enrolments(office)}


def _create(
    folder: Path,
    whose_gate: FolderIdentity,
    own: Ed25519PrivateKey,
    office: Ed25519PublicKey | None,
    people: Iterable[str],
) -> dict[str, str]:
    spice, codes = secrets.token_bytes(32), {person: slip_code.mint_slip() for person in people}
    rows = {"own": own.private_bytes_raw(), "pepper": spice} | ({"office": office.public_bytes_raw()} if office else {})
    make(folder, whose_gate, rows, {person: _verifier(spice, code) for person, code in codes.items()})
    return codes


def make(folder: Path, whose_gate: FolderIdentity, rows: Mapping[str, bytes], verifiers: Mapping[str, str]) -> None:
    """Make the `gate.db` of a folder from its keys by name and the verifier of each person's slip. `GateRefused` where one is there."""
    path = Path(folder) / FILE
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        raise GateRefused(
            f"{path.parent.name} holds a {FILE} already, and keys are never made over: choose an empty folder."
        ) from None
    except OSError as wrong:
        raise GateRefused(
            f"{path} cannot be made ({wrong.strerror}): choose a folder that exists and may be written."
        ) from None
    try:
        _fill(path, whose_gate, rows, verifiers)
    except BaseException:
        for left in path.parent.glob(f"{FILE}*"):
            left.unlink()
        raise


def _fill(path: Path, whose_gate: FolderIdentity, rows: Mapping[str, bytes], slips: Mapping[str, str]) -> None:
    prepare(path)
    with closing(GateDatabase(path)) as drawer, drawer.change() as db:
        for statement in SCHEMA.read_text(encoding="utf-8").split(";\n"):
            db.execute(statement)
        db.executemany("INSERT INTO keys VALUES (?, ?)", list(rows.items()))
        db.execute("INSERT INTO folder VALUES (1, ?, ?, ?)", (whose_gate.what, whose_gate.id, whose_gate.mode))
        db.executemany("INSERT INTO slips VALUES (?, ?, NULL)", list(slips.items()))


def _verifier(spice: bytes, code: str) -> str:
    return verifier.make(spice, code.replace("-", ""))


def _own(path: Path, what: str) -> Ed25519PrivateKey:
    found = whose(path)
    if found.what != what:
        raise GateRefused(
            f"{file_of(path).parent.name} is the folder of the {found.what} {found.id}, not of {'an office' if what == 'office' else 'a place'}: choose another."
        )
    return Ed25519PrivateKey.from_private_bytes(_row(path, "SELECT value FROM keys WHERE name = 'own'")[0])


def file_of(path: Path) -> Path:
    """The `gate.db` of a folder, or the file itself."""
    path = Path(path)
    return path / FILE if path.is_dir() else path


def _drawer(path: Path) -> GateDatabase:
    return GateDatabase(file_of(path))


def _row(path: Path, sql: str) -> tuple[Any, ...]:
    found = rows(path, sql)
    if not found:
        raise GateRefused(f"{file_of(path)} holds no keys: enrol the place at the office, which makes them.")
    return found[0]


def rows(path: Path, sql: str) -> list[tuple[Any, ...]]:
    """For this room: the rows of a query; nothing is changed. Raises GateRefused where there is no gate, or it cannot be read.

    The file is opened for writing all the same, as only such a connection tidies its log away when it closes.
    """
    file = file_of(path)
    if not file.is_file():
        raise GateRefused(
            f"{file.name} is not in the folder {file.parent.name}: enrol the place at the office, which makes it."
        )
    try:
        return _looked(sqlite3.connect(f"{file.resolve().as_uri()}?mode=rw", uri=True, timeout=5), sql)
    except sqlite3.Error as wrong:
        refused = of_the_disk(wrong, file)
    if not isinstance(refused, GateDiskRefused):
        raise refused
    return _looked(image_of(file, refused), sql)


def _looked(db: sqlite3.Connection, sql: str) -> list[tuple[Any, ...]]:
    try:
        db.execute("PRAGMA query_only = ON")
        return db.execute(sql).fetchall()
    finally:
        db.close()
