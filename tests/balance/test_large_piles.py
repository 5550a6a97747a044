"""A pile of any size is explained in the same work: the search lists a few dozen sizes, and finds no dearer answer than one that tries every number."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.balance.cast import because, mistake, night
from tests.matrix import examples
from webapp.precinct.explain.mistake_sizes import AtOnce, OneByOne
from webapp.precinct.explain.mistakes import ANOTHER, Family
from webapp.precinct.explain.search import Ray, couples_on

SIZES = st.one_of(
    st.builds(OneByOne, st.integers(2, 9).map(float), st.none() | st.integers(1, 150)),
    st.builds(
        lambda base, least, more, extra: AtOnce(float(base), least, least + more, extra),
        st.integers(2, 9),
        st.integers(1, 30),
        st.integers(0, 150),
        st.sampled_from((0, 2)),
    ),
)


def family(at: int, size, k: int) -> Family:
    return Family(f"code-{at}", (), ((0, k),), size, (at,))


@settings(max_examples=examples(150), deadline=None)
@given(
    sizes=st.lists(st.tuples(SIZES, st.sampled_from((-2, -1, 1, 2))), min_size=2, max_size=3), t=st.integers(-120, 120)
)
def test_two_mistakes_along_one_ray_are_as_cheap_as_trying_every_number(sizes, t):
    ray = Ray(((0, 1),))
    ray.families = [(family(at, size, k), k) for at, (size, k) in enumerate(sizes)]
    found = min((one.cost for one in couples_on(ray, t, False)), default=None)
    tried = [
        a + b + ANOTHER
        for (one, k), (other, m) in combinations(ray.families, 2)
        for n in range(1, 700)
        if (a := one.size.cost(n)) is not None
        and (t - n * k) % m == 0
        and (b := other.size.cost((t - n * k) // m)) is not None
    ]
    assert found == min(tried, default=None)


@pytest.mark.parametrize("pile", [161, 100_000, 10**9])
def test_a_whole_emergency_pile_that_was_fed_is_named_whatever_its_size(pile):
    """161 forgotten emergency ballots in one bin: a state's report (`trade.md` 6); larger ones are a slip of typing, and hang nothing."""
    figures = night(set_aside={"spoiled": 2, "provisional": 5, "emergency": pile, "left": 0, "taken": 1})
    assert [mistake("emergency-scanned", ballots=pile)] in because(figures)
    figures["stock"]["unused"] -= 1
    figures["stubs"]["next"] += 1
    assert any(mistake("emergency-scanned", ballots=pile) in answer and len(answer) == 2 for answer in because(figures))


def test_the_sizes_that_are_listed_do_not_grow_with_the_pile():
    assert len(AtOnce(5, most=60).ordinary()) == len(AtOnce(5, most=10**9).ordinary()) == 60
