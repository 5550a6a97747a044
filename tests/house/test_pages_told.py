"""Every page is told: PAGES.md is what the modules of `pages/` give."""

from tests.house import pages_page


def test_the_list_of_pages_is_that_of_the_modules():
    told = pages_page.FILE.read_text(encoding="utf-8")
    assert told == pages_page.page(), "a page was added or changed: run python tests/house/pages_page.py"
    assert told.count("| `place/") > 10 and told.count("| `desk/") > 20
