"""What the code does by system stands in tests/SYSTEMS.md, each row with tests that exist or a plain word that nothing was tried."""

import re

from tests.house.tree import DEMO, ROOT, WEBAPP, functions_of_tests

PAGE = (ROOT / "tests" / "SYSTEMS.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([^|]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", PAGE, re.MULTILINE)[1:]
BY_SYSTEM = re.compile(
    r"os\.name|sys\.platform|\b(?:fcntl|msvcrt|winreg|resource|ifaddr)\.\w|prctl|memfd_create|signal\.(?:SIG|signal)|\"SIG|SO_REUSEADDR"
    r"|\"/(?:proc|sys|dev)/|O_NONBLOCK|getuid|os\.kill\(|os\.execv|get_context\(\"spawn\"\)|\.reconfigure\("
)


def test_every_place_that_goes_by_system_is_on_the_page_and_no_other():
    found = {
        path.relative_to(ROOT).as_posix()
        for path in (*WEBAPP, *DEMO)
        if BY_SYSTEM.search(path.read_text(encoding="utf-8"))
    }
    named = {name for _, where, *_ in ROWS for name in re.findall(r"`([\w/]+\.py)`", where)}
    assert found == named


def test_each_row_names_tests_that_exist_and_says_something_of_each_system():
    functions = functions_of_tests()
    assert len(ROWS) >= 15 and set(re.findall(r"`(test_\w+)`", PAGE)) <= functions
    spawned = "several processes in a rehearsal"  # on Linux it goes the way it goes everywhere
    assert [row[0] for row in ROWS if "`test_" not in row[2] and row[0] != spawned] == []
    assert [row[0] for row in ROWS if not all(cell.strip() for cell in row)] == []
