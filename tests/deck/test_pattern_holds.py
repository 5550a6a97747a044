"""What any pattern must hold, on drawn contests: sums are the totals, columns unlike, no row twice, rows only within the window."""

from hypothesis import given, settings
from hypothesis import strategies as st

from deck.cast import contest, plan, style
from tests.matrix import examples
from webapp.deck.deck import build
from webapp.deck.playing import play

shapes = st.tuples(st.integers(1, 7), st.integers(0, 2), st.integers(1, 3))


@given(st.lists(st.lists(shapes, min_size=1, max_size=6), min_size=1, max_size=3), st.booleans())
@settings(max_examples=examples(40), deadline=None)
def test_any_ballot_has_a_pattern_that_shows_every_fault(styles, folded):
    names = [" ".join(f"c{i}" for i in range(8))]
    drawn = []
    for s, found in enumerate(styles):
        contests = [
            contest(f"S{s}C{i}", " ".join(names[0].split()[:c]) + " ", lines, n)
            for i, (c, lines, n) in enumerate(found)
        ]
        drawn.append(style(f"s{s}", f"P{s}", *contests))
    deck = build(plan(*drawn, folded=folded, tabulators="T1"))

    for one in drawn:
        rows = [row for row in deck.as_json()["rows"] if row.get("style") == one.id]
        columns = {}
        for i, row in enumerate(rows):
            for c, ps in row["marks"].items():
                assert len(set(ps)) == len(ps)
                for p in ps:
                    columns.setdefault((c, p), []).append(i)
        assert set(columns) == set(one.printed)
        across = {}
        for (c, _), column in columns.items():
            across.setdefault(tuple(column), set()).add(c)
        assert all(len(found) == 1 for found in across.values())
        for c in one.contests:
            within = [c.id in row["marks"] for row in rows if row["kind"] == "pattern"]
            assert within == sorted(within, reverse=True)
    tape = deck.expected["T1"]["contests"]
    for c in deck.plan.contests:
        figures = tape[c.id]
        found = [*figures["votes"].values(), *([figures["write_in"]] if c.lines else [])]
        assert len(set(found)) == len(found)
        assert sum(found) + figures["under"] + figures["over"] * c.n == figures["ballots"] * c.n
    assert play(deck).hidden == ()
