"""Spare frames: Reed-Solomon over GF(256), column by column, so that any k of n rows give back the k rows of data.

Polynomial 0x11d, generator 2, first root 0: the code `reedsolo` writes with its defaults; byte column c of all rows is one codeword, data first, then
parity. The code is linear, and every column lacks the same rows: so the library is asked once for each known row (a column of one 1), and whole
rows are then multiplied and added.
"""

from collections.abc import Mapping, Sequence
from functools import cache

import reedsolo

POLYNOMIAL, GENERATOR, FIRST_ROOT = 0x11D, 2, 0


@cache
def _field() -> None:
    reedsolo.init_tables(POLYNOMIAL, GENERATOR, 8)


@cache
def _times(factor: int) -> bytes:
    """The products of this factor with 0 ... 255 in GF(256), as a table for `bytes.translate`."""
    _field()
    return bytes(reedsolo.gf_mul(factor, value) for value in range(256))


def _combined(factors: Sequence[int], rows: Sequence[bytes]) -> bytes:
    """The sum over GF(256) of factor times row."""
    total = 0
    for factor, row in zip(factors, rows, strict=True):
        total ^= int.from_bytes(row.translate(_times(factor)))
    return total.to_bytes(len(rows[0]))


def checked(message: bytes | bytearray, m: int) -> bytes:
    """The m correction bytes of one message, as reedsolo computes them."""
    _field()
    return bytes(reedsolo.rs_encode_msg(message, m, fcr=FIRST_ROOT, generator=GENERATOR)[len(message) :])


@cache
def _spare_factors(k: int, m: int) -> tuple[tuple[int, ...], ...]:
    """For each of m parity rows, the k factors of the data rows."""
    columns = []
    for row in range(k):
        unit = bytearray(k)
        unit[row] = 1
        columns.append(checked(unit, m))
    return tuple(zip(*columns, strict=True))


def spare(rows: Sequence[bytes], m: int) -> tuple[bytes, ...]:
    """m parity rows for these data rows of equal length."""
    return tuple(_combined(factors, rows) for factors in _spare_factors(len(rows), m))


def restored(known: Mapping[int, bytes], k: int, m: int) -> tuple[bytes, ...]:
    """The k data rows, from any k known rows given by their index 0 ... k + m - 1. Raises ValueError where fewer are known."""
    kept = sorted(known)[:k]
    if len(kept) < k:
        raise ValueError(f"{len(kept)} rows of {k} are known")
    lost = [place for place in range(k + m) if place not in set(kept)]
    wanted = [place for place in lost if place < k]
    if not wanted:
        return tuple(known[place] for place in range(k))
    _field()
    columns = []
    for place in kept:
        unit = bytearray(k + m)
        unit[place] = 1
        syndromes = reedsolo.rs_calc_syndromes(unit, m, fcr=FIRST_ROOT, generator=GENERATOR)
        whole = reedsolo.rs_correct_errata(unit, syndromes, lost, fcr=FIRST_ROOT, generator=GENERATOR)
        columns.append([whole[row] for row in wanted])
    rows = [known[place] for place in kept]
    found = {row: _combined([column[i] for column in columns], rows) for i, row in enumerate(wanted)}
    return tuple(found[row] if row in found else known[row] for row in range(k))
