"""Each reader of foreign bytes, what it is given, and the one kind of refusal in which everything else ends.

A draw is a good example with some of it changed (flipped, cut, doubled, put elsewhere) or bytes of no form at all.
"""

import json
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from tests.checklist.cast import LINDEN, Day
from webapp.commands.balance import figures_in
from webapp.office.setup import office_file
from webapp.office.totals import official_results
from webapp.packet import envelope, frames, held_frames
from webapp.packet.cose import PacketRefused
from webapp.pages.tablets import held_entry
from webapp.precinct.balance.balance import Unreadable
from webapp.precinct.checklist import checklist
from webapp.precinct.explain.explain import explained
from webapp.precinct.place import place_file
from webapp.precinct.place.toml_document import Mistakes
from webapp.record.audit import UnusableFile, verify

HERE = Path(__file__).resolve().parents[1]
PACKET = (HERE / "packet" / "stored" / "packet.cose").read_bytes()
FRAMES = (HERE / "packet" / "stored" / "frames.txt").read_text(encoding="ascii").splitlines()
HELD = json.loads((HERE / "packet" / "stored" / "held-codes.json").read_text(encoding="utf-8"))["codes"]
PLACE = (HERE / "place" / "stored" / "place.toml").read_bytes()
FIGURES = (HERE / "balance" / "stored" / "rich.json").read_bytes()
RECORD = (HERE / "record" / "stored" / "record.db").read_bytes()
RESULTS = (
    b"precinct,contest,vote_for,choice,kind,votes,ballot_group\nP1,Governor,1,Ada Lind,candidate,12,Election Day\n" * 1
    + (b"P1,Governor,1,,undervote,3,Election Day\nP1,Governor,1,,overvote,0,Election Day\n")
)
STEPS = checklist.defaults()


@dataclass(frozen=True)
class Reader:
    """`read` returns, or raises one of `refusals`; anything else is a fault."""

    name: str
    draws: SearchStrategy
    read: Callable[[object], object]
    refusals: tuple[type[Exception], ...]


@st.composite
def changed(draw: st.DrawFn, example: bytes) -> bytes:
    """Some places of an example changed."""
    data = bytearray(example)
    for _ in range(draw(st.integers(1, 4))):
        at, size = draw(st.integers(0, max(0, len(data) - 1))), draw(st.sampled_from((1, 1, 2, 8, 64, 1024)))
        match draw(st.sampled_from(("flip", "cut", "double", "put", "end"))):
            case "flip":
                data[at : at + 1] = bytes([draw(st.integers(0, 255))])
            case "cut":
                del data[at : at + size]
            case "double":
                data[at:at] = data[at : at + size] * draw(st.integers(1, 40))
            case "put":
                data[at:at] = draw(st.binary(max_size=32))
            case "end":
                del data[at:]
    return bytes(data)


def of(example: bytes) -> SearchStrategy:
    return st.one_of(changed(example), st.binary(max_size=400))


def lines_of(texts: list[str]) -> SearchStrategy:
    return (
        st.sampled_from(texts)
        .flatmap(lambda text: changed(text.encode("ascii")))
        .map(lambda data: data.decode("latin-1"))
    )


def filed(data: bytes, read: Callable[[Path], object]) -> object:
    """What a reader of files says of these bytes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "one"
        path.write_bytes(data)
        return read(path)


def open_whole(data: object) -> object:
    return envelope.open_packet(envelope.parts_of(data), None, None)


def form(drawn: tuple[int, dict[str, str]]) -> object:
    """A form of any step of a day that has begun: it never raises; mistakes are sentences."""
    number, values = drawn
    day = Day(clock="12:30")
    step = STEPS[number % len(STEPS)]
    at = next(iter(checklist.ats(step, LINDEN)), "") if step.per else ""
    names = [one.name for one in step.fields] + ["not_so", "found", "done", *values]
    sent = dict(zip(names, values.values()))
    read = checklist.read_form(checklist.fill(step, LINDEN, at), at, LINDEN, day, sent, day.now)
    assert all(isinstance(sentence, str) and sentence for sentence in read.mistakes.values())
    return read


TEXT = st.one_of(
    st.text(max_size=40),
    st.sampled_from(["yes", "0", "12", "9" * 30, "1 400", "14:05", "\u202e12", "\0", "x" * 2001, "W1 7\nW1 8"]),
)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(("seq", "id", "salt", "kind", "at", "form", "made", "holder", "saw", "x")),
            inner,
            max_size=9,
        )
    ),
    max_leaves=24,
)

READERS = (
    Reader("packet", of(PACKET), open_whole, (PacketRefused,)),
    Reader("frame", lines_of(FRAMES), frames.read, (PacketRefused,)),
    Reader("held code", lines_of(HELD), held_frames.read, (PacketRefused,)),
    Reader("held codes whole", of(b"\x85\x01"), held_frames.unpack, (PacketRefused,)),
    Reader("held entry", JSON, held_entry.entry, (held_entry.UnclearEntry,)),
    Reader("place file", of(PLACE), place_file.read, (Mistakes,)),
    Reader("office file", of(b'name = "Tarn"\nsmall = 10\n' + PLACE[:300]), office_file.read, (Mistakes,)),
    Reader("figures", of(FIGURES), lambda data: explained(filed(data, figures_in)), (Unreadable,)),
    Reader("results", of(RESULTS), official_results.rows_of, (official_results.UnusableResults,)),
    Reader("record", changed(RECORD), lambda data: filed(data, verify), (UnusableFile,)),
    Reader("form", st.tuples(st.integers(0, 200), st.dictionaries(st.text(max_size=8), TEXT, max_size=12)), form, ()),
)
