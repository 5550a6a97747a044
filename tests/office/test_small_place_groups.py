"""Small places beside a neighbour, as packets come in: the same groups as when all are looked at from the start, written plainly here."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.office.setup.office_file import Awaited, Office
from webapp.office.totals.small_place_groups import SmallPlaceGroups

SMALL = 10


def office(beside):
    return Office("o", "Office", (), (), tuple(Awaited(name, name, other) for name, other in beside.items()), SMALL)


def plainly(sizes, beside):
    """The rule of the design page, word by word: smallest group last of all, named neighbour first; every place looked at."""
    groups = {name: [name] for name in sizes}
    size, home = dict(sizes), {name: name for name in sizes}
    waiting = [name for name in groups if 0 < size[name] < SMALL]
    while waiting:
        name = waiting.pop(0)
        if name not in groups or not 0 < size[name] < SMALL:
            continue
        named = [home[beside[p]] for p in groups[name] if beside.get(p) in home and home[beside[p]] != name]
        others = [other for other, n in size.items() if other != name and n]
        if not named and not others:
            continue
        partner = named[0] if named else min(others, key=lambda other: (size[other], list(sizes).index(other)))
        groups[partner] += groups[name]
        size[partner] += size.pop(name)
        home |= dict.fromkeys(groups.pop(name), partner)
        waiting.append(partner)
    return sorted((sorted(group), size[began]) for began, group in groups.items())


@settings(max_examples=examples(300), deadline=None)
@given(st.data(), st.lists(st.integers(0, 25), min_size=1, max_size=14))
def test_packets_that_come_in_one_by_one_and_anew_give_the_groups_of_all_at_once(data, counts):
    names = [f"P{i:02}" for i in range(len(counts))]
    beside = {name: data.draw(st.sampled_from(["", *(n for n in names if n != name)])) for name in names}
    leaning, sizes = SmallPlaceGroups(office(beside)), {}
    for name in data.draw(st.permutations(names)) + data.draw(st.lists(st.sampled_from(names), max_size=4)):
        sizes[name] = data.draw(st.integers(0, 25))
        leaning.put(name, names.index(name), sizes[name])
        if data.draw(st.booleans()):
            leaning.group(name)  # looked at in between
    in_order = {name: sizes[name] for name in names if name in sizes}

    assert sorted((sorted(group), size) for group, size in leaning.all()) == plainly(in_order, beside)
    assert all(
        leaning.alone(name) == ((len(group), 0 < size < SMALL) == (1, False))
        for group, size in leaning.all()
        for name in group
    )


def test_a_place_taken_out_frees_what_leaned_on_it():
    leaning = SmallPlaceGroups(office({"A": "B", "B": "A", "C": "B"}))
    for order, (name, n) in enumerate((("A", 4), ("B", 50), ("C", 80))):
        leaning.put(name, order, n)
    assert leaning.group("A") == (("B", "A"), 54) and not leaning.alone("B")
    leaning.take("A")
    assert leaning.alone("B") and leaning.alone("C")


def test_a_large_list_is_looked_at_only_where_it_is_small():
    """Five thousand places: one more packet moves the small ones alone (the time is measured in benchmarks/desk.py)."""
    names = [f"P{i:04}" for i in range(5000)]
    leaning = SmallPlaceGroups(office({name: names[i - 1] for i, name in enumerate(names)}))
    for i, name in enumerate(names):
        leaning.put(name, i, 4 if i % 100 == 99 else 300)
    assert sum(len(group) == 2 for group, _ in leaning.all()) == 50
    assert leaning.group("P0098")[0] == ("P0098", "P0099") and leaning.alone("P0001")
