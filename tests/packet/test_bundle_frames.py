"""Codes of a bundle: any sufficient part gives the bundle back; packets' and held entries' codes are not taken for them, nor they for those."""

import random
from hashlib import sha256
from pathlib import Path

import pytest

from webapp.packet import bundle_frames, frames, held_frames
from webapp.packet.bundle_frames import BundleCodes
from webapp.packet.cose import PacketRefused
from webapp.packet.frames import Collector

BUNDLE = (Path(__file__).parents[1] / "merging" / "stored" / "north.bundle").read_bytes()


def test_the_stored_bundle_gives_these_codes_in_every_version():
    texts = bundle_frames.split(BUNDLE)
    assert (len(texts), len(texts[0]), texts[0][:24]) == (15, 426, "TB1:V50+DIP6U+FMG0G-H100")
    assert (
        sha256("\n".join(texts).encode()).hexdigest()
        == "f498f9819d26747afc9f128a25533735f8365720507fa662d51939dde4a9368b"
    )


def test_any_sufficient_part_in_any_order_and_repeated_gives_the_bundle():
    texts, draw = list(bundle_frames.split(BUNDLE)), random.Random(3)
    spare = bundle_frames.spare(len(texts))
    for _ in range(20):
        some = draw.sample(texts, len(texts) - spare)
        have = BundleCodes()
        assert {have.add(text) for text in [*some, some[0]]} == {"new", "again"}
        assert have.whole() == BUNDLE and have.says.startswith("Enough codes are in")
    have = BundleCodes()
    for text in texts[: len(texts) - spare - 1]:
        have.add(text)
    assert have.lacking == 1 and "1 more wanted, any of these:" in have.says
    with pytest.raises(PacketRefused, match="1 more wanted"):
        have.whole()


def test_codes_of_packets_and_of_held_entries_are_other_codes():
    text = bundle_frames.split(BUNDLE)[0]
    assert len({bundle_frames.PREFIX, frames.PREFIX, held_frames.PREFIX}) == 3
    assert Collector().add(text) == "foreign"
    for other in (frames.split((b"x" * 300, b"y"))[0], "TH1:ABC", "", "https://sable.example"):
        assert "This is not a code of a bundle" in BundleCodes().add(other)


def test_a_damaged_code_another_bundle_and_a_large_one_are_refused():
    one, two = bundle_frames.split(BUNDLE), bundle_frames.split(BUNDLE[::-1])
    have = BundleCodes()
    have.add(one[0])
    assert "of another bundle than those before" in have.add(two[1])
    changed = one[1][:60] + ("A" if one[1][60] != "A" else "B") + one[1][61:]
    assert "changed on its way" in have.add(changed) and "packet" not in have.add(changed)
    assert bundle_frames.fits(bytes(bundle_frames.LARGEST)) and not bundle_frames.fits(b"")
    with pytest.raises(PacketRefused, match="codes carry 39,300. Bring it to the office on a stick"):
        bundle_frames.split(bytes(bundle_frames.LARGEST + 1))
    assert len(bundle_frames.split(bytes(bundle_frames.LARGEST))) == 200
