"""Spare rows against reedsolo used plainly, column by column; and every loss pattern restored."""

import itertools
import os
import random

import pytest
import reedsolo
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.packet import frames, parity


@pytest.mark.parametrize("k", [1, 2, 5, 20])
def test_each_column_is_one_codeword_of_reedsolo(k):
    m = frames.spare_frames(k)
    rows = [os.urandom(40) for _ in range(k)]
    plain = reedsolo.RSCodec(m, fcr=0, prim=0x11D, generator=2)

    for column, word in enumerate(zip(*rows, *parity.spare(rows, m), strict=True)):
        assert bytes(word) == bytes(plain.encode(bytes(row[column] for row in rows)))


def test_a_worked_codeword_of_the_qr_standard():
    """ISO/IEC 18004 annex I, the 1-M symbol of 01234567: 16 data codewords, 10 correction codewords over the same field and first root (from memory)."""
    data = bytes([0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11])
    assert [0xA5, 0x24, 0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55] == list(parity.checked(data, 10))


@pytest.mark.parametrize("k", range(1, 8))
def test_every_pattern_of_losses_up_to_the_spare_rows_is_restored(k):
    m = frames.spare_frames(k)
    rows = tuple(os.urandom(5) for _ in range(k))
    whole = dict(enumerate(rows + parity.spare(rows, m)))

    for losses in range(m + 1):
        for lost in itertools.combinations(whole, losses):
            assert rows == parity.restored({place: row for place, row in whole.items() if place not in lost}, k, m)


@settings(max_examples=examples(30), deadline=None)
@given(k=st.integers(1, 60), seed=st.integers(0, 2**32))
def test_any_k_rows_restore_them_all(k, seed):
    chance, m = random.Random(seed), frames.spare_frames(k)
    rows = tuple(chance.randbytes(7) for _ in range(k))
    whole = rows + parity.spare(rows, m)
    kept = chance.sample(range(k + m), k)

    assert rows == parity.restored({place: whole[place] for place in kept}, k, m)


def test_too_few_rows_are_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="1 rows of 2"):
        parity.restored({0: b"x"}, 2, 2)
