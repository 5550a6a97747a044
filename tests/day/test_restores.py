"""Two laptops replaced in one day: what comes back late still stands in a list to be signed, and each restore's lost numbers stay named."""

from dataclasses import dataclass, field

from webapp.precinct.day.current_entry import kept_from
from webapp.precinct.day.restores import restore, restores, unheard
from webapp.record.entry import Entry

ID = bytes(16)


def entry(number, kind, body, run=1):
    return kept_from(
        Entry(ID, run, number, number.to_bytes(16, "big"), kind, body, 0, 0, number, 0, "L", 0, None, ()), {}
    )


def restored(number, last, run):
    return entry(
        number, "restored", {"from_run": run - 1, "last": last, "first": number, "head": ID, "kit": "spare"}, run
    )


@dataclass
class Day:
    entries: list
    length: int = 0
    head: bytes = b""
    returned: dict = field(init=False)

    def __post_init__(self):
        self.returned = {k.number: k for k in self.entries if k.kind == "given-back"}

    def of(self, kind):
        return [k for k in self.entries if k.kind == kind]


def back(number, was, of_run, run):
    return entry(number, "given-back", {"run": of_run, "was": was, "kind": "left", "entry": b"", "from": "A"}, run)


def saw(number, run, seen, tablet="A"):
    return entry(number, "tablet-returned", {"tablet": tablet, "now": "C", "run": run, "seen": seen, "given": 0})


TWICE = Day(
    [
        restored(10_001, 412, 2),
        back(10_002, 413, 1, 2),
        saw(10_003, 1, 416),
        restored(20_001, 10_003, 3),
        back(20_002, 415, 1, 3),
        back(20_003, 10_005, 2, 3),
        saw(20_004, 2, 10_006, "C"),
    ]
)


def test_each_restore_names_its_own_lost_numbers():
    first, second = restores(TWICE)
    assert (first.seen, first.lost) == (416, (414, 416))
    assert (second.seen, second.lost) == (10_006, (10_004, 10_006))


def test_what_comes_back_of_an_older_run_waits_for_the_signature_too():
    now = restore(TWICE)
    assert set(now.given) == {415, 10_005} and set(now.unsigned) == {20_002, 20_003}


def test_a_number_of_the_laptop_that_took_over_was_seen_by_nobody_before():
    assert restore(Day([restored(10_001, 412, 2), saw(10_002, 1, 2**40)])).seen == 412


def test_tablets_are_open_until_they_are_heard_or_struck_off():
    before = [(5, "paired", "A"), (6, "paired", "B"), (7, "paired", "C")]
    since = [(10_005, "paired", "D"), (10_006, "tablet-returned", "A"), (10_007, "revoked", "C")]
    assert unheard([*before, *since], 412, 10_001) == ["B"]
