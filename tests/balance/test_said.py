"""Every kind of sentence as somebody reads it for the first time: what is off, by how many, which way, what to do next. The words of the trade, no code names.

Read from simulated nights of every code, so that a new code without words, or a sentence with an inner name in it, is seen here.
"""

import re
import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).resolve().parents[1]))

from nights.mistakes import a_night  # noqa: E402
from tests.balance.cast import night  # noqa: E402
from tests.matrix import ALL, some  # noqa: E402
from webapp.precinct.balance import line_sentences, line_words, summary  # noqa: E402
from webapp.precinct.balance.all_lines import EXPLAINED  # noqa: E402
from webapp.precinct.balance.line_words import LINES  # noqa: E402
from webapp.precinct.explain import sentences as says_why  # noqa: E402
from webapp.precinct.explain.explain import explained

INNER = re.compile(
    r"_|poll-book|paper-to-book|\bcast (card|absentee)|write_in|\bNone\b|\{|\}|counter_at|lifetime|hand-counted|spoiled-not|set-apart|  "
)
DRAWN = Path(line_words.__file__).parent.glob("lines_*.py")
BANNED = re.compile(r"invalid|error|oops|successfully|caused by", re.IGNORECASE)


@pytest.fixture(scope="module")
def nights():
    return [explained(a_night(seed + 610_000, 1 + seed % 2, even=True).figures) for seed in range(220 if ALL else 80)]


def sentences(nights):
    for found in nights:
        yield from (line.says for line in found.lines)
        for one in found.explanations:
            yield one.says
            yield one.look
        yield from (one.says for one in found.ruled_out)
        yield from (summary.lacking(lack) for lack in found.unchecked)
        yield summary.heading(found)
        yield from (told.way for told in summary.open_lines(found))


def test_no_sentence_holds_an_inner_name_or_a_word_that_blames(nights):
    assert {s for s in sentences(nights) if INNER.search(s) or BANNED.search(s)} == set()


def test_every_code_was_read():
    seen = {
        mistake.code
        for seed in some([*range(60), 63, 242], range(600))  # these few nights hear every code
        for one in explained(a_night(seed + 610_000, 1, even=True).figures).explanations
        for mistake in one.because
    }
    assert {*says_why.WORDS, "miscounted", "miskeyed"} - seen <= {
        "wrong-precinct",
        "sent-unlogged",
        "card-as-paper",
        "absentee-unmarked",
    }


def test_every_explanation_says_consistent_with_and_where_to_look(nights):
    for found in nights:
        for one in found.explanations:
            assert one.says.startswith("Consistent with ") and one.says.endswith(".") and one.look.endswith(".")


def test_what_is_ruled_out_says_what_the_line_would_show_and_what_it_shows(nights):
    told = [one.says for found in nights for one in found.ruled_out]
    assert told and all(
        re.search(r"^Not .*: then .* would show \d+ more .*; it (agrees|shows \d+ more .*), -?\d+ against -?\d+\.$", s)
        for s in told
    ), next(s for s in told if not s.endswith("."))


@pytest.mark.parametrize(
    ("kind", "look"),
    [
        ("spoiled", "envelope of spoiled"),
        ("left", "at the door"),
        ("taken", "along the way out"),
        ("emergency", "emergency bin"),
        ("provisional", "provisional envelopes"),
    ],
)
def test_where_to_look_for_what_nobody_wrote_down_goes_by_kind(kind, look):
    """A voter who left has no envelope to be counted, and a ballot carried off lies in no bin."""
    assert look in says_why.UNNOTED[kind]


def test_each_line_has_its_words():
    for kind, said in LINES.items():
        pairs = (said.left, said.right, *((said.more_left, said.more_right) if kind != "seals" else ()))
        assert all(all(pair) for pair in pairs), kind
    drawn = set(re.findall(r'draw\(\s*f?"([\w-]+)', "".join(path.read_text(encoding="utf-8") for path in DRAWN)))
    assert len(drawn) > 20 and drawn - set(LINES) == set(), "lines.toml lacks these"


def test_words_of_a_line_that_lack_or_that_nobody_knows_are_refused():
    whole = 'title = "T"\nname = "t"\nagree = ["T", "{n}"]\nleft = "l"\nright = "r"\n'
    assert dict(line_words._read(f"[a]\n{whole}\n[a.b]\nleft = ['one', 'many']"))["a b"].left == ("one", "many")
    for wrong in (whole.replace('name = "t"\n', ""), whole + 'heading = "T"\n'):
        with pytest.raises(ValueError, match=r"\[a\] of lines.toml"):
            dict(line_words._read(f"[a]\n{wrong}"))


def test_a_line_that_no_explanation_closes_says_what_to_do_next():
    """The others are explained; a seal that differs has a sentence of its own."""
    says = {kind for kind, said in LINES.items() if " " not in kind and said.do}
    assert says == {kind for kind in LINES if " " not in kind} - set(EXPLAINED) - {"seals"}
    assert "call the office" in line_sentences.seal("case", "4471", "4417")


@pytest.mark.parametrize(
    ("changes", "heading"),
    [
        ({}, "6 lines agree, 1 not checked yet"),
        ({"stock__unused": 960}, "Two lines are off by 1, not all the same way"),  # stock and stubs
        ({"poll_book": 433}, "Poll book is off by 1"),
        ({"stubs__next": 441}, "Stub numbers are off by 1"),
        ({"stock__unused": 960, "stubs__next": 441, "poll_book": 433}, "Two lines are off by 1, the same way"),
        ({"stock__unused": 960, "stubs__next": 441, "poll_book": 435}, "Two lines are off"),
    ],
)
def test_the_heading_says_how_many_lines_by_how_many_and_which_way(changes, heading):
    assert summary.heading(explained(night(**changes))).removesuffix("; 1 line is not checked yet") == heading


def test_a_gap_that_shows_in_the_room_and_in_one_precinct_is_read_once():
    figures = {
        "poll_book": [{"precinct": "A", "n": 301}, {"precinct": "B", "n": 200}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "A", "n": 300}, {"precinct": "B", "n": 200}]}],
    }
    (told,) = summary.open_lines(explained(figures))

    assert [part.short for part in told.within] == ["Precinct A: 301 against 300, 1 more check-in than ballots."]
    assert [line.scope for line in told.lines] == [None, {"precinct": "A"}]


def test_two_precincts_that_cancel_are_both_told_below_a_room_that_agrees():
    figures = {
        "poll_book": [{"precinct": "A", "n": 300}, {"precinct": "B", "n": 200}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "A", "n": 299}, {"precinct": "B", "n": 201}]}],
    }
    found = explained(figures)
    (told,) = summary.open_lines(found)

    assert told.line.gap == 0 and [part.line.gap for part in told.within] == [1, -1]
    assert summary.heading(found) == "Poll book does not agree part by part; 6 lines are not checked yet"


def test_fewer_ballots_drawn_than_check_ins_is_said_without_a_bare_sign():
    line = explained({"stock": {"received": 500, "unused": 447}, "poll_book": 54, "set_aside": {"left": 1}}).lines[0]

    assert (line.left, line.right) == (-1, -1)
    assert line.says.startswith(
        "1 fewer ballot drawn than check-ins (500 received, less 447 unused, less 54 check-ins: -1), 1 fewer expected from what was set aside"
    )


def test_thousands_are_marked_on_a_screen_and_numbers_stay_as_typed_in_the_sentence():
    found = explained({"poll_book": 101369, "tabulators": [{"id": "T1", "tape": 101275}]})

    assert "101369 check-ins" in found.lines[0].says
    assert (
        summary.open_lines(found)[0].left.n == 101369
        and "94 more check-ins than ballots" == summary.open_lines(found)[0].way
    )


def test_a_heading_says_is_of_one_thing_and_are_of_several():
    several = {kind for kind, said in LINES.items() if " " not in kind and summary._plural(said.title.format(of="T1"))}
    assert several == {
        "voters",
        "bins",
        "stubs",
        "containers",
        "precincts",
        "write-ins",
        "seal-stock",
        "sheets",
        "carriers",
        "envelopes",
        "unfolded",
        "batch-envelopes",
        "batches",
        "problems",
        "duplicates",
        "again",
        "duplicate-serials",
        "hand-tally",
    }


def test_after_its_title_a_line_names_its_precinct_or_style_no_second_time(nights):
    """A tabulator or a contest stays in the sentence: its title may call it otherwise."""
    lines = [line for found in nights for line in found.lines if line.says]
    for line in lines:
        said = summary.after_title(line)
        assert said[0] == said[0].upper() and line.says.lower().endswith(said.lower())
        assert not any(
            said.lower().startswith(f"{words.lower()}: ") for words in line_sentences.scope_words(line.scope)
        )
    assert any(summary.after_title(line).lower() != line.says.lower() for line in lines)
