"""What checking a sealed archive costs: verify.py, with nothing but the standard library, and `archive verify`, for many places with one packet each.

python tests/benchmarks/archive.py [places]
"""

import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey  # noqa: E402 - the folder above must be found first

from demo_precinct import rehearsed_county  # noqa: E402
from tests.archive.small_office import OFFICE, SmallOffice, contests  # noqa: E402
from webapp.archive import check, contents, writing  # noqa: E402
from webapp.gate import keys, signed_place_file  # noqa: E402
from webapp.office.setup import office_file
from webapp.precinct.place import place_file  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402


class LargeOffice(SmallOffice):
    """Its places have keys and no folders: no slips are made, which take far longer than all the rest."""

    made: dict[str, Ed25519PrivateKey] = {}

    def key(self, place: str) -> Ed25519PrivateKey:
        return self.made[place]


def office(home: Path, places: int, packets: bool = True) -> SmallOffice:
    """`packets`: with a packet of each place taken in, and an edition of them."""
    folder = home / "office"
    for name in ("in", "places"):
        (folder / name).mkdir(parents=True)
    ids = [f"P{i:05}" for i in range(places)]
    rows = "".join(f'\n[[places]]\nid = "{p}"\nname = "Place {p}"\nwith = "{ids[i ^ 1] if i ^ 1 < places else ids[0]}"\n' for i, p in enumerate(ids))  # fmt: skip
    toml = OFFICE[: OFFICE.index("[[places]]")] + rows
    (folder / "office.toml").write_text(toml, encoding="utf-8")
    keys.create_office(folder, office_file.read(toml.encode()).id)
    whole = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    kept = {"GOV", "COUNCIL"}
    styles = tuple(replace(s, contests=tuple(id for id in s.contests if id in kept)) for s in whole.styles)
    short = replace(whole, host="", contests=tuple(c for c in whole.contests if c.id in kept), styles=styles)
    own = keys.office_key(folder)
    for i, place in enumerate(ids):
        text = place_file.write(replace(short, id=place, name=f"Place {place}")).encode()
        (folder / "places" / f"{place}.cose").write_bytes(signed_place_file.seal(text, own))
        LargeOffice.made[place] = Ed25519PrivateKey.generate()
        keys.enrol(folder, place_file.read(text), LargeOffice.made[place].public_key(), i)
    made = LargeOffice(home, Ledger.create(folder / "office.db"))
    made.keep("record-opened", {"place": "tarn", "place_digest": b"", "mode": "practice", "version": "1"}, ())
    for i, place in enumerate(ids if packets else ()):
        made.packet(place, contests(200 + i % 50, 120, 40, 400 + i % 50))
    if packets:
        made.post("All places are in.")
    made.close()
    return made


def main() -> None:
    places = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory(prefix="archive-") as name:
        home = Path(name)
        made = office(home, places)
        began = time.process_time()
        writing.written(contents.opened(made.folder), home / "sealed", "sealed", made.now)
        print(f"{places:,} places: written in {time.process_time() - began:.1f} s of the processor")
        began = time.process_time()
        found = check.checked(home / "sealed")
        print(f"archive verify: {time.process_time() - began:.1f} s, {'all agrees' if found.ok else found.differs[:3]}")
        words = [sys.executable, "-I", str(home / "sealed/data/verify.py")]
        for what in ("verify.py", "verify.py, one byte changed in a packet"):
            began = time.perf_counter()
            done = subprocess.run(words, capture_output=True, text=True, timeout=900)
            print(
                f"{what}: {time.perf_counter() - began:.1f} s by the clock, exit {done.returncode}: {done.stdout.splitlines()[0]}"
            )
            path = next((home / "sealed/data/places").glob("*/packet-*"))
            data = bytearray(path.read_bytes())
            data[len(data) // 2] ^= 1
            path.write_bytes(data)


if __name__ == "__main__":
    main()
