"""Each thing of a packet's core, left out in turn, is named; and nothing is named that is there."""

import copy
from html import unescape

import pytest

from tests.matrix import some
from tests.office.conftest import tiny
from webapp.office.checking import packet_checks, packet_schema, packet_words
from webapp.office.checking.packet_lacks import as_sentence, lacks
from webapp.packet.cose import PacketRefused
from webapp.precinct.balance import night_figures

SAID_BY_ANOTHER_CHECK = {
    "remarks_digest",
    "gaps",
    "remarks",
    "v",
    "place",
    "place_digest",
    "mode",
    "run",
    "length",
    "head",
    "made",
    "number",
    "amends",
}
ONLY_WHERE_THERE_WAS_ONE = {
    "bin-emptied",
    "pack-opened",
    "resupply",
    "sent",
    "tabulator-out",
    "tabulator-in",
    "power-lost",
    "power-back",
    "emergency-on",
    "emergency-off",
    "incident",
    "instruction",
    "observers",
    "relief",
    "evacuation",
    "seal-broken",
    "seal-applied",
    "hourly",
    "remark",
    "oath",
    "counted-again",
}
NOT_OF_THE_PLACE_FILE = {"C1", "B2-write-in", "T2-door"}  # points that were sealed during the day


def named(core, place) -> set[str]:
    return {lack.name for lack in lacks(core, place)}


def test_the_packet_of_the_day_lacks_nothing(desk):
    assert lacks(desk.opened.core, desk.roster.places["W3"]) == ()


def without(core, *path):
    """The core with one thing taken out, wherever it lies."""
    made = copy.deepcopy(dict(core))
    at = made
    for step in path[:-1]:
        at = at[step]
    del at[path[-1]]
    return made


EMPTY = {
    "steps": [],
    "readings": [],
    "stock": {},
    "aside": {},
    "emergency": [],
    "people": [],
    "tabulators": [],
    "contests": {},
    "seals": [],
    "containers": [],
    "marks": [],
    "hours": [None] * 3,
}


def left_out_of(core, path: tuple) -> dict:
    """The core without one thing; a part that must be there is there and empty."""
    return {**core, path[0]: EMPTY[path[0]]} if len(path) == 1 and path[0] in EMPTY else without(core, *path)


def paths(core) -> list[tuple]:
    """Each key, each step, each contest, container, reading, figure: everything that may be left out of a core alone."""
    found = [(key,) for key in core if key not in SAID_BY_ANOTHER_CHECK]
    found += [("steps", i) for i, step in enumerate(core["steps"]) if step[0] not in ONLY_WHERE_THERE_WAS_ONE]
    found += [
        (part, i)
        for part in ("marks", "readings", "people", "tabulators", "emergency", "containers")
        for i in range(len(core[part]))
    ]
    found += [("seals", i) for i, row in enumerate(core["seals"]) if row["at"] not in NOT_OF_THE_PLACE_FILE]
    found += [(part, key) for part in ("contests", "aside", "stock") for key in core[part]]
    found += [
        ("tabulators", i, "contests", key)
        for i, one in enumerate(core["tabulators"])
        for key in one.get("contests", {})
    ]
    found += [("tabulators", i, key) for i, one in enumerate(core["tabulators"]) for key in ("tape", "runs")]
    found += [("stock", name, i) for name in ("received", "unused") for i in range(len(core["stock"][name]))]
    return found


def test_every_part_of_a_packet_and_of_the_balance_has_words_for_the_desk():
    """Rules and what became of ballots come from the place file, not out of a packet."""
    parts = {*packet_schema.CORE, *packet_schema.REMARKS, *night_figures.PARTS} - {"rules", "dispositions"}
    assert parts - set(packet_words.PARTS) == set()


def test_whatever_is_left_out_is_named(desk):
    core, place = desk.opened.core, desk.roster.places["W3"]
    left_out = paths(core)
    assert len(left_out) > 150
    quiet = []
    for path in left_out:
        found = lacks(left_out_of(core, path), place)
        if not found or not as_sentence(found, place):
            quiet.append((*path, core["steps"][path[1]][0]) if path[0] == "steps" and path[1:] else path)
    assert quiet == [], (
        "office/checking/packet_lacks.py names nothing where these are left out; a note that is there only where something happened goes into ONLY_WHERE_THERE_WAS_ONE"
    )


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        ({"hours": [None, 1793757720000, 1793757600000]}, "lacks/time/opened", "the time the polls opened"),
        ({"made": 0}, "odd/made", "election day"),
        ({"made": 253_402_300_799_000}, "odd/made", "election day"),
        ({"number": 0}, "odd/number", "its number is 0"),
        ({"number": 10**15}, "odd/number", "numbered from 1"),
        ({"number": 2}, "odd/amends", "says of no earlier packet"),
        ({"length": 0}, "odd/length", "no entry"),
        ({"contests": {}}, "lacks/contest/GOV", "11 contests"),
    ],
)
def test_times_numbers_and_contests_that_cannot_be_a_nights_are_named(desk, changes, name, words):
    place = desk.roster.places["W3"]
    found = lacks({**desk.opened.core, **changes}, place)
    assert name in {lack.name for lack in found} and words in as_sentence(found, place)


def test_tapes_that_do_not_add_up_to_the_packets_row_are_named_with_both_figures(desk):
    core, place = copy.deepcopy(dict(desk.opened.core)), desk.roster.places["W3"]
    core["contests"]["GOV"][0] += 100
    found = lacks(core, place)
    assert [lack.name for lack in found] == [
        "odd/sum/GOV/0"
    ] and "the tapes together have 267, the packet 367" in found[0].words


def test_a_tabulator_that_stayed_shut_takes_its_own_steps_and_figures_with_it(desk):
    core, place = copy.deepcopy(dict(desk.opened.core)), desk.roster.places["W3"]
    core["steps"] = [
        s for s in core["steps"] if s[1] != "T2" or s[0] in ("tabulator-seals", "tabulator-away", "memory")
    ]
    core["steps"] = [
        [s[0], s[1], s[2], s[3], 1] if s[0] == "tabulator-seals" and s[1] == "T2" else s for s in core["steps"]
    ]
    core["tabulators"] = core["tabulators"][:1]
    assert {name for name in named(core, place) if "T2" in name} == set()


def test_a_place_of_few_ballots_says_everything_that_it_left_out(desk):
    place = desk.roster.places["W3"]
    few = {name: value for name, value in (desk.opened.core | tiny(place)).items() if value is not ...}
    sentence = as_sentence(lacks(few, place), place)
    assert "every hourly reading" in sentence and "more" in sentence


def test_each_name_of_the_core_left_out_is_refused_or_named_by_the_desks_checks(desk):
    """Whatever name is taken out of a signed core: a sentence refuses the packet, or a check needs attention."""
    quiet = []
    for name in desk.opened.core:
        if name == "remarks_digest":  # sealed anew with every packet
            continue
        try:
            report = packet_checks.check(desk.sealed(**{name: ...}), desk.roster)
        except PacketRefused as refused:
            assert len(str(refused)) > 30 and "Traceback" not in str(refused)
            continue
        if not [check for check in report.checks if check.state != "agrees"]:
            quiet.append(name)
    assert quiet == []


def test_what_a_packet_lacks_stands_on_every_page_and_the_place_is_never_agreed(night, desk):
    """A contest, a step, a container, a reading in turn, each in a packet of its own, on the screens."""
    core = desk.opened.core
    contests = {name: row for name, row in core["contests"].items() if name != "GOV"}
    cases = [
        ({"contests": contests}, "Governor"),
        ({"steps": [step for step in core["steps"] if step[0] != "zero-tape"]}, "zero tape"),
        ({"containers": core["containers"][1:]}, core["containers"][0]["id"]),
        ({"marks": []}, "check words"),
        ({"people": []}, "check-ins"),
    ]
    night.hold()
    before = None
    for number, (changes, words) in enumerate(cases, 1):
        night.take_in("W3", number=number, amends=before, **changes)
        before = night.room.tray.outcome("W3").digest
        named = [one for one in night.room.questions("W3") if one.open and one.name.startswith("lacks/")]
        assert any(words.lower() in one.says.lower() for one in named), (words, [one.says for one in named])
        for path in ("/place/W3", "/questions/W3"):
            assert words.lower() in night.window.get(path).text.lower(), (path, words)
        state = night.room.state("W3")[1]
        assert "open" in state and "agreed" not in state
        canvass = night.window.get("/canvass?show=all").text
        assert "every line agrees" not in canvass and state in canvass
        if "contests" in changes:
            totals = night.window.get("/totals").text
            assert "Governor" in totals and "0 of 1 places. Not in their packets" in totals


def parts_by_kind(left_out: list[tuple]) -> list[tuple]:
    """The first and the last of each kind of thing that may be left out, and each key of the core."""
    found: dict[tuple, list[tuple]] = {}
    for path in left_out:
        found.setdefault((path[0], len(path)), []).append(path)
    return [path for row in found.values() for path in dict.fromkeys((row[0], row[-1]))]


def test_each_key_step_contest_and_container_left_out_is_named_on_the_screens_and_none_agrees(night, desk):
    """Each a packet of its own, signed by the place and taken in over HTTP, in the place of the one before; with --all, whatever can be left out."""
    core, place = desk.opened.core, desk.roster.places["W3"]
    everything, before, quiet, refused = paths(core), None, [], []
    night.hold()
    for number, path in enumerate(some(parts_by_kind(everything), everything), 1):
        made = left_out_of(core, path)
        found = lacks(made, place)
        words, named = as_sentence(found, place), {one.name for one in found}
        changes = {name: made.get(name, ...) for name in core if name == path[0]}
        page = night.upload(("packet.cose", b"".join(night.seal["W3"](**changes, number=number, amends=before))))
        if "/intake/take" not in {form.action for form in page.forms}:
            refused.append((path, page.said()))
            night.window.send(page.form("/intake/clear"))
            continue
        if words not in unescape(page.text):
            quiet.append((path, page.said()))
            continue
        night.window.send(page.form("/intake/take"))
        before = night.room.tray.outcome("W3").digest
        open_now = {one.name for one in night.room.questions("W3") if one.open}
        text = unescape(night.window.get("/place/W3").text)
        state = night.room.state("W3")[1]
        if not named <= open_now or words not in text or "open" not in state or state.startswith("agreed"):
            quiet.append((path, state, named - open_now))
    assert quiet == [] and number > 30 and len(refused) < number / 10
    assert all("Set it aside and ask the place" in said for _, said in refused), refused
    assert "every line agrees" not in night.window.get("/canvass?show=all").text
