"""What holds of every night: answers add up, order and names do not matter, clean nights are silent, a new part changes no other line."""

from copy import deepcopy

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.balance.cast import gaps, gaps_in, night
from tests.matrix import examples
from webapp.precinct.balance.all_lines import drawn
from webapp.precinct.balance.balance import balance
from webapp.precinct.balance.night_figures import read
from webapp.precinct.explain.explain import explained
from webapp.precinct.explain.lines_to_explain import LinesToExplain

few = st.integers(-3, 3)


@st.composite
def a_bent_night(draw):
    """Two tabulators, rows by precinct or not, and a few figures moved by a few ballots."""
    by_precinct = draw(st.booleans())
    a, b = draw(st.integers(20, 300)), draw(st.integers(20, 300))
    aside = {kind: draw(st.integers(0, 6)) for kind in ("spoiled", "provisional", "emergency", "left", "taken")}
    both = aside["emergency"] + aside["taken"]
    moved = draw(
        st.fixed_dictionaries(
            {key: st.one_of(st.just(0), few) for key in ("unused", "book", "main", "stubs", "lifetime")}
        )
    )

    def rows(n):
        return [{"precinct": "P3", "n": n - 7}, {"precinct": "P4", "n": 7}] if by_precinct else n

    def tabulator(id, n):
        return {
            "id": id,
            "tape": rows(n),
            "counter_at_zero": 0,
            "counter_at_close": n,
            "lifetime_at_zero": 400,
            "lifetime_at_close": 400 + n,
            "bins": {"main": n - 5, "write-in": 5},
        }

    figures = {
        "stock": {
            "received": 1000,
            "unused": 1000 - a - b - aside["spoiled"] - aside["provisional"] - both + moved["unused"],
        },
        "stubs": {"first": 1, "next": 1 + a + b + aside["spoiled"] + aside["provisional"] + both + moved["stubs"]},
        "poll_book": a + b + both + aside["left"] + moved["book"],
        "set_aside": aside,
        "tabulators": [tabulator("T1", a), tabulator("T2", b)],
    }
    if by_precinct:
        figures["set_aside"] = {kind: [{"precinct": "P3", "n": n}] for kind, n in aside.items()}
        figures["poll_book"] = [{"precinct": "P3", "n": figures["poll_book"] - 14}, {"precinct": "P4", "n": 14}]
    figures["tabulators"][0]["bins"]["main"] += moved["main"]
    figures["tabulators"][1]["lifetime_at_close"] += moved["lifetime"]
    return figures


@settings(max_examples=examples(150), deadline=None)
@given(a_bent_night())
def test_the_effects_of_an_explanation_add_up_on_every_line(figures):
    """By the numbers of the families; that these are the true effects is held by putting single mistakes right, below."""
    lines = LinesToExplain(drawn(read(figures))[0])
    for explanation in explained(figures).explanations:
        sums = {}
        for found in explanation.because:
            for line, effect in found.family.effects:
                sums[line] = sums.get(line, 0) + effect * found.n
        assert {line: n for line, n in sums.items() if n} == lines.gaps


def put_right(figures, item):
    """The figures as they would stand without this one mistake, where a figure alone has to change; None for what changes more than figures."""
    mended, n = deepcopy(figures), item.get("ballots", 0)
    if item["code"] == "unrecorded":
        mended["set_aside"][item["disposition"]] += n
    elif item["code"] == "recorded-twice":
        mended["set_aside"][item["disposition"]] -= n
    elif item["code"] == "misfiled":
        mended["set_aside"][item["to"]] -= n
        mended["set_aside"][item["from"]] += n
    elif item["code"] == "emergency-scanned":
        mended["set_aside"]["emergency"] -= n
    elif item["code"] in ("not-checked-in", "checked-in-twice"):
        mended["poll_book"] += n if item["code"] == "not-checked-in" else -n
    elif item["code"] in ("miskeyed", "miscounted"):
        by, at = item.get("by", 0), next((t for t in mended["tabulators"] if t["id"] == item.get("tabulator")), None)
        part = (
            mended["stock"]
            if item["figure"] in ("received", "unused")
            else mended
            if item["figure"] == "poll_book"
            else mended["set_aside"]
            if at is None
            else at["bins"]
            if item["figure"] in at["bins"]
            else at
        )
        part[item["figure"]] = item.get("likely", part[item["figure"]] - by)
    elif item["code"] in ("short-pack", "over-pack", "resupply-unlogged"):
        mended["stock"]["received"] += -n if item["code"] == "short-pack" else n
    elif item["code"] == "left-in-bin":
        next(t for t in mended["tabulators"] if t["id"] == item["tabulator"])["bins"]["main"] += n
    elif item["code"] == "double-scan":
        next(t for t in mended["tabulators"] if t["id"] == item["tabulator"])["subtract"] = n
    else:
        return None
    return mended


@settings(max_examples=examples(150), deadline=None)
@given(a_bent_night())
def test_putting_right_the_figures_an_answer_names_balances_the_night(figures):
    if isinstance(figures["poll_book"], list):
        return
    for explanation in explained(figures).explanations:
        mended = figures
        for found in sorted(explanation.because, key=lambda found: found.code != "miskeyed"):
            mended = mended and put_right(mended, found.as_json())
        if (
            mended and min(mended["set_aside"].values()) >= 0
        ):  # the page limits each mistake by its figure, not two together
            assert not [line for line in balance(mended).gaps], explanation.says


def renamed(value, names):
    if isinstance(value, dict):
        return {key: renamed(member, names) for key, member in value.items()}
    if isinstance(value, list):
        return [renamed(member, names) for member in value]
    return names.get(value, value) if isinstance(value, str) else value


@settings(max_examples=examples(60), deadline=None)
@given(a_bent_night())
def test_renaming_tabulators_renames_the_answers_and_nothing_else(figures):
    names = {"T1": "east", "T2": "west"}
    found, other = explained(figures), explained(renamed(figures, names))

    assert [line.gap for line in found.lines] == [line.gap for line in other.lines]
    assert [renamed(item.as_json()["because"], names) for item in found.explanations] == [
        item.as_json()["because"] for item in other.explanations
    ]


@settings(max_examples=examples(60), deadline=None)
@given(a_bent_night(), st.randoms(use_true_random=False))
def test_the_order_of_rows_kinds_and_parts_changes_no_answer(figures, chance):
    def mixed(value):
        if isinstance(value, dict):
            keys = list(value)
            chance.shuffle(keys)
            return {key: mixed(value[key]) for key in keys}
        if isinstance(value, list) and value and "precinct" in value[0]:
            return chance.sample(value, len(value))
        return [mixed(member) for member in value] if isinstance(value, list) else value

    found, other = explained(figures), explained(mixed(figures))

    assert gaps_in(found) == gaps_in(other)
    assert [item.as_json() for item in found.explanations] == [item.as_json() for item in other.explanations]
    assert [item.as_json() for item in found.ruled_out] == [item.as_json() for item in other.ruled_out]


@settings(max_examples=examples(60), deadline=None)
@given(a_bent_night())
def test_adding_a_part_never_changes_the_other_lines(figures):
    before = gaps(figures)
    for part in (
        {"seals": [{"at": "case", "applied": "1", "found": "2"}]},
        {"recounts": [{"of": "A", "first": 1, "second": 2}]},
        {"containers": [{"id": "C1", "ballots": 3}]},
        {"readings": [{"at": "09:00", "counter": 1, "poll_book": 1, "in_hand": 0}]},
        {"days": [{"id": "1", "unused_end": 5}]},
    ):
        after = gaps({**figures, **part})
        assert {id: gap for id, gap in after.items() if id in before} == before


@given(st.integers(0, 5000), st.integers(0, 60), st.integers(0, 60))
def test_a_night_whose_figures_agree_has_no_answer_whatever_its_size(tape, spoiled, taken):
    figures = night(
        stock={"received": tape + 200, "unused": 200 - spoiled - taken},
        stubs={"first": 1, "next": 1 + tape + spoiled + taken},
        poll_book=tape + taken,
        set_aside={"spoiled": spoiled, "taken": taken},
        tabulators=[{"id": "T1", "tape": tape, "counter_at_zero": 0, "counter_at_close": tape}],
    )
    found = explained(figures)

    assert found.balanced and found.explanations == () and found.ruled_out == ()


@settings(max_examples=examples(60), deadline=None)
@given(a_bent_night())
def test_what_is_ruled_out_closes_an_open_line_and_is_in_no_answer(figures):
    found = explained(figures)
    open_ids = {line.id for line in found.gaps}
    answered = [item for explanation in found.explanations for item in explanation.as_json()["because"]]

    for item in found.ruled_out:
        keys = {key: value for key, value in item.as_json().items() if key not in ("line", "says")}
        assert open_ids and keys not in answered
