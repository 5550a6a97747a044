"""The office's totals are a function of the set of packets and entries: whatever order they come in, the same totals byte for byte."""

import json
import random
from dataclasses import replace

import pytest

from tests.matrix import ALL
from webapp.office.checking.what_counts import Aside, Ruling
from webapp.office.keying.from_paper import KeyedPlace
from webapp.office.questions.findings import Finding, spot
from webapp.office.questions.withdrawn import Withdrawal
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup import roster
from webapp.office.totals import totals

CONTESTS = ("GOV", "PROP1")
SETS, ORDERS, EACH = (75, 40, 10) if ALL else (8, 12, 10)  # sets of ten events, orders of each: 3,000 with --all


def small(core, place: str, digest: bytes, votes: int, **changes):
    """A core of two contests, so that three thousand nights take seconds; `votes` go to the first choice."""
    kept = [c for c in CONTESTS if c in core["contests"]] or list(core["contests"])[:2]
    rows = {c: list(core["contests"][c]) for c in kept}
    tapes = [{**one, "contests": {c: list(one["contests"][c]) for c in kept}} for one in core["tabulators"]]
    rows[kept[0]][0] += votes
    tapes[0]["contests"][kept[0]][0] += votes
    told = {"steps": [], "readings": [], "seals": [], "marks": [], "contests": rows, "tabulators": tapes}
    return {**core, **told, "place": place, "place_digest": digest} | changes


@pytest.fixture(scope="module")
def pool(desk, ready):
    """(roster, events): packets proven and not, that amend and contradict; rulings, packets set aside, findings, two keyed papers."""
    found = roster.load(ready[0])
    digest = {place.id: place.digest for place in found.places.values()}

    def opened(name: int, place: str, votes: int, number=1, amends=None, proven=True):
        core = small(desk.opened.core, place, digest[place], votes, number=number, amends=amends)
        mine = next(row.kid for row in found.enrolments.values() if row.place == place)
        return replace(
            desk.opened, core=core, digest=bytes([name]) * 32, verified=proven, kid=mine if proven else b"?" * 8
        )

    a, b = opened(1, "W3", 0), opened(2, "W3", 1, 2, bytes([1]) * 32)
    c, stranger = opened(3, "W3", 2, 3), opened(4, "W3", 50, 9, bytes([1]) * 32, proven=False)
    d, e, v = opened(5, "W5", 0), opened(6, "W5", 3, 2, bytes([5]) * 32), opened(7, "W5", 60, proven=False)
    file = found.places["W3"]
    line = f"votes/T1/{next(iter(a.core['contests']))}/{file.contests[0].choices[0].id}"
    was, unused = spot(a.core, file, line).value, spot(a.core, file, "unused/3A").value

    def paper(name: int, place: str, votes: int, kept: int, amends=()):
        mine = opened(name, place, votes)
        core = {k: v for k, v in mine.core.items() if k not in ("head", "length", "run")}
        return KeyedPlace(bytes([name]) * 16, name, kept, amends, "doubted", (), replace(mine, core=core))

    events = [
        *(("packet", "W3", one) for one in (a, b, c, stranger)),
        *(("packet", "W5", one) for one in (d, e, v)),
        ("rule", "W3", Ruling(10, b"r" * 16, c.digest, (a.digest, b.digest))),
        ("rule", "W3", Ruling(12, b"s" * 16, b.digest)),
        ("rule", "W3", Ruling(12, b"t" * 16, stranger.digest, (), True)),
        ("rule", "W5", Ruling(11, b"u" * 16, v.digest, (d.digest,), True)),
        ("aside", "W3", Aside(9, b"v" * 16, b.digest, True)),
        ("aside", "W3", Aside(13, b"w" * 16, b.digest, False)),
        ("aside", "W5", Aside(9, b"x" * 16, e.digest, True)),
        ("find", "W3", Finding(40, line, was, was + 7, "", 8, b"a" * 16)),
        ("find", "W3", Finding(41, line, was, was + 9, "", 8, b"b" * 16)),
        ("find", "W3", Finding(42, "unused/3A", unused, unused + 1, "", 9, b"c" * 16)),
        ("withdraw", "W3", Withdrawal(50, frozenset({b"b" * 16, b"c" * 16}))),
        ("withdraw", "W3", Withdrawal(51, frozenset({b"a" * 16}))),
        ("paper", "W3", paper(8, "W3", 5, 10)),
        ("paper", "W5", paper(9, "W5", 3, 10)),
    ]
    return found, events


def night(tmp_path, found, events) -> bytes:
    """What the office says after these came, as bytes: totals, groups of small places, what counts, what is marked."""
    tray = ReceivedPackets(tmp_path, found)
    for kind, place, one in events:
        if kind == "packet":
            tray.count_in(place, one.digest, one)
        else:
            acts = {"rule": tray.rule, "aside": tray.set_aside, "find": tray.find, "paper": tray.key}
            (acts | {"withdraw": tray.withdraw})[kind](place, one)
    by_id = {one.contest.id: one for one in totals.totals([one for _, one in tray.current()])}
    told = {
        "totals": [
            [contest.id, [c.id for c in contest.choices], (one := by_id.get(contest.id)) and [one.figures, one.places]]
            for contest in tray.over_all.contests.values()
        ],
        "groups": {contest: tray.over_all.groups(contest) for contest in sorted(tray.over_all.small_groups)},
        "ballots": tray.over_all.ballots,
        "marks": {name: sorted(places) for name, places in tray.marks.items()},
        "outcomes": {
            place: [
                found.digest and found.digest.hex(),
                [one.hex() for one in found.against],
                sorted(found.states.values()),
            ]
            for place in sorted(tray.roster.places)
            for found in [tray.outcome(place)]
        },
    }
    return json.dumps(told, sort_keys=True).encode()


def test_any_order_of_ten_packets_and_entries_gives_the_same_totals_byte_for_byte(tmp_path, pool):
    found, events = pool
    draw, seen = random.Random(1126), set[bytes]()
    for _ in range(SETS):
        chosen = draw.sample(events, EACH)
        first = night(tmp_path, found, chosen)
        for _ in range(ORDERS - 1):
            draw.shuffle(chosen)
            assert night(tmp_path, found, chosen) == first, [event[:2] for event in chosen]
        seen.add(first)
    assert len(seen) > SETS / 2, "the nights that were drawn differ"


def test_a_packet_that_leaves_and_comes_back_leaves_no_trace(tmp_path, pool):
    found, events = pool
    packet = events[0]
    away = ("aside", "W3", Aside(9, b"y" * 16, packet[2].digest, True))
    back = ("aside", "W3", Aside(10, b"z" * 16, packet[2].digest, False))
    assert night(tmp_path, found, [packet, away, back]) == night(tmp_path, found, [packet])
    assert json.loads(night(tmp_path, found, [packet, away]))["totals"] == []
