"""The worksheet's arithmetic is the balance's: the same figures give the same gap on every line, on thousands of drawn nights.

The lines themselves are held by published formulas in `tests/balance`; here the paper is held against them.
"""

import random
from dataclasses import replace

import pytest

from tests.paper.printed import Printed
from webapp.paper.forms import forms_pdf
from webapp.precinct.balance.balance import balance
from webapp.precinct.day.notes import dispositions
from webapp.precinct.place.place import Kind, Place
from webapp.precinct.reports.worksheet import tally_kinds, worksheets


def drawn(place: Place, rng: random.Random) -> tuple[dict[str, int], dict]:
    """Figures by the worksheet's keys, and the same figures as the balance wants them."""
    some = {
        key: rng.randrange(0, 40)
        for sheet in worksheets(place)
        for term in (*sheet.left, *sheet.right)
        for key in [term.key]
    }
    some |= {
        "received": rng.randrange(1500, 3000),
        "unused": rng.randrange(0, 900),
        "cancelled": 0,
        "sent": rng.randrange(0, 30),
        "short": rng.randrange(0, 9),
        "over": rng.randrange(0, 9),
        "again": 0,
        "off": 0,
    }
    for t in place.tabulators:
        zero, life = rng.choice((0, 0, 3)), rng.randrange(0, 9000)
        tape = rng.randrange(200, 400)
        some |= {
            f"tape:{t.id}": tape,
            f"public-zero:{t.id}": zero,
            f"public-close:{t.id}": zero + tape + rng.choice((0, 1)),
            f"lifetime-zero:{t.id}": life,
            f"lifetime-close:{t.id}": life + tape,
        }
    for box in place.boxes:
        some[f"again:{box.id}"] = 0
    return some, json_of(place, some)


def json_of(place: Place, n: dict[str, int]) -> dict:
    kinds = [kind for kind, _ in tally_kinds(place)]
    pack = [{"nominal": 100, "counted": 100 - n["short"]}, {"nominal": 100, "counted": 100 + n["over"]}]
    return {
        "dispositions": dispositions(place),
        "rules": {"bins_counted": "always"},
        "stock": {
            "received": n["received"],
            "unused": n["unused"],
            "resupply": n["resupply"],
            "sent": n["sent"],
            "packs": pack,
        },
        "poll_book": sum(n[f"book:{p.id}"] for p in place.precincts),
        "set_aside": {
            kind: {"logged": n.get(f"log:{kind}", 0), "counts": [n[f"envelope:{kind}"]]}
            if f"envelope:{kind}" in n
            else n.get(kind, 0)
            for kind in kinds
        },
        "cast_from": {"card": n["cast:card"], "absentee": n["cast:absentee"]},
        "tabulators": [
            {
                "id": t.id,
                "box": t.box,
                "counter_at_zero": n[f"public-zero:{t.id}"],
                "counter_at_close": n[f"public-close:{t.id}"],
                "lifetime_at_zero": n[f"lifetime-zero:{t.id}"],
                "lifetime_at_close": n[f"lifetime-close:{t.id}"],
                "tape": n[f"tape:{t.id}"],
            }
            for t in place.tabulators
        ],
        "boxes": [
            {
                "id": b.id,
                "bins": {name: n[f"bin:{b.id}:{name}"] for name in b.bins},
                "emptied": [{"at": "12:00", "counter": 1, "n": n[f"emptied:{b.id}"]}],
                "emergency": {
                    "found": n[f"found:{b.id}"],
                    "fed": n[f"fed:{b.id}"],
                    "hand_counted": n[f"by-hand:{b.id}"],
                    "left": n[f"left:{b.id}"],
                },
            }
            for b in place.boxes
        ],
        "containers": [{"id": c.id, "ballots": n[f"in:{c.id}"]} for c in place.containers if c.ballots],
        "seal_stock": {name: n[name] for name in ("issued", "applied", "returned", "damaged")},
    }


PLACES = {
    "as it ships": lambda p: p,
    "provisional voters in the book": lambda p: replace(p, rules=replace(p.rules, provisional_in_poll_book=True)),
    "found ballots set apart": lambda p: replace(p, rules=replace(p.rules, found="set-apart")),
    "a kind of its own": lambda p: replace(
        p, kinds=(Kind("challenged", True, True, True, True), Kind("sleeve", False, True, False, False))
    ),
    "spoiled counted in the book": lambda p: replace(p, kinds=(Kind("spoiled", True, True, False, False),)),
}


@pytest.mark.parametrize("name", PLACES)
def test_each_line_worked_by_hand_has_the_gap_that_the_balance_draws(school, name):
    place, rng = PLACES[name](school), random.Random(11)
    for _ in range(120):
        figures, given = drawn(place, rng)
        for kind in ("spoiled", "provisional"):
            figures[kind] = figures[f"envelope:{kind}"]
        figures["all-by-hand"] = figures["hand-counted"]
        lines = {(line.id, *(line.scope or {}).values()): line.gap for line in balance(given).lines}
        checked = set()
        for sheet in worksheets(place):
            kind, _, at = sheet.id.partition(":")
            key = ("emergency", at) if kind == "emergency" else (sheet.id,)
            if key in lines:
                assert sheet.gap(figures) == lines[key], (sheet.id, figures)
                checked.add(kind)
        assert checked == {
            "stock",
            "poll-book",
            "counter",
            "lifetime",
            "bins",
            "emergency",
            "aside",
            "containers",
            "seal-stock",
        }


def test_paper_against_book_is_drawn_where_no_tape_is_in(school):
    rng = random.Random(5)
    for _ in range(60):
        figures, given = drawn(school, rng)
        given["tabulators"], given["boxes"], given["containers"] = [], [], []
        for kind in ("spoiled", "provisional"):
            figures[kind] = figures[f"envelope:{kind}"]
        line = next(line for line in balance(given).lines if line.id == "paper-to-book")
        assert next(sheet for sheet in worksheets(school) if sheet.id == "paper-to-book").gap(figures) == line.gap


def test_stubs_by_hand(school):
    """next - first - missing = received - unused, per style (common practice, no source)."""
    sheet = next(sheet for sheet in worksheets(school) if sheet.id == "stubs:3A")
    assert sheet.gap({"next:3A": 342, "first:3A": 1, "missing:3A": 1, "drawn:3A": 340}) == 0


def test_every_figure_and_what_a_gap_is_called_are_printed(school):
    text = Printed(forms_pdf(school)).all
    for sheet in worksheets(school):
        assert sheet.title in text and sheet.more_left in text and sheet.more_right in text
        assert [
            term.label
            for term in (*sheet.left, *sheet.right)
            if term.label.removeprefix("less ").lower() not in text.lower()
        ] == []
