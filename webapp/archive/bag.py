"""The files outside data/ of an archive, in the form of BagIt (RFC 8493): what each must be, byte for byte, from the contents and the archive's facts."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

BAGIT = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
MANIFEST, TAG_MANIFEST, SIGNATURE, INFO = (
    "manifest-sha256.txt",
    "tagmanifest-sha256.txt",
    "archive.cose",
    "bag-info.txt",
)
FACTS, KEYS, HEADS = "data/archive.json", "data/keys.json", "data/office/heads.json"
SEALED, PUBLIC = "sealed", "public"
KEPT_MONTHS = 22  # 52 U.S.C. 20701: records of an election with federal offices on the ballot


@dataclass(frozen=True, slots=True)
class Facts:
    """What an archive says of itself, `data/archive.json`. `made` ISO 8601 UTC; `sealed`: SHA-256 (hex) of the manifest of the sealed archive that
    a public one goes with; `issued`: place -> digests of its place files (hex), the newest last."""

    kind: str
    office: str
    name: str
    mode: str
    election_day: str
    editions: tuple[int, ...]
    made: str
    keep_until: str
    version: str
    issued: Mapping[str, tuple[str, ...]]
    sealed: str | None = None

    @property
    def identifier(self) -> str:
        last = f"-e{self.editions[-1]}" if self.editions else ""
        return f"archive-{self.office}-{self.election_day}{last}"

    def document(self) -> dict[str, object]:
        """Returns the facts as the JSON object written into the archive; `made` and `keep_until` are as they were given."""
        return {
            "format": 1,
            "kind": self.kind,
            "identifier": self.identifier,
            "office": self.office,
            "name": self.name,
            "mode": self.mode,
            "election_day": self.election_day,
            "editions": list(self.editions),
            "made": self.made,
            "keep_until": self.keep_until,
            "version": self.version,
            "sealed": self.sealed,
            "issued": {place: list(digests) for place, digests in self.issued.items()},
        }


def facts_of(document: Mapping[str, object]) -> Facts:
    """The facts in this document. Raises KeyError, TypeError or ValueError where it has another form."""
    if document["format"] != 1 or document["kind"] not in (SEALED, PUBLIC):
        raise ValueError("another form")
    texts = {name: str(document[name]) for name in Facts.__slots__ if name not in ("editions", "issued", "sealed")}
    editions, issued, sealed = document["editions"], document["issued"], document["sealed"]
    if not isinstance(editions, list) or not isinstance(issued, dict) or not isinstance(sealed, str | None):
        raise TypeError("another form")
    numbers = tuple(int(one) for one in editions)
    return Facts(editions=numbers, issued={place: tuple(one) for place, one in issued.items()}, sealed=sealed, **texts)


def keep_until(day: date) -> date:
    """The day until which records of an election of this day are kept at least, 22 months later; local law may say longer."""
    year, month = divmod(day.year * 12 + day.month - 1 + KEPT_MONTHS, 12)
    for number in range(day.day, 27, -1):  # 31 December: 22 months later is 31 October; 30 April: the end of February
        try:
            return date(year, month + 1, number)
        except ValueError:
            continue
    return date(year, month + 1, day.day)


def manifest(digests: Mapping[str, str]) -> bytes:
    """A manifest: digest (hex), two spaces, path; by path, as `sha256sum -c` reads it."""
    return "".join(f"{digests[path]}  {path}\n" for path in sorted(digests)).encode()


def info(facts: Facts, size: int | str, files: int) -> bytes:
    """`bag-info.txt`. size: bytes of all files of the contents."""
    return (
        f"Source-Organization: {' '.join(facts.name.split())}\nBagging-Date: {facts.made[:10]}\n"
        f"Bag-Software-Agent: Tape & Seal {facts.version}\nExternal-Identifier: {facts.identifier}\n"
        f"Edition: {facts.editions[-1] if facts.editions else 0}\nKind: {facts.kind}\nKeep-Until: {facts.keep_until}\n"
        f"Payload-Oxum: {size}.{files}\n"
    ).encode()


def context(mode: str) -> str:
    """The text that the office's signature covers in addition to the digest of the manifest."""
    return f"tapeseal/archive/1/{mode}"
