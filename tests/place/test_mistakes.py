"""Each mistake of a place file: its sentence and the line it stands on. The rules are those of the product's own format (formats.md)."""

import pytest

from tests.place.conftest import SMALL
from webapp.precinct.place import place_file

# (what is written, what is written instead, the text of the line that is cited, the sentence)
CASES = {
    "another format": ("format = 1", "format = 2", "format = 2", "format of the file is 2: write 1."),
    "no mode": ('mode = "live"\n', "", "format = 1", 'The file has no mode: write mode = "live" or "practice".'),
    "a mode nearly right": (
        '"live"',
        '"liv"',
        'mode = "liv"',
        'mode of the file is "liv": write "live" or "practice". Do you mean "live"?',
    ),
    "a key nobody knows": (
        "county = ",
        'countie = "x"\ncounty = ',
        "countie",
        '[place] has no key "countie": mend it or take it out. Do you mean "county"?',
    ),
    "a table nobody knows": (
        "[rules]",
        "[weather]\nwet = true\n\n[rules]",
        "[weather]",
        'The file has no key "weather": mend it or take it out. It may hold: '
        "applied, boxes, containers, contests, copies, edition, format, kind, kinds, mode, officials, parties, phones, place, precincts, queue, rules, seals, steps, "
        "stock, styles, tabulators, test.",
    ),
    "no county": ('county = "Sable County"\n', "", "[place]", '[place] has no county: write county = "Tarn County".'),
    "a name left blank": (
        '"Ropewalk Hall"',
        '"  "',
        'name = "  "',
        'name of [place] is "  ": write a text that can be read, on one line, such as "Lantern Street School".',
    ),
    "an id with an accent": (
        'id = "R7"',
        'id = "Ré7"',
        'id = "Ré7"',
        'id of [place] is "Ré7": write 1 to 16 letters, digits or dashes, such as "W3".',
    ),
    "an id too long": (
        'id = "q1"',
        'id = "abcdefghijklmnopq"',
        "abcdefghijklmnopq",
        'id of [[officials]] is "abcdefghijklmnopq": write 1 to 16 letters, digits or dashes, such as "o1".',
    ),
    "an id without quotes": (
        'id = "q1"',
        "id = 1",
        "id = 1",
        'id of [[officials]] is 1: write letters, digits or dashes in quotes, such as "o1".',
    ),
    "no such day": (
        "2026-11-03",
        '"2026-11-31"',
        "2026-11-31",
        'date of [place] is "2026-11-31": write a day, year first: 2026-11-03.',
    ),
    "a day of another age": (
        "2026-11-03",
        "0026-11-03",
        "0026-11-03",
        "date of [place] is 0026-11-03: write a day of this century or the next: 2026-11-03.",
    ),
    "a day with an hour": (
        "2026-11-03",
        "2026-11-03T07:00:00",
        "date = ",
        "date of [place] is 2026-11-03 07:00:00: write a day, year first: 2026-11-03.",
    ),
    "hours of a 12-hour clock": (
        '"20:00"',
        '"8 pm"',
        "8 pm",
        'closes of [place] is "8 pm": write hour and minute of a 24-hour clock: "20:00".',
    ),
    "an hour that is none": (
        '"20:00"',
        '"24:30"',
        "24:30",
        'closes of [place] is "24:30": write hour and minute of a 24-hour clock: "20:00".',
    ),
    "hours the wrong way round": (
        '"20:00"',
        '"06:00"',
        "06:00",
        "The polls would close at 06:00, not after they open at 07:00: write both on the 24-hour clock, "
        'such as opens = "07:00" and closes = "20:00".',
    ),
    "a zone mistyped": (
        "America/Chicago",
        "America/Chicgo",
        "Chicgo",
        'zone of [place] is "America/Chicgo", which the list of time zones does not hold: write the '
        'name of a zone. Do you mean "America/Chicago"?',
    ),
    "a zone that is a folder": (
        "America/Chicago",
        "America",
        "zone = ",
        'zone of [place] is "America", which the list of time zones does not hold: write the name '
        'of a zone, such as "America/Chicago".',
    ),
    "live without a host": (
        'host = "r7.sable.example"\n',
        "",
        "[place]",
        "[place] has no host: write the name under which tablets reach the laptop, such as "
        'host = "w3.precinct.example".',
    ),
    "an address for a host": (
        "r7.sable.example",
        "192.168.4.1",
        "192.168",
        'host of [place] is "192.168.4.1": write a name in small letters, digits, dashes and points, never an address.',
    ),
    "localhost in a live place": (
        "r7.sable.example",
        "localhost",
        "localhost",
        "host of [place] is localhost, which every tablet takes for itself: write the name of the laptop.",
    ),
    "the poll-book rule unstated": (
        "provisional_in_poll_book = false\n",
        "",
        "[rules]",
        "[rules] has no provisional_in_poll_book: write provisional_in_poll_book = "
        "true or false (a provisional voter is checked in in the poll book, or is not).",
    ),
    "found ballots unstated": (
        'found = "spoiled-not-reissued"\n',
        "",
        "[rules]",
        '[rules] has no found: write found = "spoiled-not-reissued", "set-apart" or '
        '"emergency" (what a ballot found in a booth or at the tabulator becomes here).',
    ),
    "yes for true": (
        "provisional_in_poll_book = false",
        'provisional_in_poll_book = "no"',
        "provisional",
        'provisional_in_poll_book of [rules] is "no": write true or false, without quotes.',
    ),
    "no rules at all": (
        '[rules]\nprovisional_in_poll_book = false\nfound = "spoiled-not-reissued"\n',
        "",
        "format = 1",
        "[rules] is missing: write [rules] and below "
        'it provisional_in_poll_book = true or false, and found = "spoiled-not-reissued".',
    ),
    "overvotes in sheets": (
        'found = "',
        'overvotes = "sheets"\nfound = "',
        "overvotes",
        'overvotes of [rules] is "sheets": write "votes" or "ballots".',
    ),
    "a battery for three days": (
        'found = "',
        'battery_hours = 72\nfound = "',
        "battery",
        "battery_hours of [rules] is 72: write a number from 1 to 48, such as 6.",
    ),
    "a clock of 10 hours": ('found = "', 'clock = 10\nfound = "', "clock", "clock of [rules] is 10: write 24 or 12."),
    "booths by the hundred thousand": (
        "[rules]",
        "[queue]\nbooths = 100000\n\n[rules]",
        "booths",
        "booths of [queue] is 100000: write a number from 1 to 500, such as 10.",
    ),
    "half minutes": (
        "[rules]",
        "[queue]\nbooth_minutes = 4.5\n\n[rules]",
        "booth_minutes",
        "booth_minutes of [queue] is 4.5: write a whole number without quotes, such as 6.",
    ),
    "a station nobody knows": (
        "[rules]",
        "[queue]\nscanners = 2\n\n[rules]",
        "scanners",
        '[queue] has no key "scanners": mend it or take it out. It may hold: booth_minutes, booths, '
        "check_in_seconds, check_in_stations, tabulator_seconds.",
    ),
    "a queue that is a number": (
        'edition = "1"',
        'edition = "1"\nqueue = 3',
        "queue",
        "queue is a table: write [queue] on a line of its own and below it check_in_stations, booths or what "
        "else is known.",
    ),
    "nobody registered": (
        'name = "Ropewalk"',
        'name = "Ropewalk"\nregistered = 0',
        "registered",
        "registered of [[precincts]] P1 is 0: write a number from 1 to 999999999, such as 1200.",
    ),
    "a typed contest unknown": (
        'found = "',
        'typed = ["MAYR"]\nfound = "',
        "typed",
        "There is no contest MAYR: write one of MAYOR, or add it as [[contests]].",
    ),
    "a pair of three": (
        'found = "',
        'different = [["A", "B", "A"]]\nfound = "',
        "different",
        'Each pair in different of [rules] is two ids of parties that count as different: write ["M", "P"].',
    ),
    "a pair of an unknown party": (
        'found = "',
        'different = [["A", "B"], ["A", "C"]]\nfound = "',
        "different",
        "There is no party C: write one of A, B, or add it as [[parties]].",
    ),
    "pairs nobody fills": (
        'found = "',
        'different = [["A", "A"]]\nfound = "',
        "different",
        "No two officials are of parties that count as different here: name "
        "officials of both parties of a pair, or change the pairs.",
    ),
    "a word of nine letters": (
        'word = "Alder"',
        'word = "Alderfolk"',
        "Alderfolk",
        'word of [[parties]] A is "Alderfolk": write at most 8 letters; these are 9.',
    ),
    "a word of digits": (
        'word = "Alder"',
        'word = "A1"',
        '"A1"',
        'word of [[parties]] A is "A1": write 1 to 8 letters, as they are printed under the initials.',
    ),
    "one word for two parties": (
        'word = "Bittern"',
        'word = "ALDER"',
        "ALDER",
        'word "ALDER" is in two [[parties]]: choose another, as it alone stands under the initials.',
    ),
    "an official of no party": (
        'party = "B"',
        'party = "C"',
        'party = "C"',
        "There is no party C: write one of A, B, or add it as [[parties]].",
    ),
    "all of one party": (
        'party = "B"',
        'party = "A"',
        "[[officials]]",
        "All 2 officials are of one party, Alder League: name one of another party, or write in [rules] "
        "different which pairs of parties count as different.",
    ),
    "nobody is chair": (
        'role = "chair"',
        'role = "warden"',
        "[[officials]]",
        'Nobody here is the chair: write role = "chair" for the one who is in charge, whatever the title.',
    ),
    "two chairs": (
        'role = "witness"',
        'role = "chair"',
        'role = "chair"',
        'Zoe Angstrom is the chair already: write role = "deputy" or what Imre Vadasz does.',
    ),
    "a role that is a seat": (
        'role = "witness"',
        'role = "other"',
        "other",
        'role of [[officials]] q2 is "other", a word that names a seat on every step: write what '
        'this person does, such as "witness".',
    ),
    "two people of one name": (
        '"Imre Vadasz"',
        '"Zoe Angstrom"',
        "Zoe Angstrom",
        'name "Zoe Angstrom" is in two [[officials]]: add a second name, so that nobody signs for the other.',
    ),
    "an id twice": (
        'id = "q2"',
        'id = "Q1"',
        'id = "Q1"',
        'id "Q1" is in two [[officials]]: give one of the two another.',
    ),
    "a style of an unknown precinct": (
        'precincts = ["P1"]',
        'precincts = [\n  "P1",\n  "P2",\n]',
        '"P2"',
        "There is no precinct P2: write one of P1, or add it as [[precincts]].",
    ),
    "a style with a contest twice": (
        'contests = ["MAYOR"]',
        'contests = ["MAYOR", "MAYOR"]',
        "MAYOR",
        "MAYOR is twice in contests of [[styles]] S1: take one out.",
    ),
    "a style without contests": (
        'contests = ["MAYOR"]',
        "contests = []",
        "contests = []",
        'contests of [[styles]] S1 is an empty list: write a list with at least one in quotes, such as ["SEN"].',
    ),
    "a precinct without a style": (
        "[[styles]]",
        '[[precincts]]\nid = "P2"\nname = "Quay"\n\n[[styles]]',
        "[[precincts]]",
        "No style is voted in precinct P2: name it in precincts of a [[styles]], or take it out.",
    ),
    "vote for none": (
        "n = 1",
        "n = 0",
        "n = 0",
        "n of [[contests]] MAYOR is 0: write a number from 1 to 200, such as 1.",
    ),
    "a number in quotes": (
        "n = 1",
        'n = "1"',
        'n = "1"',
        'n of [[contests]] MAYOR is "1": write a whole number without quotes, such as 1.',
    ),
    "true is no number": (
        "n = 1",
        "n = true",
        "n = true",
        "n of [[contests]] MAYOR is true: write a whole number without quotes, such as 1.",
    ),
    "a choice without a label": (
        '{ id = "L", label = "Lena Marl" }',
        '{ id = "L" }',
        '{ id = "L" }',
        'Choices of [[contests]] MAYOR L has no label: write label = "Name as on the ballot".',
    ),
    "a choice twice": (
        'id = "L"',
        'id = "K"',
        "Lena",
        'id "K" is in two choices of MAYOR: give one of the two another.',
    ),
    "a contest of nobody": (
        'choices = [\n    { id = "K", label = "Kit Rowan" },\n    { id = "L", label = "Lena Marl" },\n]',
        "choices = []",
        "choices = []",
        'choices of [[contests]] MAYOR: none given, at least 1 needed: write each with { id = "A", label = "Name as on the ballot" }.',
    ),
    "a bin called emergency": (
        'id = "X"',
        'id = "X"\nbins = ["main", "emergency"]',
        "bins",
        "bins of [[boxes]] X name the emergency bin, which is counted apart: take it out and write emergency = true.",
    ),
    "a tabulator without its box": (
        'box = "X"',
        'box = "Z"',
        'box = "Z"',
        "There is no box Z: write one of X, or add it as [[boxes]].",
    ),
    "a box called like a tabulator": (
        'id = "X"',
        'id = "t1"',
        'id = "t1"',
        "t1 names a tabulator already: give this box another id.",
    ),
    "a counter that ran backwards": (
        'box = "X"',
        'box = "X"\nlifetime = -5',
        "lifetime",
        "lifetime of [[tabulators]] T1 is -5: write a number from 0 to 999999999, such as 9000.",
    ),
    "stock of an unknown style": (
        'style = "S1"',
        'style = "S2"',
        'style = "S2"',
        "There is no style S2: write one of S1, or add it as [[styles]].",
    ),
    "a style without stock": (
        '[[stock]]\nstyle = "S1"\nreceived = 500\n',
        "",
        "[[styles]]",
        'Style S1 has no stock: write [[stock]] with style = "S1" and received, 0 '
        "where its ballots are printed on the spot.",
    ),
    "a pack of nothing": (
        "received = 500",
        "received = 500\npack = 0",
        "pack",
        "pack of [[stock]] is 0: write a number from 1 to 10000, such as 100.",
    ),
    "seals without quotes": (
        'first = "0096"',
        "first = 96",
        "first = 96",
        'first of [[seals]] is 96: write letters, digits or dashes in quotes, such as "0412".',
    ),
    "seals backwards": (
        'last = "0103"',
        'last = "0090"',
        "first",
        '[[seals]] runs from "0096" to "0090": write the lower number first.',
    ),
    "seals of two lengths": (
        'last = "0103"',
        'last = "103"',
        "first",
        '[[seals]] runs from "0096" to "103": write two numbers of the same length that differ in their '
        'last digits only, such as first = "0412" and last = "0451", or list them as numbers = ["0412", "0413"].',
    ),
    "too many seals": (
        'first = "0096"\nlast = "0103"',
        'first = "00000"\nlast = "99999"',
        "first",
        '[[seals]] runs from "00000" to "99999": that is 100000 seals; write at most 5000.',
    ),
    "seals issued twice": (
        "[[applied]]",
        '[[seals]]\nnumbers = ["0100"]\n\n[[applied]]',
        "[[seals]]",
        "Seal 0100 is issued twice: an earlier [[seals]] holds it already. Take it out of one of the two.",
    ),
    "a range and a list": (
        'last = "0103"',
        'last = "0103"\nnumbers = ["0200"]',
        "first",
        "[[seals]] holds numbers and first and last: keep one way, and begin a second [[seals]] for the other.",
    ),
    "a seal in two places": (
        'number = "0031"',
        'number = "0100"',
        'number = "0100"',
        "Seal 0100 is on T1-memory and among the issued [[seals]] too: read both lists again and correct one.",
    ),
    "a seal on two doors": (
        "[[containers]]",
        '[[applied]]\nat = "case"\nnumber = "0031"\n\n[[containers]]',
        "number",
        "Seal 0031 is on T1-memory and on case: read the numbers again and correct one.",
    ),
    "a copy twice": (
        "[[containers]]",
        '[[copies]]\nfor = "county"\n\n[[copies]]\nfor = "county"\n\n[[containers]]',
        "for",
        "A copy for county is listed twice: take one out, or say whom the second is for.",
    ),
    "a kind with three flags": (
        "[[containers]]",
        '[[kinds]]\nid = "voided"\nfrom_stock = true\nin_poll_book = true\ncounted = false\n\n[[containers]]',
        "[[kinds]]",
        "[[kinds]] voided has no in_bin: write in_bin = true or false: a kind is known by all four flags, from_stock, in_poll_book, counted and "
        "in_bin.",
    ),
    "the kind cast": (
        "[[containers]]",
        '[[kinds]]\nid = "cast"\nfrom_stock = true\nin_poll_book = true\ncounted = true\nin_bin = true\n\n[[containers]]',
        'id = "cast"',
        'The kind "cast" is fixed: it is what the tapes count. Change another kind, or give yours another id.',
    ),
    "a kind against the rules": (
        "[[containers]]",
        '[[kinds]]\nid = "provisional"\nfrom_stock = true\nin_poll_book = true\ncounted = false\nin_bin = false\n\n[[containers]]',
        "in_poll_book = true",
        "in_poll_book of the kind provisional is true, and [rules] says provisional_in_poll_book = false: write the same in "
        "both.",
    ),
    "a table where a list belongs": (
        "[[boxes]]",
        "[boxes]",
        "[boxes]",
        "[[boxes]] is a list of tables: begin each with [[boxes]] on a line of its own, and below it "
        'id = "B1", bins = ["main", "write-in"], emergency = true.',
    ),
    "one official alone": (
        '[[officials]]\nid = "q2"\nname = "Imre Vadasz"\nparty = "B"\nrole = "witness"\n',
        "",
        "[[officials]]",
        "[[officials]]: 1 given, at least 2 "
        'needed: write each with id = "o1", name = "Ada Lindqvist", party = "M", role = "chair".',
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_is_told_with_its_line(case):
    right, wrong, cited, sentence = CASES[case]
    assert right in SMALL
    text = _replace_last(SMALL, right, wrong)

    found = _mistakes(text)

    assert sentence in [says for _, says in found]
    line = next(line for line, says in found if says == sentence)
    assert cited in text.split("\n")[line - 1]


def test_the_small_place_is_right():
    assert place_file.read(SMALL.encode()).seals == tuple(f"{n:04}" for n in range(96, 104))


def test_every_mistake_is_told_at_once_in_the_order_of_the_lines():
    text = (
        SMALL.replace('mode = "live"', 'mode = "real"')
        .replace("n = 1", "n = 0")
        .replace('box = "X"', 'box = "Z"')
        .replace('word = "Alder"', 'word = "A1"')
    )

    lines = [line for line, _ in _mistakes(text)]

    assert len(lines) == 4 and lines == sorted(lines)


def test_a_practice_place_needs_no_host():
    text = SMALL.replace('"live"', '"practice"').replace('host = "r7.sable.example"\n', "")

    assert place_file.read(text.encode()).host == ""


def test_what_refers_to_a_list_that_is_missing_is_left_alone():
    text = SMALL.replace(
        '[[parties]]\nid = "A"\nname = "Alder League"\nword = "Alder"\n\n[[parties]]\nid = "B"\nname = "Bittern Union"\nword = "Bittern"\n',
        "",
    )

    assert [
        '[[parties]]: none given, at least 1 needed: write each with id = "M", name = "Maple Party", word = "Maple".'
    ] == [says for _, says in _mistakes(text)]


def test_copies_left_out_are_three():
    assert place_file.read(SMALL.encode()).copies == ("local clerk", "county", "canvassers")


def _mistakes(text):
    with pytest.raises(place_file.Mistakes) as caught:
        place_file.read(text.encode())
    return caught.value.found


def _replace_last(text, old, new):
    head, _, tail = text.rpartition(old)
    return head + new + tail
