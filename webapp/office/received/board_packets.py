"""A count board's packet at the desk: its precincts side by side, small ones together; its list of batches, held by the packet's digest and drawn again."""

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.board import batch_table
from webapp.packet import contents
from webapp.packet.board_words import COLUMNS, rows
from webapp.packet.envelope import PacketRefused
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

__all__ = ["COLUMNS", "MOST", "differs", "drawn", "keep_table", "read", "rows", "table_file"]

MOST = 4 * 1024 * 1024  # bytes of a list of batches


def table_file(folder: Path, digest: bytes) -> Path:
    return folder / "in" / f"{digest.hex()}-batches.csv"


def keep_table(folder: Path, core: Mapping[str, Any], data: bytes) -> None:
    """Stores the list of batches with its packet. Raises `PacketRefused` for one that is not the packet's."""
    wanted = core.get("board", {}).get("table")
    if wanted is None:
        raise PacketRefused("This packet names no list of batches: ask the board for the packet again.")
    if len(data) > MOST or hashlib.sha256(data).digest() != wanted:
        raise PacketRefused(
            "This is not the list of batches that was signed with this packet: it was changed, or belongs to another packet. Take the file from the stick again."
        )
    read(data)
    plain_file.write(table_file(folder, wanted), data)


def read(data: bytes) -> list[dict[str, Any]]:
    """The batches of a file. Raises `PacketRefused`, one sentence."""
    try:
        return batch_table.read(data.decode("utf-8"))
    except (batch_table.UnreadableTable, UnicodeDecodeError) as wrong:
        raise PacketRefused(
            str(wrong)
            if isinstance(wrong, ValueError) and not isinstance(wrong, UnicodeDecodeError)
            else "This file is not text."
        ) from None


def drawn(folder: Path, core: Mapping[str, Any], place: Place) -> Balance | None:
    """Every line of the board with each batch by itself; None while the list of batches is not here."""
    wanted = core.get("board", {}).get("table")
    path = table_file(folder, wanted) if wanted else None
    if path is None or not path.exists():
        return None
    figures = contents.figures(core, place)
    return balance({**figures, "board": {**figures["board"], "batches": read(path.read_bytes())}})


def differs(own: Balance, core: Mapping[str, Any]) -> Sequence[str]:
    """Rows of batches that the packet and this desk do not see alike."""
    said = {(line, gap) for _, lines, _ in core["board"]["open"] for line, gap in lines}
    mine = {(line.name, line.gap) for line in own.gaps if line.id.partition(":")[0] in ("batch", "batch-envelopes")}
    return sorted(f"{line} ({few(abs(gap), 'ballot')})" for line, gap in said ^ mine)
