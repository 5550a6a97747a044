"""The rehearsed demo day's office, with the packet it took in."""

from types import SimpleNamespace

import pytest

from tests.rehearsal.conftest import demo  # noqa: F401 - the same rehearsed day
from webapp.gate import keys
from webapp.office import roster
from webapp.packet.envelope import open_packet, parts_of, seal_packet


@pytest.fixture(scope="session")
def desk(demo):  # noqa: F811 - a fixture that takes a fixture
    """Roster, the packet's parts and contents, and `sealed(core changes) -> parts` signed by the place's own key."""
    _, folder = demo
    place = folder / "places" / "W3"
    parts = parts_of((place / "packet" / "1.cose").read_bytes())
    found = roster.load(folder / "office")
    opened = open_packet(parts, found.keys, "practice")
    key = keys.place_key(place)

    def sealed(signed_for: str = "practice", by=key, **changes):
        core = {k: v for k, v in opened.core.items() if k != "remarks_digest"} | changes
        return seal_packet({k: v for k, v in core.items() if v is not ...}, opened.remarks, by, signed_for).parts

    return SimpleNamespace(folder=folder, roster=found, parts=parts, opened=opened, sealed=sealed)
