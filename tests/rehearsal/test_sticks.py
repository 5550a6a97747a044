"""A rehearsal with a stick: at the end every entry, both whole copies and the packets lie on it, and nothing else; what is not so is named."""

import shutil

from demo_precinct import rehearsed_county
from demo_precinct.sticks import looked_over
from webapp.precinct.place import place_file
from webapp.stick.folder import chosen

PLACE = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())


def test_the_stick_holds_every_entry_and_no_secret_bytes(demo):
    report, folder = demo
    assert report["sticks"] == {"places": 1, "entries": report["sticks"]["entries"], "behind": 0}
    assert report["sticks"]["entries"] > 100
    found = looked_over(folder / "places" / PLACE.id, PLACE, folder.parent / "stick")
    assert (found.says, found.behind) == ((), 0)


def test_what_is_wrong_with_a_stick_is_named(demo, tmp_path):
    _, folder = demo
    stick = tmp_path / "stick"
    shutil.copytree(folder.parent / "stick", stick)
    there = chosen(stick)
    (there / "gate.db").write_bytes(b"keys")
    (there / "snapshot-a.db").unlink()
    (there / "packet" / "1.cose").write_bytes(b"other")
    max(there.glob("entries-*")).unlink()
    (there / "snapshot-b.db").unlink()

    found = looked_over(folder / "places" / PLACE.id, PLACE, stick)
    assert found.behind > 0
    for words in ("gate.db does not belong", "snapshot-a.db is not on", "Packet 1.cose is not on"):
        assert any(said.startswith(words) for said in found.says), (words, found.says)
