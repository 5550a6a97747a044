"""Checks an archive of an election office, alone: python3 verify.py [FOLDER]. One file, Python 3.11 or later, nothing to install.

FOLDER is the archive (the folder with bagit.txt); without it, the one that holds this file. Exit 0: all that was
checked agrees; 1: something does not, and is named; 2: nothing to read, or the lines were cut off before their end.
Written from the standards' text: BagIt (RFC 8493), CBOR (RFC 8949), COSE (RFC 9052), Ed25519 (RFC 8032). Nothing here
comes from the program that wrote the archive.
"""

import csv
import hashlib
import json
import os
import re
import stat
import sys
import zlib
from collections import defaultdict
from pathlib import Path
from typing import Any

try:
    import tomllib
except ImportError:
    print(
        f"This needs Python 3.11 or later, and this is {sys.version.split()[0]}: install a newer one.", file=sys.stderr
    )
    sys.exit(2)

BAGIT = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
MANIFEST, TAGS, SIGNATURE, INFO = "manifest-sha256.txt", "tagmanifest-sha256.txt", "archive.cose", "bag-info.txt"
LINE = re.compile(r"([0-9a-f]{64})  (\S+)")
APART = "contests_by_precinct"  # rows of a return, or of one tape of it, by precinct
TAIL = ("write_in", "under", "over", "ballots")  # lines of a contest behind its choices
KINDS = {"writein": "write_in", "undervote": "under", "overvote": "over"}
OF_DESKS = frozenset(
    """packet-received desk-finding finding-withdrawn place-counts packet-set-aside place-keyed envelopes-decided count-in pool
wait-waived recount-ordered recount-opened recounted""".split()
)  # kinds that desks in other buildings may keep and that bear on figures
Point = tuple[int, int, int, int]
Envelope = tuple[bytes, bytes, bytes, bytes, int]  # kid, protected header, payload, signature, where it ends
Entry = tuple[int, str, dict[str, Any], int, bytes, set[str]]  # number, kind, body, kept (ms UTC), id, signers' parties
PlaceFile = tuple[str, dict[str, Any], bool]  # place, contests by id, whether it is a count board
Packet = tuple[bytes, dict[str, Any]]  # kid, core
Finding = tuple[int, bytes, dict[str, Any]]  # kept (ms UTC), id, body
Row = list[int | None]  # votes of a contest: its choices, then TAIL
Votes = dict[str, int]  # votes by line: a choice's id, or one of TAIL
Labels = dict[tuple[str, str], set[str]]  # (contest, choice): its labels
UNREADABLE = (KeyError, TypeError, ValueError, AttributeError, IndexError, RecursionError, zlib.error)


class Report:
    """What agrees, what does not, what was not checked: printed as it is found."""

    def __init__(self) -> None:
        self.named: list[str] = []

    def agrees(self, words: str) -> None:
        """Prints one line about something that was checked and agrees."""
        print(f"agrees:         {words}")

    def differs(self, name: str, words: str) -> None:
        """`name`: the file, or what of it, that is wrong."""
        self.named.append(name)
        print(f"DOES NOT AGREE: {name} {words}")

    def unchecked(self, words: str) -> None:
        """Prints one line about something that this checker does not check."""
        print(f"not checked:    {words}")


# --- Ed25519, RFC 8032 section 5.1. A point is (X, Y, Z, T) with x = X/Z, y = Y/Z, x*y = T/Z.

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P
ZERO = (0, 1, 1, 0)


def plus(a: Point, b: Point) -> Point:
    """Both points added, 5.1.4."""
    e, f = (a[1] - a[0]) * (b[1] - b[0]) % P, (a[1] + a[0]) * (b[1] + b[0]) % P
    c, d = 2 * D * a[3] * b[3] % P, 2 * a[2] * b[2] % P
    e, h, f, g = f - e, f + e, d - c, d + c
    return e * f % P, g * h % P, f * g % P, e * h % P


def twice(a: Point) -> Point:
    """The point doubled, 5.1.4."""
    x, y, z = a[0] * a[0] % P, a[1] * a[1] % P, 2 * a[2] * a[2] % P
    h = x + y
    e, g = h - (a[0] + a[1]) * (a[0] + a[1]) % P, x - y
    f = z + g
    return e * f % P, g * h % P, f * g % P, e * h % P


def point(data: bytes) -> Point | None:
    """The point in 32 bytes, 5.1.3; None where there is none."""
    y = int.from_bytes(data, "little")
    sign, y = y >> 255, y & (2**255 - 1)
    if y >= P:
        return None
    u, v = (y * y - 1) % P, (D * y * y + 1) % P
    x = u * pow(v, 3, P) * pow(u * pow(v, 7, P), (P - 5) // 8, P) % P
    if (v * x * x - u) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    if (v * x * x - u) % P or (x == 0 and sign):
        return None
    x = P - x if x & 1 != sign else x
    return x, y, 1, x * y % P


def multiples(a: Point) -> list[Point]:
    """The point 0 to 15 times."""
    found = [ZERO]
    for _ in range(15):
        found.append(plus(found[-1], a))
    return found


BASE = multiples(point((4 * pow(5, -1, P) % P).to_bytes(32, "little")) or ZERO)


def signed_by(public: bytes, message: bytes, signature: bytes) -> bool:
    """Whether this key signed this message, 5.1.7: S*B - k*A must be R."""
    a, s = point(public) if len(public) == 32 else None, int.from_bytes(signature[32:], "little")
    if a is None or len(signature) != 64 or s >= L:
        return False
    k = int.from_bytes(hashlib.sha512(signature[:32] + public + message).digest(), "little") % L
    less, found = multiples((P - a[0], a[1], 1, P - a[3])), ZERO
    for shift in range(252, -1, -4):
        found = twice(twice(twice(twice(found))))
        found = plus(plus(found, BASE[s >> shift & 15]), less[k >> shift & 15])
    x, y = (found[i] * pow(found[2], -1, P) % P for i in (0, 1))
    return (y | (x & 1) << 255).to_bytes(32, "little") == signature[:32]


# --- CBOR, RFC 8949, in its one deterministic form (4.2.1), and COSE_Sign1, RFC 9052 section 4


def cbor(data: bytes, at: int = 0, depth: int = 0) -> tuple[Any, int]:
    """(value, where it ends). Raises ValueError where it is no deterministic CBOR without floats."""
    if depth > 20 or at >= len(data):
        raise ValueError("cut off, or too deep")
    kind, low = data[at] >> 5, data[at] & 31
    size = 0 if low < 24 else 1 << low - 24 if low < 28 else None
    if size is None or (kind == 7 and (size or low not in (20, 21, 22))):
        raise ValueError("not one of the forms that are used here")
    n, at = int.from_bytes(data[at + 1 : at + 1 + size], "big") if size else low, at + 1 + size
    if size and n < (24 if size == 1 else 1 << 4 * size):
        raise ValueError("a number is longer than it need be")
    if kind in (2, 3):
        if at + n > len(data):
            raise ValueError("cut off")
        return (data[at : at + n] if kind == 2 else data[at : at + n].decode()), at + n
    if kind in (0, 1, 7):
        return (n, -1 - n, {20: False, 21: True, 22: None}.get(n))[min(kind, 2)], at
    if kind == 6:
        value, at = cbor(data, at, depth + 1)
        return (n, value), at
    found, before = [], b""
    for i in range(n if kind == 4 else 2 * n):
        began = at
        value, at = cbor(data, at, depth + 1)
        if kind == 5 and i % 2 == 0:
            if data[began:at] <= before and before and len(data[began:at]) <= len(before):
                raise ValueError("keys out of order")
            before = data[began:at]
        found.append(value)
    return (found if kind == 4 else dict(zip(found[::2], found[1::2], strict=True))), at


def head(kind: int, n: int) -> bytes:
    """The head of a CBOR item: its major type and its number in the shortest form."""
    if n < 24:
        return bytes([kind << 5 | n])
    size = next(i for i in range(4) if n < 1 << (8 << i))
    return bytes([kind << 5 | 24 + size]) + n.to_bytes(1 << size, "big")


def byte_string(data: bytes) -> bytes:
    """These bytes as a CBOR byte string."""
    return head(2, len(data)) + data


def envelope(data: bytes, at: int = 0) -> Envelope:
    """(kid, protected header, payload, signature, where it ends) of a COSE_Sign1, tag 18."""
    (tag, (protected, bare, payload, signature)), end = cbor(data, at)
    header, _ = cbor(protected)
    if tag != 18 or bare != {} or sorted(header) != [1, 4] or header[1] != -8:
        raise ValueError("no envelope as it is used here")
    return header[4], protected, payload, signature, end


def holds(parts: Envelope, public: bytes, context: str) -> bool:
    """Whether the envelope is signed with this key for this use: the Sig_structure of RFC 9052, 4.4."""
    _, protected, payload, signature, _ = parts
    told = b"\x84\x6aSignature1" + byte_string(protected) + byte_string(context.encode()) + byte_string(payload)
    return signed_by(public, told, signature)


# --- the folder: BagIt, RFC 8493


def digest_of(path: Path) -> str:
    """SHA-256 of a file, in hex."""
    found = hashlib.sha256()
    with open(path, "rb") as file:
        while piece := file.read(1 << 20):
            found.update(piece)
    return found.hexdigest()


def files_in(folder: Path, report: Report) -> dict[str, int]:
    """{path in the folder: size} of every plain file."""
    found = {}
    for where, folders, names in os.walk(folder):
        for name in (*names, *(one for one in folders if os.path.islink(os.path.join(where, one)))):
            path = Path(where, name)
            seen = path.lstat()
            told = path.relative_to(folder).as_posix()
            if stat.S_ISREG(seen.st_mode):
                found[told] = seen.st_size
            else:
                report.differs(told, "is no plain file")
        if len(found) > 200_000:
            sys.exit("More than 200,000 files: no archive has so many. Give the archive's own folder.")
    return found


def listed(data: bytes, report: Report, name: str) -> dict[str, str]:
    """{path: digest} of a manifest."""
    found = {}
    for row in data.decode("utf-8", "replace").split("\n"):
        match = LINE.fullmatch(row)
        if match and ".." not in match[2].split("/"):
            found[match[2]] = match[1]
        elif row:
            report.differs(name, f"has a line that is none: {row[:80]!r}")
    return found


def manifest_of(digests: dict[str, str]) -> bytes:
    """A manifest as the program writes it: digest, two spaces, path; by path."""
    return "".join(f"{digests[path]}  {path}\n" for path in sorted(digests)).encode()


def check_bytes(folder: Path, report: Report) -> tuple[dict[str, Any], dict[str, Any]] | None:
    """Every file against the manifest, the manifest against the office's signature.

    Returns (facts of the archive, its keys); None where they cannot be read.
    """
    there = files_in(folder, report)
    promised = listed((folder / MANIFEST).read_bytes() if MANIFEST in there else b"", report, MANIFEST)
    payload = {name for name in there if name.startswith("data/")}
    for name in sorted(set(promised) | payload):
        if name not in payload:
            report.differs(name, "is not there, and the manifest lists it")
        elif name not in promised:
            report.differs(name, "was added: the manifest does not list it")
        elif digest_of(folder / name) != promised[name]:
            report.differs(name, "is not the file that was archived")
    about = read_json(folder, "data/archive.json", report)
    keys = read_json(folder, "data/keys.json", report)
    try:
        check_signature(folder, about["mode"], bytes.fromhex(keys["office"]["public"]), report)
        size = None if report.named else sum(there[name] for name in payload)
        check_tags(folder, there, about, size, len(payload), report)
    except UNREADABLE:
        report.differs("data/archive.json", "or data/keys.json does not say what it should: nothing more is checked")
        return None
    if not report.named:
        report.agrees(
            f"{len(payload)} files, each as signed with the office's key in data/keys.json (compare that key)"
        )
    print(f"compare:        the office's public key: {keys['office']['public']}")
    return about, keys


def check_signature(folder: Path, mode: str, office: bytes, report: Report) -> None:
    """The manifest against archive.cose, and that against the office's public key. mode: live or practice."""
    try:
        data = (folder / SIGNATURE).read_bytes()
        parts = envelope(data)
        right = parts[4] == len(data) and holds(parts, office, f"tapeseal/archive/1/{mode}")
    except (OSError, *UNREADABLE):
        right = False
    if not right:
        report.differs(SIGNATURE, "is not there, or is not signed with the office's key in data/keys.json")
    elif not (folder / MANIFEST).is_file() or bytes.fromhex(digest_of(folder / MANIFEST)) != parts[2]:
        report.differs(MANIFEST, "is not the one that the office signed")


def check_tags(
    folder: Path, there: dict[str, int], about: dict[str, Any], size: int | None, files: int, report: Report
) -> None:
    """The files outside data/: each can have one content only.

    size: bytes of all files in data/; None where that is not whole, so that the sum says nothing. files: how many
    there are.
    """
    outside = {name: (folder / name).read_bytes() for name in there if not name.startswith("data/")}
    said = re.search(rb"^Payload-Oxum: (.*)$", outside.get(INFO, b""), re.MULTILINE)
    total = f"{size}.{files}" if size is not None else said[1].decode("utf-8", "replace") if said else ""
    told = (
        f"Source-Organization: {' '.join(about['name'].split())}\nBagging-Date: {about['made'][:10]}\n"
        f"Bag-Software-Agent: Tape & Seal {about['version']}\nExternal-Identifier: {about['identifier']}\n"
        f"Edition: {(about['editions'] or [0])[-1]}\nKind: {about['kind']}\nKeep-Until: {about['keep_until']}\nPayload-Oxum: {total}\n"
    )
    for one, data in (("bagit.txt", BAGIT), (INFO, told.encode())):
        if outside.get(one) != data:
            report.differs(one, "is not what the archive's own facts give")
    for one in sorted(set(outside) - {"bagit.txt", INFO, MANIFEST, TAGS, SIGNATURE}):
        report.differs(one, "was added: no archive has it")
    stated = listed(outside.get(TAGS, b""), report, TAGS)
    wanted = {one: hashlib.sha256(data).hexdigest() for one, data in outside.items() if one != TAGS}
    told_already = {
        one: digest for one, digest in stated.items() if one in report.named
    }  # a file that is named anyway is not named twice
    if outside.get(TAGS) != manifest_of({n: d for n, d in wanted.items() if n not in report.named} | told_already):
        report.differs(TAGS, "is not what the files beside data/ give")


def read_json(folder: Path, name: str, report: Report) -> Any:
    """What a JSON file of the archive holds; None where it cannot be read."""
    try:
        return json.loads((folder / name).read_bytes())
    except (OSError, ValueError, RecursionError):
        report.differs(name, "cannot be read")
        return None


# --- the office's record: each head covers its entry and every entry before it


def check_record(folder: Path, report: Report) -> tuple[list[Entry], dict[int, bytes]]:
    """[(number, kind, body, kept, id, parties)] of the office's record, its chain computed again, and {number: head}."""
    name = "data/office/office.cborseq"
    data = (folder / name).read_bytes()
    entries, heads, at, number, run = [], {}, 0, 0, 1
    try:
        header, at = cbor(data)
        if header[8].hex() != digest_of(folder / "data/office/office.toml"):
            report.differs("data/office/office.toml", "is not the one that the record's file was made with")
        record, now = header[1], hashlib.sha256(b"tapeseal/head/1\0" + header[1]).digest()
        while at < len(data):
            (said, raw, words), at = cbor(data, at)
            item, end = cbor(raw)
            follows = item[3] == number + 1 and item[2] == run
            if item[5] == "restored" and item[2] == run + 1:
                told = item[6].get("first", item[3]), item[6].get("last", number), item[6].get("head", now)
                follows, run = told == (item[3], number, now) and item[3] > number, item[2]
            number = item[3]
            leaf = hashlib.sha256(b"\0" + raw).digest()
            now = hashlib.sha256(b"tapeseal/head/1\0" + now + number.to_bytes(8, "big") + leaf).digest()
            digests = item[6].get("words", {})
            right = all(hashlib.sha256(salt + text.encode()).digest() == digests[which] for which, salt, text in words)
            if not (follows and now == said and item[0] == 1 and item[1] == record and end == len(raw) and right):
                raise ValueError
            heads[number] = now
            entries.append((number, item[5], item[6], item[9], item[4], {signer[2] for signer in item[14]}))
    except UNREADABLE:
        report.differs(name, f"does not go on after entry {number}")
        return entries, heads
    report.agrees(f"{name}: {len(entries)} entries, each continues the one before")
    return brought(entries, report), heads


def brought(entries: list[Entry], report: Report) -> list[Entry]:
    """Entries that came from desks in other buildings: each is whole in one of the office's, and continues its desk's own record.

    They keep their kind, body, time, id and signers, and take the number of the entry that brought them.
    """
    name, found, bad = "data/office/office.cborseq", [], len(report.named)
    desks: dict[str, list[Any]] = {}  # desk -> its head so far, the head it was merged with
    for entry in entries:
        number, kind, body, *_ = entry
        if kind == "merged":
            desk = desks.setdefault(
                body["desk"], [hashlib.sha256(b"tapeseal/head/1\0" + body["record"]).digest(), None]
            )
            if desk[0] != body["before"] or desk[1] not in (None, desk[0]):
                report.differs(name, f"does not continue desk {body['desk']} in entry {number}")
            desk[1] = body["head"]
        if kind == "brought":
            item, _ = cbor(body["entry"])
            leaf, desk = hashlib.sha256(b"\0" + body["entry"]).digest(), desks[body["desk"]]
            desk[0] = hashlib.sha256(b"tapeseal/head/1\0" + desk[0] + item[3].to_bytes(8, "big") + leaf).digest()
            if item[5] in OF_DESKS:
                entry = number, item[5], item[6], item[9], item[4], {signer[2] for signer in item[14]}
        found.append(entry)
    for which, (head, wanted) in desks.items():
        if head != wanted:
            report.differs(name, f"does not hold the record of desk {which} as it was merged")
    if desks and len(report.named) == bad:
        report.agrees(f"{len(desks)} desks in other buildings, the entries of each continue the one before")
    return found


def check_words(head: bytes) -> str:
    """The words that people copy by hand of a 32-byte head; "" without the library argon2-cffi."""
    try:
        from argon2.low_level import Type, hash_secret_raw
    except ImportError:
        return ""
    raw = hash_secret_raw(head, b"tapeseal mark 1", 3, 131072, 1, 32, Type.ID, 19)
    n, letters = int.from_bytes(raw[:7], "big") >> 1, "0123456789ABCDEFGHJKMNPQRSTVWXYZ*~$=U"
    words = "".join(letters[n >> shift & 31] for shift in range(50, -1, -5)) + letters[n % 37]
    return f"{words[:4]}-{words[4:8]}-{words[8:]}"


def check_heads(folder: Path, heads: dict[int, bytes] | None, report: Report) -> None:
    """The heads that the office wrote down, against its record where that is here; and the check words to compare with paper."""
    name, unsure, right = "data/office/heads.json", False, 0
    for row in read_json(folder, name, report) or ():
        if heads is not None and heads.get(row["entry"], b"").hex() != row["head"]:
            report.differs(name, f"has another head after entry {row['entry']} than the record")
        words = check_words(bytes.fromhex(row["head"]))
        unsure = unsure or not words
        if words not in ("", row["words"]):
            report.differs(name, f"has other check words after entry {row['entry']} than its head gives")
        right += words == row["words"]
        what = f"edition {row['edition']}" if "edition" in row else "the newest entry"
        print(f"compare:        check words of {what}, after entry {row['entry']}: {row['words']}")
    if unsure:
        report.unchecked("that these check words belong to the record: that needs the library argon2-cffi")
    elif right:
        report.agrees(f"{right} check words, each belongs to the record up to its entry")


# --- place files and packets


def check_places(folder: Path, keys: dict[str, Any], report: Report) -> dict[bytes, PlaceFile]:
    """{digest: (place id, contests, whether it is a count board)} of every place file."""
    office = [bytes.fromhex(keys["office"][name]) for name in ("public", "before") if keys["office"].get(name)]
    found, before = {}, len(report.named)
    for path in sorted((folder / "data/places").glob("*/place-*.cose")):
        name = path.relative_to(folder).as_posix()
        try:
            parts = envelope(path.read_bytes())
            toml = tomllib.loads(parts[2].decode())
            if not any(holds(parts, key, f"tapeseal/place/1/{toml['mode']}") for key in office):
                report.differs(name, "is not signed by the office")
            digest = hashlib.sha256(parts[2]).digest()
            contests = {one["id"]: one for one in toml.get("contests", ())}
            found[digest] = toml["place"]["id"], contests, toml.get("kind") == "board"
        except UNREADABLE:
            report.differs(name, "cannot be read")
    if len(report.named) == before:
        report.agrees(f"{len(found)} place files signed by the office")
    return found


def check_packets(folder: Path, keys: dict[str, Any], entries: list[Entry], report: Report) -> dict[bytes, Packet]:
    """{digest: (kid, core)} of every packet that the record names, its signatures checked."""
    known = {bytes.fromhex(row["kid"]): row for row in keys["places"]}
    named = {
        (body["place"], body["number"], body["digest"]) for _, kind, body, *_ in entries if kind == "packet-received"
    }
    files = {f"data/places/{place}/packet-{number}-{digest.hex()[:16]}.cose": digest for place, number, digest in named}
    found, strange, before = {}, 0, len(report.named)
    for path in sorted((folder / "data/places").glob("*/packet-*.cose")):
        name = path.relative_to(folder).as_posix()
        try:
            data = path.read_bytes()
            first = envelope(data)
            second = envelope(data, first[4])
            digest, core = hashlib.sha256(data[: first[4]]).digest(), cbor(zlib.decompress(first[2]))[0]
            if files.pop(name, None) != digest:
                report.differs(name, "is not a packet that the office's record names")
                continue
            key = known.get(first[0])
            contexts = [f"tapeseal/packet/1/{core['mode']}/{part}" for part in (0, 1)]
            if key is None:
                strange += 1
            elif not all(
                holds(one, bytes.fromhex(key["public"]), use)
                for one, use in zip((first, second), contexts, strict=True)
            ):
                report.differs(name, "does not hold its signature")
            if (
                second[4] != len(data)
                or core["remarks_digest"] != hashlib.sha256(second[2]).digest()
                or core["place"] != path.parent.name
            ):
                report.differs(name, "does not hold together")
            found[digest] = first[0], core
        except UNREADABLE:
            report.differs(name, "cannot be read")
    for name in sorted(files):
        report.differs(name, "is not there, and the office's record names it")
    if len(report.named) == before:
        report.agrees(f"{len(found) - strange} packets, each signed with a key that the office enrolled")
    if strange:
        report.unchecked(f"the signatures of {strange} packets: their keys were never enrolled, so they prove nothing")
    return found


# --- what counts at a moment, worked out again from packets and entries


class Office:
    """Everything that was kept up to one entry of the record, and which of it counts."""

    def __init__(
        self,
        about: dict[str, Any],
        files: dict[bytes, PlaceFile],
        packets: dict[bytes, Packet],
        keys: dict[str, Any],
        entries: list[Entry],
    ) -> None:
        self.files, self.packets = files, packets
        self.keys = {bytes.fromhex(row["kid"]): row for row in keys["places"]}
        entries = sorted(
            entries, key=lambda one: (one[3], one[4])
        )  # by time and id: what counts knows no order of arrival
        self.entries, self.now = entries, max((one[3] for one in entries), default=0)
        self.newest = {place: bytes.fromhex(digests[-1]) for place, digests in about["issued"].items()}
        self.counts, self.recounts = {}, {}  # id -> body of every count, every recount, signed by two parties
        self.of_place: dict[str, dict[str, list[Finding]]] = defaultdict(lambda: defaultdict(list))
        self.pools: dict[str, list[str]] = {}
        for _, kind, body, kept, id, parties in entries:
            two = len(parties) > 1 and not body.get("short")
            if kind == "count-in" and two:
                self.counts[id] = body
            elif kind == "recounted" and two:
                self.recounts[id] = body
            elif kind == "pool" and two:
                self.pools.setdefault(body["id"], body["places"])
            elif kind in ("packet-received", "desk-finding") or (
                two and kind in ("place-counts", "packet-set-aside", "place-keyed", "finding-withdrawn")
            ):
                self.of_place[body["place"]][kind].append((kept, id, body))

    def proven(self, digest: bytes, place: str) -> bool:
        """Whether a packet's key was enrolled for its place, in force when it was made, and not lost by now."""
        kid, core = self.packets[digest]
        row = self.keys.get(kid)
        if row is None:
            return False
        lost = row["lost"] is not None and row["lost"] <= self.now
        return row["place"] == place and not lost and (row["to"] is None or core["made"] <= row["to"])

    def returns(self, place: str) -> list[dict[str, Any]]:
        """Cores that may count for a place: one, or none; two where a paper counts and a packet says the same as it."""
        kept = self.of_place[place]
        aside = {}
        for _, _, body in sorted(kept["packet-set-aside"], key=lambda one: one[:2]):
            aside[body["digest"]] = body["aside"]
        there = {body["digest"] for _, _, body in kept["packet-received"]} & set(self.packets)
        there = {one for one in there if not aside.get(one)}
        good = {one for one in there if self.proven(one, place)}
        papers = {id: (core_digest(body["core"]), body) for _, id, body in kept["place-keyed"]}
        papers = {id: one for id, one in papers.items() if not aside.get(one[0])}
        replaced = {old for _, body in papers.values() for old in body.get("amends") or ()}
        leaves = [one for id, one in sorted(papers.items()) if id not in replaced]
        tips = good - {self.packets[one][1]["amends"] for one in good}
        named = [
            (when, id, body["digest"])
            for when, id, body in kept["place-counts"]
            if body["digest"] in {one for one, _ in papers.values()} | good
            or (body["digest"] in there and body.get("tape"))
        ]
        if named and max(named)[2] in there:
            line = grown = {max(named)[2]}
            while grown:
                grown = {one for one in good if self.packets[one][1]["amends"] in line} - line
                line = line | grown
            last = (line & good) - {self.packets[one][1]["amends"] for one in line & good} - {max(named)[2]}
            return [self.best(last) if last else self.packets[max(named)[2]][1]]
        if named:
            return [body["core"] | {"place_digest": body["place_digest"]} for _, body in leaves]
        if leaves:
            paper = leaves[0][1]["core"] | {"place_digest": leaves[0][1]["place_digest"]}
            same = {one for one in tips if agrees_with(paper["contests"], self.packets[one][1]["contests"])}
            return (
                [self.best(same), paper]
                if same
                else [paper]
                if len({one for one, _ in leaves}) == 1
                else [self.best(tips)]
                if tips
                else []
            )
        return [self.best(tips)] if tips else []

    def best(self, some: set[bytes]) -> dict[str, Any]:
        """The higher number, then the later made, then the lower digest."""
        return self.packets[
            min(some, key=lambda one: (-self.packets[one][1]["number"], -self.packets[one][1]["made"], one))
        ][1]

    def figures(self, way: str) -> tuple[dict[tuple[str, str], list[Votes]], dict[str, Votes]]:
        """(figures, sums of the count boards), as they count.

        figures: {(contest, "W3/election_day"): votes by line}; more than one where more than one may count. Sums of
        count boards are by contest;
        `way` is theirs.
        """
        recounted = self.recounted()
        found: dict[tuple[str, str], list[Votes]] = defaultdict(list)
        boards: dict[str, Votes] = defaultdict(lambda: defaultdict(int))
        for place, digest in self.newest.items():
            for core in self.returns(place):
                _, contests, board = self.files.get(core["place_digest"]) or self.files[digest]
                for contest, row in overlaid(core, contests, self.findings(place)).items():
                    votes = named_votes(row, [one["id"] for one in contests[contest].get("choices", ())])
                    if board:
                        again = recounted.get((contest, f"{place}/{way}"), ())
                        votes = named_votes(again[0], self.choices(place, contest)) if len(again) == 1 else votes
                        for line, n in votes.items():
                            boards[contest][line] += n
                    else:
                        found[contest, f"{place}/election_day"].append(votes)
        for atom, bodies in in_force(self.counts).items():
            for contest, row in bodies[0]["contests"].items() if len(bodies) == 1 else ():
                found[contest, atom].append(named_votes(row, self.choices(bodies[0]["unit"], contest)))
        for (contest, atom), rows in recounted.items():
            if (contest, atom) in found and len(rows) == 1:
                found[contest, atom] = [named_votes(rows[0], self.choices(atom.partition("/")[0], contest))]
        return found, boards

    def findings(self, place: str) -> list[Finding]:
        """What the office found otherwise at a place, without what two parties withdrew."""
        kept = self.of_place[place]
        gone = {row["finding"] for _, _, body in kept["finding-withdrawn"] for row in body["findings"]}
        return [one for one in kept["desk-finding"] if one[1] not in gone]

    def recounted(self) -> dict[tuple[str, str], list[Row]]:
        """{(contest, atom): rows of the recounts that no other one replaces}: of two neither counts."""
        found = defaultdict(list)
        for id, body in self.recounts.items():
            for contest, row in body["contests"].items():
                if not any(
                    id in (one.get("amends") or ()) and contest in one["contests"] for one in self.recounts.values()
                ):
                    found[contest, atom_of(body)].append(row)
        return found

    def choices(self, unit: str, contest: str) -> list[str]:
        """Ids of a contest's choices on the ballots of a unit, in ballot order."""
        ids: dict[str, None] = {}
        for place in self.pools.get(unit, [unit]):
            one = self.files[self.newest[place]][1].get(contest, {})
            ids |= dict.fromkeys(choice["id"] for choice in one.get("choices", ()))
        return list(ids)


def atom_of(body: dict[str, Any]) -> str:
    """The ballots that a count or a recount is of, as results.csv writes them."""
    part = f".{body['part']}" if body["part"] > 1 else ""
    return f"{body['unit']}/{body['way'].replace('-', '_')}{part}"


def in_force(counts: dict[bytes, dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """{atom: counts of it that no other one replaces}: of two neither counts."""
    replaced = {old for body in counts.values() for old in body.get("amends") or ()}
    found = defaultdict(list)
    for id, body in counts.items():
        if id not in replaced:
            found[atom_of(body)].append(body)
    return found


def core_digest(core: dict[str, Any]) -> bytes:
    """What figures keyed from paper are known by: SHA-256 of their deterministic CBOR."""
    return hashlib.sha256(written(core)).digest()


def written(value: Any) -> bytes:
    """Deterministic CBOR of what a record holds."""
    if value is None or isinstance(value, bool):
        return {None: b"\xf6", True: b"\xf5", False: b"\xf4"}[value]
    if isinstance(value, int):
        return head(0, value) if value >= 0 else head(1, -1 - value)
    if isinstance(value, bytes):
        return byte_string(value)
    if isinstance(value, str):
        return head(3, len(value.encode())) + value.encode()
    if isinstance(value, list):
        return head(4, len(value)) + b"".join(map(written, value))
    rows = sorted(((written(name), written(one)) for name, one in value.items()), key=lambda row: (len(row[0]), row[0]))
    return head(5, len(rows)) + b"".join(name + one for name, one in rows)


def agrees_with(paper: dict[str, Row], packet: dict[str, Row]) -> bool:
    """Whether a packet has every figure that was keyed from paper. paper, packet: rows by contest."""
    return all(
        contest in packet and all(n is None or n == m for n, m in zip(row, packet[contest], strict=False))
        for contest, row in paper.items()
    )


def named_votes(row: Row, choices: list[str]) -> Votes:
    """A row of votes by line: choices, then TAIL. Lines without a figure are left out."""
    return {line: n for line, n in zip([*choices, *TAIL], row, strict=True) if n is not None}


def overlaid(core: dict[str, Any], contests: dict[str, Any], findings: list[Finding]) -> dict[str, Row]:
    """The rows of a return by contest, with what the office found otherwise, the last of each figure that still has what it had."""
    rows = {contest: list(row) for contest, row in core["contests"].items() if row is not None}
    tapes = {one["id"]: one["contests"] for one in core.get("tabulators", ()) if "contests" in one}
    split = {one["id"]: one[APART] for one in core.get("tabulators", ()) if APART in one}
    last = {}
    for _, _, body in findings:
        kind, *way = body["figure"].split("/")
        if kind == "apart" and len(way) > 2:
            tape, precinct = "/".join(way[:-3]), way[-3]
            own = ((split.get(tape, {}) if split else core.get(APART, {})) or {}).get(precinct)
        else:
            tape = "/".join(way[:-2])
            own = tapes.get(tape) if tapes else rows if len(way) == 2 else None
        if kind not in ("votes", "apart") or not own or way[-2] not in own or way[-2] not in rows:
            continue
        lines = [*(one["id"] for one in contests[way[-2]].get("choices", ())), *TAIL]
        was = own[way[-2]][lines.index(way[-1])] if own is not rows else core["contests"][way[-2]][lines.index(way[-1])]
        if was is not None and was == body.get("was"):
            last[body["figure"]] = kind, tape, way[-2], lines.index(way[-1]), body["is"] - was
    moved: dict[Any, int] = defaultdict(int)
    for kind, tape, contest, at, by in sorted(
        last.values(), key=lambda one: one[0]
    ):  # precincts first, then their tape
        by -= moved[tape, contest, at] if kind == "votes" else 0
        moved[tape, contest, at] += by
        rows[contest][at] = max((rows[contest][at] or 0) + by, 0)
    return rows


# --- editions


def check_editions(
    folder: Path, about: dict[str, Any], entries: list[Entry] | None, labels: Labels, report: Report
) -> None:
    """Every edition's files against its edition.json, that against the record, blocks against the edition before: they never split and never grow."""
    posted = {
        body["number"]: body
        for _, kind, body, _, _, parties in entries or ()
        if kind == "edition-posted" and len(parties) > 1 and not body.get("short")
    }
    told = {
        row["edition"]: row for row in read_json(folder, "data/office/heads.json", report) or () if "edition" in row
    }
    before: dict[tuple[str, ...], Any] = {}
    for number in about["editions"]:
        home = f"data/editions/{number}"
        document = read_json(folder, f"{home}/edition.json", report)
        if document is None:
            continue
        digest = digest_of(folder / home / "edition.json")
        print(f"compare:        edition {number}, SHA-256 of edition.json: {digest}")
        if told.get(number, {}).get("digest") != digest or (
            entries is not None and posted.get(number, {}).get("digest", b"").hex() != digest
        ):
            report.differs(f"{home}/edition.json", "is not what the office's record says was posted")
        for name, wanted in document["files"].items():
            if not (folder / home / name).is_file() or digest_of(folder / home / name) != wanted:
                report.differs(f"{home}/{name}", "is not the file that edition.json names")
        if "canvass.json" in document["files"]:
            check_certified(folder, f"{home}/canvass.json", document["cut"], told.get(number, {}), report)
        blocks = {tuple(key): rows for key, rows in document["blocks"]}
        for key, rows in before.items():
            if blocks.get(key, [])[: len(rows)] != rows:
                report.differs(
                    f"{home}/edition.json", f"splits or changes blocks of {key[0]} that were published before"
                )
        before = blocks
        shown = defaultdict(set)
        for _, kind, body, *_, parties in entries or ():
            if kind == "small-shown" and len(parties) > 1:
                shown[body["contest"]].update(body["atoms"])
        check_results(folder, number, document, blocks, labels, shown, report)
    if entries is not None and sorted(posted) != about["editions"]:
        report.differs("data/editions", f"has {about['editions']}; the record posts {sorted(posted)}")


def check_certified(folder: Path, name: str, cut: int, row: dict[str, Any], report: Report) -> None:
    """The entry and the check words that a certificate is printed with, against those of its edition in heads.json."""
    board = read_json(folder, name, report) or {}
    if (board.get("cut"), board.get("words")) != (cut, row.get("words")) or row.get("entry") != cut:
        report.differs(
            name,
            f"has check words {board.get('words')} after entry {board.get('cut')}; data/office/heads.json has "
            f"{row.get('words')} after entry {row.get('entry')}, and the edition ends with entry {cut}",
        )


def check_results(
    folder: Path,
    number: int,
    document: dict[str, Any],
    blocks: dict[tuple[str, ...], Any],
    labels: Labels,
    shown: dict[str, set[str]],
    report: Report,
) -> None:
    """results.csv: whole blocks only; with the figures of each atom (sealed) every row. Then the standard's JSON against it.

    labels: {(contest, choice): labels of it in the place files}, empty where the archive has none. shown: {contest: cells of few ballots that two
    parties signed to be shown}.
    """
    home, named = f"data/editions/{number}", len(report.named)
    name, atoms = f"{home}/results.csv", None
    if (folder / f"data/editions-sealed/{number}.json").is_file():
        atoms = json.loads((folder / f"data/editions-sealed/{number}.json").read_bytes())["contests"]
        check_blocks(home, blocks, atoms, document["small"], shown, report)
    totals: dict[Any, int] = defaultdict(int)
    cells: dict[Any, dict[str, list[Any]]] = defaultdict(dict)
    with open(folder / name, encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["cell"]:
                of = row["contest"], row["ballot_group"]
                cells[of].setdefault(row["cell"], []).append(row if atoms is not None else None)
                totals[of, row["kind"], KINDS.get(row["kind"], row["choice"])] += int(row["votes"])
    for key, contest in zip(blocks, atoms or blocks, strict=True):
        home_of = {atom: cell for cell in cells[key] for atom in cell.split(" ")}
        for block in blocks[key]:
            if len({home_of.get(cell_of(atom)) for atom in block}) > 1:
                report.differs(name, f"splits a block of {key[0]}")
        if set(home_of) - {cell_of(atom) for block in blocks[key] for atom in block}:
            report.differs(name, f"shows ballots of {key[0]} that edition.json has in no block")
        if atoms is not None:
            check_rows(name, contest, atoms[contest]["blocks"], cells[key], home_of, labels, report)
    standard = folder / home / "results-1500-100.json"
    if standard.is_file():
        check_standard(f"{home}/results-1500-100.json", json.loads(standard.read_bytes()), totals, report)
    if len(report.named) == named:
        more = (
            "every row of results.csv is the sum of its ballots"
            if atoms is not None
            else "results.csv shows whole blocks only"
        )
        report.agrees(f"edition {number} ({document['status']}): {more}, and results-1500-100.json has the same sums")


def check_blocks(
    home: str,
    blocks: dict[tuple[str, ...], Any],
    atoms: dict[str, Any],
    small: int,
    shown: dict[str, set[str]],
    report: Report,
) -> None:
    """The office's own blocks are those that were published, and none has fewer than `small` ballots but those that two parties let be shown."""
    for key, contest in zip(blocks, atoms, strict=True):
        mine = [
            [cell_of([row[0], row[1].replace("-", "_"), *row[2:4]]) for row in block]
            for block in atoms[contest]["blocks"]
        ]
        if mine != [[cell_of(atom) for atom in block] for block in blocks[key]]:
            report.differs(f"{home}/edition.json", f"has other blocks of {key[0]} than the office kept")
        for block, cells in zip(atoms[contest]["blocks"], mine, strict=True):
            if 0 < sum(abs(row[4]) for row in block) < small and not shown[contest].issuperset(cells):
                report.differs(f"{home}/edition.json", f"has a block of {key[0]} with fewer than {small} ballots")


def check_rows(
    name: str,
    contest: str,
    blocks: list[Any],
    cells: dict[str, Any],
    home_of: dict[str, str],
    labels: Labels,
    report: Report,
) -> None:
    """Every row of a contest, and every column of a way in it, against the figures of the atoms in its cell."""
    sums: dict[Any, int] = defaultdict(int)
    for row in [row for block in blocks for row in block]:
        unit, way, part, change, _, votes = row
        way = way.replace("-", "_")
        cell = home_of.get(cell_of([unit, way, part, change]))
        for line, n in votes.items():
            sums[cell, line, ""] += n
            sums[cell, line, way] += n
    lines = {line for _, line, _ in sums}
    shown = set()
    for cell, rows in cells.items():
        for row in rows:
            kind, ways = row["kind"], [way for way in list(row)[8:] if row[way] != ""]
            mine = (
                [line for line in lines if row["choice"] in labels[contest, line]]
                if kind == "choice"
                else [KINDS[kind]]
            )
            shown |= {(cell, line) for line in mine}
            for way, said in (("", row["votes"]), *((way, row[way]) for way in ways)):
                if sum(sums[cell, line, way] for line in mine) != int(said):
                    report.differs(
                        name, f"has another figure than its ballots in {contest}, {cell}, {kind} {row['choice']} {way}"
                    )
    if any(
        n and (cell, line) not in shown for (cell, line, way), n in list(sums.items()) if not way and line != "ballots"
    ):
        report.differs(name, f"lacks a row of {contest}")


def cell_of(atom: list[Any]) -> str:
    """An atom of edition.json as results.csv writes it."""
    unit, way, *more = atom
    part, change = ([*more, 0])[:2] if more else (1, 0)
    return f"{unit}/{way}" + (f".{part}" if part > 1 else "") + (f"+{change}" if change else "")


def check_standard(name: str, report_file: dict[str, Any], totals: dict[Any, int], report: Report) -> None:
    """NIST SP 1500-100: counts of type total over all units but the county, and the county's own, against results.csv."""
    election = report_file["Election"][0]
    labels = {one["@id"]: one["BallotName"]["Text"][0]["Content"] for one in election.get("Candidate", ())}
    mine: dict[tuple[str, str], int] = defaultdict(int)
    county: dict[tuple[str, str], int] = defaultdict(int)
    wanted: dict[tuple[str, str], int] = defaultdict(int)
    for contest in election["Contest"]:
        rows = []
        for one in contest.get("ContestSelection", ()):
            label = one["Selection"]["Text"][0]["Content"] if "Selection" in one else labels[one["CandidateIds"][0]]
            rows += [
                (row["GpUnitId"], label, row["Count"]) for row in one.get("VoteCounts", ()) if row["Type"] == "total"
            ]
        for row in contest.get("OtherCounts", ()):
            for field, line in (("Overvotes", "over"), ("Undervotes", "under"), ("WriteIns", "write_in")):
                rows += [(row["GpUnitId"], line, row[field])] if field in row else []
        for unit, line, n in rows:
            (county if unit.startswith("county-") else mine)[contest["Name"], line] += n
    for ((title, group), _, line), n in totals.items():
        wanted[title + (f" ({group})" if group else ""), line] += n
    for key in {*mine, *county, *wanted}:
        if not mine[key] == county[key] == wanted[key]:
            report.differs(
                name,
                f"has {mine[key]:,}, {county[key]:,} in the county, and results.csv {wanted[key]:,}: {' / '.join(key)}",
            )


def way_of_boards(folder: Path) -> str:
    """The way of the ballots that a count board counts, as results.csv writes it."""
    ways = tomllib.loads((folder / "data/office/office.toml").read_text("utf-8")).get("ways", ())
    named = [one["id"] for one in ways if one["id"] == "absentee"] + [
        one["id"] for one in ways if one["type"] == "absentee"
    ]
    return (named or ["absentee"])[0].replace("-", "_")


def check_figures(
    folder: Path,
    about: dict[str, Any],
    keys: dict[str, Any],
    files: dict[bytes, PlaceFile],
    packets: dict[bytes, Packet],
    entries: list[Entry],
    report: Report,
) -> None:
    """Each edition's figures, ballots by ballots, against what packets, counts and findings up to its cut give."""
    way = way_of_boards(folder)
    for number in about["editions"]:
        document = json.loads((folder / f"data/editions/{number}/edition.json").read_bytes())
        office = Office(about, files, packets, keys, [one for one in entries if one[0] <= document["cut"]])
        (kept, boards), named, held = office.figures(way), len(report.named), set()
        keyed = any(atom.endswith(f"/{way}") for atom in in_force(office.counts))
        sealed = json.loads((folder / f"data/editions-sealed/{number}.json").read_bytes())["contests"]
        left = {contest: dict(votes) for contest, votes in boards.items()}
        for contest, one in sealed.items():
            sums: dict[str, Votes] = defaultdict(lambda: defaultdict(int))
            for unit, by, part, _, _, votes in [row for block in (*one["blocks"], one["waiting"]) for row in block]:
                for line, n in votes.items():
                    sums[cell_of([unit.partition(":")[0], by.replace("-", "_"), part])][line] += n
            for atom, votes in sums.items():
                some = {line: n for line, n in votes.items() if n}
                may = [{line: n for line, n in one.items() if n} for one in kept.pop((contest, atom), ())]
                if not may and contest in left and atom.endswith(f"/{way}"):
                    for line, n in some.items():
                        left[contest][line] = left[contest].get(line, 0) - n
                elif some not in may and (some or not may):
                    if some:
                        report.differs(
                            f"data/editions/{number}",
                            f"has other figures for {atom} in {contest} than its packet or count",
                        )
                elif not some and any(may):
                    held.add(atom)
        if keyed and any(n for votes in left.values() for n in votes.values()):
            report.unchecked(f"edition {number}: sums of the count boards, as {way} ballots were keyed at the desk too")
        elif any(n for votes in left.values() for n in votes.values()):
            report.differs(f"data/editions/{number}", "has other sums of the count boards than their packets")
        held |= {atom for (_, atom), may in kept.items() if any(any(one.values()) for one in may)}
        if len(report.named) == named:
            report.agrees(
                f"edition {number}: the figures of every place and count, from packets, counts and findings up to entry {document['cut']}"
            )
        if held:
            report.unchecked(f"edition {number} leaves out, held by the office at that time: {', '.join(sorted(held))}")


def check_contents(folder: Path, about: dict[str, Any], keys: dict[str, Any], report: Report) -> None:
    """Everything beyond the bytes."""
    entries, heads = None, None
    labels: Labels = defaultdict(set)
    if about["kind"] == "sealed":
        entries, heads = check_record(folder, report)
        files, packets = check_places(folder, keys, report), check_packets(folder, keys, entries, report)
        for _, contests, _ in files.values():
            for id, one in contests.items():
                for choice in one.get("choices", ()):
                    labels[id, choice["id"]].add(choice["label"])
    check_heads(folder, heads, report)
    check_editions(folder, about, entries, labels, report)
    if entries is not None and not report.named:
        check_figures(folder, about, keys, files, packets, entries, report)
    report.unchecked(
        "posting.html, reconciliation.csv, the event log and certificate-N.pdf: their bytes are as archived; this program does not read them"
    )


def main(words: list[str]) -> int:
    """Checks the archive in words[0] and prints what was found. Returns the exit code: 0 agrees, 1 does not, 2 nothing to read."""
    folder = Path(words[0]) if words else Path(__file__).resolve().parent.parent
    if not (folder / MANIFEST).is_file() and not (folder / "bagit.txt").is_file():
        print(f"There is no archive in {folder}: give the folder that has bagit.txt in it.", file=sys.stderr)
        return 2
    report = Report()
    found = check_bytes(folder, report)
    if report.named or found is None:
        print(
            "\nThis archive is not as it was made: see what is named above. Figures and signatures inside were not checked. Keep this copy."
        )
        return 1
    try:
        check_contents(folder, *found, report)
    except BrokenPipeError:
        raise
    except (OSError, *UNREADABLE) as wrong:
        why = f"{type(wrong).__name__}: {wrong}"[:200]
        report.differs("data", f"holds a file of another form than it should, though it is signed ({why})")
    if report.named:
        print(f"\n{len(report.named)} do not agree: they are named above.")
    else:
        print(
            '\nWhat this program checked agrees. Now hold the lines that begin with "compare" against paper and other copies.'
        )
    return 1 if report.named else 0


def started(words: list[str]) -> int:
    """The exit code of `main`, with all its lines written; 2 where the reader of the lines closed the pipe before the end."""
    try:
        code = main(words)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or Python would stumble over it once more
        print(
            "The lines were cut off before the end, so they prove nothing: run it again and read them all.",
            file=sys.stderr,
        )
        return 2


if __name__ == "__main__":
    sys.exit(started(sys.argv[1:]))
