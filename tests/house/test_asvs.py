"""The table of OWASP ASVS 5.0.0: each number of levels 1 and 2 is answered once, and what it names is there."""

import csv
import re
from collections import Counter

from tests.house.tree import ROOT, functions_of_tests

TEXT = (ROOT / "tests" / "ASVS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (V[^|]+) \| (held|does not apply|not held) \| (.+) \|$", TEXT, re.MULTILINE)
FUNCTIONS = functions_of_tests()

# The numbers of levels 1 and 2 by section, as the standard's own table gives them (asvs-5.0.0.csv).
NUMBERS = """
V1.1: 1 2 | V1.2: 1 2 3 4 5 6 7 8 9 | V1.3: 1 2 3 4 5 6 7 8 9 10 11 | V1.4: 1 2 3 | V1.5: 1 2 | V2.1: 1 2 3 | V2.2:
1 2 3 | V2.3: 1 2 3 4 | V2.4: 1 | V3.2: 1 2 | V3.3: 1 2 3 4 | V3.4: 1 2 3 4 5 6 | V3.5: 1 2 3 4 5 | V3.7: 1 2 |
V4.1: 1 2 3 | V4.2: 1 | V4.3: 1 2 | V4.4: 1 2 3 4 | V5.1: 1 | V5.2: 1 2 3 | V5.3: 1 2 | V5.4: 1 2 3 | V6.1: 1 2 3 |
V6.2: 1 2 3 4 5 6 7 8 9 10 11 12 | V6.3: 1 2 3 4 | V6.4: 1 2 3 4 | V6.5: 1 2 3 4 5 | V6.6: 1 2 3 | V6.8: 1 2 3 4 |
V7.1: 1 2 3 | V7.2: 1 2 3 4 | V7.3: 1 2 | V7.4: 1 2 3 4 5 | V7.5: 1 2 | V7.6: 1 2 | V8.1: 1 2 | V8.2: 1 2 3 | V8.3:
1 | V8.4: 1 | V9.1: 1 2 3 | V9.2: 1 2 3 4 | V10.1: 1 2 | V10.2: 1 2 | V10.3: 1 2 3 4 | V10.4: 1 2 3 4 5 6 7 8 9 10
11 | V10.5: 1 2 3 4 5 | V10.6: 1 2 | V10.7: 1 2 3 | V11.1: 1 2 | V11.2: 1 2 3 | V11.3: 1 2 3 | V11.4: 1 2 3 4 |
V11.5: 1 | V11.6: 1 | V12.1: 1 2 3 | V12.2: 1 2 | V12.3: 1 2 3 4 | V13.1: 1 | V13.2: 1 2 3 4 5 | V13.3: 1 2 | V13.4:
1 2 3 4 5 | V14.1: 1 2 | V14.2: 1 2 3 4 | V14.3: 1 2 3 | V15.1: 1 2 3 | V15.2: 1 2 3 | V15.3: 1 2 3 4 5 6 7 | V16.1:
1 | V16.2: 1 2 3 4 5 | V16.3: 1 2 3 4 | V16.4: 1 2 3 | V16.5: 1 2 3 | V17.1: 1 | V17.2: 1 2 3 4 | V17.3: 1 2
"""
LEVELS_1_AND_2 = [
    f"{section.strip()}.{number}"
    for section, _, numbers in (part.partition(":") for part in NUMBERS.replace("\n", " ").split("|"))
    for number in numbers.split()
]


def answered() -> Counter[str]:
    """How often each number has an answer."""
    found: Counter[str] = Counter()
    for numbers, _, _ in ROWS:
        for one in numbers.split():
            found.update([n for n in LEVELS_1_AND_2 if n.startswith(one[:-1])] if one.endswith("*") else [one])
    return found


def test_each_number_of_levels_1_and_2_is_answered_once():
    assert len(LEVELS_1_AND_2) == len(set(LEVELS_1_AND_2)) == 253
    assert len(ROWS) == len(re.findall(r"^\| V", TEXT, re.MULTILINE)), "a row has no answer that is known"
    assert answered() == Counter(LEVELS_1_AND_2)


def test_the_numbers_are_those_of_the_standard(shared):
    with shared("standards/asvs/asvs-5.0.0.csv").open(encoding="utf-8-sig", newline="") as file:
        assert [row["req_id"] for row in csv.DictReader(file) if row["L"] in ("1", "2")] == LEVELS_1_AND_2


def test_each_test_that_the_table_names_is_there():
    assert {
        n: w for _, _, words in ROWS for n in re.findall(r"`(test_\w+)`", words) if n not in FUNCTIONS for w in [words]
    } == {}


def test_each_answer_says_by_what_or_why():
    counted = Counter(
        answer
        for numbers, answer, _ in ROWS
        for one in numbers.split()
        for _ in range(len([n for n in LEVELS_1_AND_2 if n.startswith(one[:-1])]) if one.endswith("*") else 1)
    )
    assert (
        f"{counted['held']} are held, {counted['does not apply']} do not apply" in TEXT
        and f"{counted['not held']} are not held" in TEXT
    )
    assert [numbers for numbers, _, words in ROWS if len(words) < 8] == []


def test_every_test_that_the_page_of_attacks_names_is_there():
    page = (ROOT / "tests" / "ATTACKS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (A\d+) \|[^|]+\| ([^|]+) \|", page, re.MULTILINE)
    assert [name for name, _ in rows] == [f"A{n}" for n in range(1, 17)]
    named = set(re.findall(r"`(test_\w+)`", page))
    assert all("`test_" in tests for _, tests in rows) and named - FUNCTIONS == set()
    scripts = {path.name for path in (ROOT / "tests" / "benchmarks").glob("*.py")}
    assert set(re.findall(r"`(\w+\.py)`", page)) - {"test_asvs.py"} <= scripts
