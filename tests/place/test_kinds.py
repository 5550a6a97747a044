"""The kind of a place file: what goes by it, and what a wrong one is told."""

import pytest

from tests.place.conftest import SMALL
from webapp.pages.place.site import kind_pages
from webapp.precinct.place import place_file
from webapp.precinct.place.default_steps import defaults
from webapp.precinct.place.place_file import Mistakes
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import LISTS


def test_a_place_file_without_a_kind_is_a_polling_place_and_is_written_without_one():
    place = place_file.read(SMALL.encode())

    assert place.kind == "place"
    assert "kind =" not in place_file.write(place).partition("[place]")[0]
    assert place_file.read(SMALL.replace("format = 1", 'format = 1\nkind = "place"').encode()) == place


def test_another_kind_is_named_with_those_that_are_known():
    with pytest.raises(Mistakes) as refused:
        place_file.read(SMALL.replace("format = 1", 'format = 1\nkind = "bakery"').encode())

    assert "bakery" in str(refused.value) and '"place"' in str(refused.value)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_each_kind_has_lists_with_titles_steps_and_pages(kind):
    titles, shipped = dict(LISTS), defaults(kind.id)

    assert all(titles.get(name) for name in kind.lists)
    assert [name for name in kind.lists if not any(step.list == name for step in shipped)] == []
    assert kind.ends in {step.id for step in shipped} and set(kind.never_dropped) <= {step.id for step in shipped}
    assert len({step.id for step in shipped}) == len(shipped)
    assert any(step.form == "packet" for step in shipped) == kind.packet
    assert kind_pages.PLACES[kind.id] and kind.id in kind_pages.MENUS
    assert not any(kind_pages.absent(kind.id, href) for href, *_ in kind_pages.PLACES[kind.id])
