"""Each way of changing a record names the first entry that is wrong."""

import ast
from dataclasses import replace
from pathlib import Path

import pytest

from tests.matrix import some
from tests.record import story
from tests.record.story import OKORO, SIX, VEGA, act, id_of
from tests.record.tampering import chained, flip, lay, opened, rows
from webapp.record import audit
from webapp.record.audit import UnusableFile, verify
from webapp.record.chain import leaf, next_head
from webapp.record.check_words import check_words
from webapp.record.entry import Entry
from webapp.record.ledger import Ledger

WORDS = {}


def words_of(path, number):
    """The check words of the record at `path` after entry `number`, as somebody copied them before anything was changed."""
    with Ledger.read_only(path) as reader, reader._look() as db:
        head = db.execute("SELECT head FROM entries WHERE number = ?", (number,)).fetchone()[0]
    return WORDS.setdefault(head, check_words(head))


def entries(path):
    with Ledger.read_only(path) as reader:
        return list(reader.entries())


def wrong(path, **held):
    verdict = verify(path, coarse=story.COARSE, **held)
    assert not verdict.ok
    return verdict.first_wrong, verdict.says


def test_a_whole_record_is_well(morning):
    verdict = verify(morning, coarse=story.COARSE)

    assert (True, 5, None, "All 5 entries agree with their heads.") == (
        verdict.ok,
        verdict.entries,
        verdict.first_wrong,
        verdict.says,
    )
    with Ledger.read_only(morning) as reader:
        assert reader.head == verdict.head


def test_an_empty_record_is_well(path, ledger):
    ledger.close()
    assert (True, 0, "The record has no entries yet.") == ((v := verify(path)).ok, v.entries, v.says)


def test_checking_changes_nothing_and_leaves_nothing(morning):
    before = {file.name: (file.read_bytes(), file.stat().st_mtime_ns) for file in morning.parent.iterdir()}
    verify(morning)

    assert before == {file.name: (file.read_bytes(), file.stat().st_mtime_ns) for file in morning.parent.iterdir()}


@pytest.mark.parametrize("number", some([1, 4], [1, 2, 3, 4, 5]))
def test_any_byte_of_an_entry_names_it(morning, number):
    data, entry = morning.read_bytes(), entries(morning)[number - 1].pack()
    assert 1 == data.count(entry)
    for at in range(data.find(entry), data.find(entry) + len(entry), 3):
        morning.write_bytes(data[:at] + bytes([data[at] ^ 0x04]) + data[at + 1 :])
        assert number == wrong(morning)[0]


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("column", ["head", "prev", "id", "tablet"])
def test_any_byte_of_what_stands_beside_an_entry_names_it(morning, number, column):
    with opened(morning) as db:
        flip(db, "entries", column, number, 0)
    assert number == wrong(morning)[0]


@pytest.mark.parametrize(("column", "at"), [("text", 0), ("text", -1), ("salt", 15), ("name", 2)])
def test_any_byte_of_the_words_names_their_entry(morning, column, at):
    with opened(morning) as db:
        flip(db, "words", column, 4, at)
    number, says = wrong(morning)
    assert 4 == number
    assert "beside entry 4 are not those that were signed" in says


def test_words_moved_to_another_entry_name_the_first_that_is_wrong(morning):
    with opened(morning) as db:
        db.execute("UPDATE words SET number = 2 WHERE number = 5")
    assert 2 == wrong(morning)[0]


def test_words_added_to_an_entry_name_it(morning):
    with opened(morning) as db:
        db.execute("INSERT INTO words (text, salt, name, number) VALUES ('Seen by nobody.', zeroblob(16), 'remark', 3)")
    assert 3 == wrong(morning)[0]


def test_a_second_text_of_the_same_name_names_the_entry(morning):
    with opened(morning) as db:
        db.execute(
            "INSERT INTO words (text, salt, name, number) SELECT text, salt, name, number FROM words WHERE number = 4"
        )
    assert 4 == wrong(morning)[0]


def test_words_that_are_withheld_are_said_and_are_no_fault(morning):
    with opened(morning) as db:
        db.execute("DELETE FROM words WHERE number = 4")
    verdict = verify(morning)
    assert (True, True) == (verdict.ok, "The words of 1 remark are withheld from this copy." in verdict.says)


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_a_dropped_entry_is_named(morning, number):
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number = ?", (number,))
    assert (number, f"Entry {number} is missing.") == wrong(morning)


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_a_dropped_entry_is_named_when_the_others_are_moved_up(morning, number):
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number = ?", (number,))
        for later in range(number + 1, 6):
            db.execute("UPDATE entries SET number = ? WHERE number = ?", (later - 1, later))
    assert (number, f"In the place of entry {number} is one that calls itself entry {number + 1}.") == wrong(morning)


def test_several_dropped_entries_are_named(morning):
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number IN (2, 3, 4)")
    assert (2, "Entries 2 to 4 are missing.") == wrong(morning)


@pytest.mark.parametrize("number", [0, -5])
def test_an_entry_put_before_the_first_is_named(morning, number):
    with opened(morning) as db:
        db.execute(
            "INSERT INTO entries SELECT ?, entry, prev, head, 'B', 1, zeroblob(16) FROM entries WHERE number = 1",
            (number,),
        )
    assert number == wrong(morning)[0]


@pytest.mark.parametrize("number", [1, 3, 5, 6])
def test_an_added_entry_is_named(morning, number):
    """A well-made entry between two others, the later ones moved down; the heads of the others are left."""
    extra = replace(entries(morning)[1], number=number, id=id_of(77), seq=50).pack()
    with opened(morning) as db:
        kept = rows(db)
        kept.insert(
            number - 1,
            (number, extra, kept[number - 2][3] if number > 1 else kept[0][2], bytes(32), "A", 50, id_of(77)),
        )
        lay(db, [(place, *row[1:]) for place, row in enumerate(kept, 1)])
    assert number == wrong(morning)[0]


@pytest.mark.parametrize(("one", "other"), [(1, 2), (2, 5), (3, 4)])
@pytest.mark.parametrize("with_heads", [True, False])
def test_swapped_entries_name_the_first_of_them(morning, one, other, with_heads):
    with opened(morning) as db:
        kept = rows(db)
        a, b = kept[one - 1], kept[other - 1]
        if with_heads:
            kept[one - 1], kept[other - 1] = (one, *b[1:]), (other, *a[1:])
        else:
            kept[one - 1], kept[other - 1] = (one, b[1], *a[2:4], *b[4:]), (other, a[1], *b[2:4], *a[4:])
        lay(db, kept)
    assert (one, f"In the place of entry {one} is one that calls itself entry {other}.") == wrong(morning)


def test_two_records_spliced_name_the_first_entry_of_the_other(morning, tmp_path):
    with Ledger.create(tmp_path / "other.db", bytes(16), story.COARSE) as other:
        story.keep_morning(other)
    with opened(tmp_path / "other.db") as db:
        foreign = rows(db)
    with opened(morning) as db:
        lay(db, rows(db)[:3] + foreign[3:])
    assert (4, "Entry 4 belongs to another record.") == wrong(morning)


def test_two_histories_of_one_record_spliced_name_the_first_of_the_other(morning, tmp_path):
    """Both began alike on the same laptop; the second went on from a copy."""
    with Ledger.create(tmp_path / "other.db", story.RECORD_ID, story.COARSE) as other:
        for one in (story.OPENED, act(2, "zero-tape", {"at": "T1"}, seq=1), story.SPOILED, story.REMARK):
            other.append(one, now=one.made + 10_000)
    with opened(tmp_path / "other.db") as db:
        foreign = rows(db)
    with opened(morning) as db:
        lay(db, rows(db)[:3] + foreign[3:])
    number, says = wrong(morning)
    assert (4, True) == (number, "does not continue from entry 3" in says)


def test_entries_cut_off_at_the_end_show_against_the_paper(morning):
    words = words_of(morning, 5)
    with opened(morning) as db:
        db.execute("DELETE FROM entries WHERE number > 3")
        db.execute("DELETE FROM words")

    assert verify(morning).ok
    number, says = wrong(morning, expect=[(5, words)])
    assert (4, True) == (
        number,
        "The record ends with entry 3; the paper knows entry 5. Entries 4 to 5 are missing at the end" in says,
    )


def test_entries_cut_off_at_the_end_show_against_a_packet(morning):
    with opened(morning) as db:
        head = rows(db)[4][3]
        db.execute("DELETE FROM entries WHERE number = 5")
        db.execute("DELETE FROM words WHERE number = 5")

    number, says = wrong(morning, heads=[(5, head)])
    assert (5, True) == (number, "the packet knows entry 5. Entry 5 is missing at the end" in says)


def rewritten(path, number, **changes):
    """Entry `number` with changes, and every head after it made to hold."""
    with opened(path) as db:
        kept = [row[1] for row in rows(db)]
        kept[number - 1] = replace(Entry.unpack(kept[number - 1]), **changes).pack()
        lay(db, chained(story.RECORD_ID, kept))


def test_a_history_rewritten_with_new_heads_shows_against_the_paper_alone(morning):
    held = [(n, words_of(morning, n)) for n in (1, 3, 5)]
    rewritten(morning, 2, body={"at": "T1", "all_zero": True, "public_counter": 7})

    assert verify(morning, coarse=story.COARSE).ok
    number, says = wrong(morning, expect=held[::-1])
    assert (3, True) == (
        number,
        "another history" in says and "One of the entries 2 to 3 is not the one that was kept" in says,
    )


def test_a_history_rewritten_with_new_heads_shows_against_a_packet(morning):
    with opened(morning) as db:
        heads = [(row[0], row[3]) for row in rows(db)][1:4:2]
    rewritten(morning, 4, signers=(VEGA,))

    assert (4, True) == (
        (found := wrong(morning, heads=heads))[0],
        "The packet states another head after entry 4" in found[1],
    )


def test_what_agrees_with_paper_and_packet_is_said(morning):
    with opened(morning) as db:
        head = rows(db)[4][3]
    verdict = verify(morning, [(2, words_of(morning, 2)), (5, words_of(morning, 5).lower())], heads=[(5, head)])

    says = "All 5 entries agree with their heads. The check words after entries 2 and 5 are its own. The packet's head after entry 5 is its own."
    assert (True, says) == (verdict.ok, verdict.says)


def test_a_slip_in_copying_is_told_from_another_history(morning):
    words = words_of(morning, 5)
    miscopied = words[:-3] + ("0" if words[-3] != "0" else "1") + words[-2:]
    verdict = verify(morning, [(5, miscopied)])

    assert (False, None, True) == (verdict.ok, verdict.first_wrong, "a slip in copying" in verdict.says)


def test_a_rewritten_beginning_is_named_before_a_broken_end(morning):
    held = words_of(morning, 2)
    rewritten(morning, 2, body={"at": "T2"})
    with opened(morning) as db:
        flip(db, "entries", "entry", 5, 60)

    assert 5 == wrong(morning)[0]
    assert 2 == wrong(morning, expect=[(2, held)])[0]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"kept": SIX - 5_000_000}, "was kept before an earlier entry"),
        ({"run": 2}, "is of run 2 after run 1"),
        ({"signers": (VEGA, OKORO, VEGA)}, "One person signed entry 4 twice"),
        ({"signers": (replace(VEGA, how="phone"),)}, "was made by neither pin, desk nor ink"),
        ({"signers": (replace(VEGA, person=""),)}, "names no person"),
        ({"signers": (replace(VEGA, party=None),)}, "is not person, role, party and how, all texts"),
        ({"id": id_of(2)}, "carries the id of an earlier entry"),
        ({"seq": 2}, "carries a line of its tablet (2) that an earlier entry has"),
        ({"body": {"words": {"remark": b"short"}}}, "without a digest of 32 bytes"),
        ({"body": {"words": []}}, "without a digest of 32 bytes"),
        ({"made": -1}, "counts below 0"),
        ({"offset": None}, "an item has another type"),
        ({"holder": b"vega"}, "an item has another type"),
        ({"kind": "spoiled"}, "a finer time than the quarter hour"),
    ],
)
def test_an_entry_that_breaks_the_form_is_named_although_its_heads_hold(morning, changes, says):
    with opened(morning) as db:
        kept = rows(db)
        entry = replace(Entry.unpack(kept[3][1]), **changes)
        data = [row[1] for row in kept[:3]] + [entry.pack()]
        made = chained(story.RECORD_ID, data[:3])
        number, before = 4, made[2][3]
        db.execute("DROP INDEX entry_ids")
        db.execute("DROP INDEX entry_lines")
        lay(
            db,
            [*made, (number, data[3], before, next_head(before, 4, leaf(data[3])), entry.tablet, entry.seq, entry.id)],
        )
        db.execute("DELETE FROM words WHERE number > 3")
    found = wrong(morning)
    assert (4, True) == (found[0], says in found[1]), found


def test_another_form_of_the_same_value_is_named(morning):
    """RFC 8949 section 4.2.1: the length of an array in one octet more; the head is made to hold."""
    with opened(morning) as db:
        number, data, before, _, *rest = rows(db)[4]
        longer = b"\x98\x0f" + data[1:]
        lay(db, [*rows(db)[:4], (number, longer, before, next_head(before, 5, leaf(longer)), *rest)])
    found = wrong(morning)
    assert (5, True) == (found[0], "its bytes are no entry" in found[1])


def test_check_words_in_the_record_are_a_figure_and_no_withheld_text(path, ledger):
    ledger.append(act(1), act(2, "check-words", {"number": 1, "words": "XXXX-XXXX-XXXX"}), now=SIX)
    ledger.close()

    assert (True, "All 2 entries agree with their heads.") == ((verdict := verify(path)).ok, verdict.says)


def test_coarse_times_before_the_entry_above_are_no_fault(path, ledger):
    ledger.append(act(1), now=SIX + 20 * 60_000)
    ledger.append(act(2, kind="spoiled"), now=SIX + 21 * 60_000)
    ledger.append(act(3), now=SIX + 22 * 60_000)
    ledger.close()

    assert verify(path, coarse=story.COARSE).ok
    assert verify(path).ok


def test_lines_that_a_tablet_has_not_sent_are_said(path, ledger):
    ledger.append(act(1), act(4), act(7), act(2, tablet="B"), now=SIX)
    ledger.close()

    says = verify(path).says
    assert "Tablet A has not sent its lines 2, 3, 5, 6: ask it what it still holds." in says
    assert "Tablet B has not sent its lines 1:" in says


def test_a_second_run_is_well_when_a_restore_begins_it(path, ledger):
    ledger.append(act(1), act(2, kind="restored"), act(3), now=SIX)
    ledger.close()
    assert verify(path).ok


def test_the_quick_check_holds_chain_and_links(morning):
    assert verify(morning, quick=True).ok
    with opened(morning) as db:
        flip(db, "entries", "entry", 3, 40)
    assert 3 == verify(morning, quick=True).first_wrong


@pytest.mark.parametrize("name", ["missing.db", "folder", "text.db", "empty.db"])
def test_what_is_no_record_is_refused_in_a_sentence(tmp_path, name):
    (tmp_path / "folder").mkdir()
    (tmp_path / "text.db").write_text("Dear office, " * 50)
    (tmp_path / "empty.db").touch()
    with pytest.raises(UnusableFile, match=rf"^{name} .*Give the path of a record.db\.$"):
        verify(tmp_path / name)


def test_the_checker_and_the_writer_share_the_hash_and_the_reader_of_bytes_alone():
    folder = Path(audit.__file__).parent

    def reached(*names, but=frozenset()):
        """The modules of this room that these import, and those that they import."""
        found, waiting = set(), [*names]
        while waiting:
            name = waiting.pop()
            found.add(name)
            nodes = ast.walk(ast.parse((folder / f"{name}.py").read_text()))
            imported = {
                n.module for n in nodes if isinstance(n, ast.ImportFrom) and n.module.startswith("webapp.record")
            }
            waiting += {m.rpartition(".")[2] for m in imported if m != "webapp.record"} - found
            nodes = ast.walk(ast.parse((folder / f"{name}.py").read_text()))
            waiting += {
                a.name for n in nodes if isinstance(n, ast.ImportFrom) and n.module == "webapp.record" for a in n.names
            } - found
        return found

    assert {"chain", "cbor"} == reached("audit") & reached("ledger")
