"""A place file under the office's signature: `place.cose`, which a live precinct needs and any altered byte breaks.

COSE_Sign1 over the TOML bytes as they are, context `tapeseal/place/1/live` or `tapeseal/place/1/practice` (formats.md). Practice may run on a
plain `place.toml`; live never does. Each way in which a file is not the office's own has its own sentence.
"""

from functools import lru_cache
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp.gate import keys
from webapp.gate.refusals import GateRefused, file_bytes
from webapp.packet import cose
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place

FILE, PLAIN = "place.cose", "place.toml"
MODES = ("live", "practice")
PINNED = "place_digest"  # in a gate that was made without a kit: which place file its record was opened with
LIMIT = 2 * 1024 * 1024  # bytes of a file that are read at all


def seal(toml: bytes, key: Ed25519PrivateKey) -> bytes:
    """The envelope of this place file. Raises `place_file.Mistakes` for one that would be refused anyway."""
    place = place_file.read(toml)
    return cose.sign(toml, key, context(place.mode))


def opened(data: bytes, office: Ed25519PublicKey) -> Place:
    """The place in this envelope, once the office's signature holds. Raises `GateRefused`."""
    envelope, kid = _envelope(data)
    own = cose.key_id(office)
    if kid != own:
        raise GateRefused(
            f"This place file was signed by another office (key {kid.hex()}); this folder belongs to the office with key {own.hex()}. "
            "Ask that office for the place file."
        )
    mode = next((mode for mode in MODES if cose.holds(envelope, office, context(mode))), None)
    if mode is None:
        raise GateRefused(
            "This place file was changed after the office signed it, or is cut off. Copy it again from the office."
        )
    place = _read(envelope.payload)
    if place.mode != mode:
        raise GateRefused(
            f"This place file says {place.mode} and was signed for {mode}. Ask the office to build it again."
        )
    return place


def load_place(folder: Path, mode: str | None = None) -> Place:
    """The place of an enrolled folder (`mode`: and only for this one). Raises `GateRefused`."""
    folder = Path(folder)
    sealed, plain = folder / FILE, folder / PLAIN
    gate = keys.whose(folder)
    if gate.what != "place":
        raise GateRefused(f"{folder.name} is the folder of an office: open it with `tapeseal office`.")
    if sealed.exists():
        place = _signed(file_bytes(sealed, LIMIT), folder)
    elif plain.exists():
        place = _read(file_bytes(plain, LIMIT))
        if place.mode == "live":
            raise GateRefused(
                f"{PLAIN} is for a live election and nobody signed it: build it with `tapeseal place build` and enrol it. Practice alone runs unsigned."
            )
    else:
        raise GateRefused(
            f"{folder.name} holds neither {FILE} nor {PLAIN}: enrol the place again, into another folder."
        )
    return _fitting(place, gate, mode)


def context(mode: str) -> str:
    """The text that the signature covers in addition to the bytes."""
    return f"tapeseal/place/1/{mode}"


def _signed(data: bytes, folder: Path) -> Place:
    office = keys.office_public(folder)
    if office is None and (digest := keys.held(folder, PINNED)):
        return pinned(data, digest)
    if office is None:
        raise GateRefused(
            f"{folder.name} was made for practice on its own and knows no office's key, so {FILE} cannot be proven: enrol the place at the office."
        )
    return opened(data, office)


def pinned(data: bytes, digest: bytes) -> Place:
    """The place in this envelope, whose signature is not checked. Raises GateRefused unless it is the one that the restored record was opened with."""
    place = _read(_envelope(data)[0].payload)
    if place.digest != digest:
        raise GateRefused(
            "This is another place file than the record was opened with. Take the one from the stick, or from the office."
        )
    return place


def kid_of(data: bytes) -> bytes:
    """The name of the key that this envelope says it was signed with. Raises GateRefused where it is none."""
    return _envelope(data)[1]


def unproven(data: bytes) -> Place:
    """The place in this envelope, with its signature unchecked: for a laptop without the office's key, whose packet is not proven either."""
    return _read(_envelope(data)[0].payload)


def _fitting(place: Place, gate: keys.FolderIdentity, mode: str | None) -> Place:
    """The place, if it is the one that this folder was made for."""
    if place.id != gate.id:
        raise GateRefused(
            f"This place file is for {place.id} ({place.name}), and the folder was enrolled for {gate.id}. Copy the right place file here."
        )
    if place.mode != gate.mode:
        raise GateRefused(
            f"This place file is for {place.mode}, and the folder was enrolled for {gate.mode}: practice and live never mix. Enrol it into a folder of its own."
        )
    if mode and place.mode != mode:
        raise GateRefused(
            f"This folder is for {place.mode}, and {mode} was asked for. Choose the {mode} folder of {place.name}."
        )
    return place


def _envelope(data: bytes) -> tuple[cose.Sign1, bytes]:
    if not data.startswith(b"\xd2"):  # tag 18, how every COSE_Sign1 begins
        raise GateRefused(
            "This place file carries no signature: build it with `tapeseal place build`, which signs it with the office's key."
        )
    try:
        envelope = cose.taken_apart(data)
        return envelope, cose.named_key(envelope)
    except cose.PacketRefused:
        raise GateRefused(
            "This place file was changed after the office signed it, or is cut off. Copy it again from the office."
        ) from None


@lru_cache(maxsize=8)
def _read(toml: bytes) -> Place:
    """The place in these bytes; what was read a moment ago is not read again. Raises `GateRefused`."""
    try:
        return place_file.read(toml)
    except place_file.Mistakes as wrong:
        line, sentence = wrong.found[0]
        more = f" {len(wrong.found) - 1} more: see `tapeseal place check`." if len(wrong.found) > 1 else ""
        raise GateRefused(f"The place file cannot be used. Line {line}: {sentence}{more}") from None
