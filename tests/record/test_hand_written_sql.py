"""What a hand with the sqlite3 shell may try: every statement is refused by the triggers, and nothing changes."""

import sqlite3

import pytest

from tests.record import story
from webapp.record.audit import verify

ROW = "(number, entry, prev, head, tablet, seq, id)"
FREE = "x'00000000000040008000000000000099'"


def insert(
    number="6",
    prev="(SELECT head FROM entries WHERE number = 5)",
    id=FREE,
    verb="INSERT",
    tablet="'B'",
    seq="9",
    end="",
):
    return f"{verb} INTO entries {ROW} VALUES ({number}, x'00', {prev}, zeroblob(32), {tablet}, {seq}, {id}) {end}"


USED = "(SELECT id FROM entries WHERE number = 2)"
STATEMENTS = [
    "UPDATE entries SET entry = x'00' WHERE number = 3",
    "UPDATE entries SET number = 99 WHERE number = 5",
    "UPDATE OR REPLACE entries SET number = 2 WHERE number = 5",
    "UPDATE OR IGNORE entries SET tablet = 'Z'",
    "DELETE FROM entries",
    "DELETE FROM entries WHERE number = 5",
    "DELETE FROM entries WHERE number > 2",
    *(insert(number) for number in ("-5", "0", "1", "5", "7", "99", "NULL", "'6a'", "6.5", "x'06'")),
    insert(prev="zeroblob(32)"),
    insert(prev="(SELECT head FROM entries WHERE number = 4)"),
    insert(prev="NULL"),
    insert(id=USED),
    insert(tablet="'A'", seq="2"),
    *(
        insert("3", verb=verb)
        for verb in ("INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT OR FAIL", "INSERT OR ROLLBACK")
    ),
    insert(id=USED, verb="REPLACE"),
    insert(id=USED, verb="INSERT OR IGNORE"),
    insert(tablet="'A'", seq="2", verb="REPLACE"),
    insert("3", end="ON CONFLICT (number) DO UPDATE SET entry = x'00'"),
    insert(id=USED, end="ON CONFLICT (id) DO UPDATE SET entry = x'00'"),
    insert(id=USED, end="ON CONFLICT DO NOTHING"),
    f"INSERT INTO entries {ROW} SELECT number + 5, entry, prev, head, 'B', seq + 100, randomblob(16) FROM entries",
    "INSERT INTO entries DEFAULT VALUES",
    "UPDATE words SET text = 'All is well.'",
    "DELETE FROM words",
    "INSERT INTO words (line, text, salt, name, number) VALUES (3, 'x', zeroblob(16), 'more', 2)",
    "INSERT INTO words (line, text, salt, name, number) VALUES (3, 'x', zeroblob(16), 'reason', 5)",
    "INSERT INTO words (line, text, salt, name, number) VALUES (3, 'x', zeroblob(16), 'more', 6)",
    "INSERT INTO words (text, salt, name, number) VALUES ('x', zeroblob(16), 'more', 5)",
    "REPLACE INTO words (line, text, salt, name, number) VALUES (1, 'x', zeroblob(16), 'more', 5)",
    "UPDATE record SET record_id = zeroblob(16)",
    "DELETE FROM record",
    "INSERT INTO record VALUES (2, zeroblob(16))",
    "REPLACE INTO record VALUES (1, zeroblob(16))",
]


@pytest.mark.parametrize("statement", STATEMENTS)
def test_the_statement_is_refused_and_nothing_changes(morning, statement):
    db = sqlite3.connect(morning)
    before = list(db.iterdump())
    try:
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(statement)
        db.commit()
        assert before == list(db.iterdump())
    finally:
        db.close()
    assert verify(morning).ok


def test_the_first_entry_of_an_empty_record_has_number_one(path, ledger):
    ledger.close()
    db = sqlite3.connect(path)
    for number in ("0", "2", "-1", "NULL"):
        with pytest.raises(sqlite3.IntegrityError, match="takes the next number"):
            db.execute(insert(number, prev="zeroblob(32)"))
    db.close()


def test_the_settings_that_switch_foreign_checks_off_do_not_switch_these_off(morning):
    db = sqlite3.connect(morning)
    for setting in ("ignore_check_constraints = ON", "recursive_triggers = OFF", "foreign_keys = OFF"):
        db.execute(f"PRAGMA {setting}")
    for statement in STATEMENTS:
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(statement)
    db.close()


def test_an_entry_added_by_hand_in_its_place_stands_out(morning):
    """The triggers let a well-formed next row through; the chain does not."""
    db = sqlite3.connect(morning)
    db.execute(insert())
    db.commit()
    db.close()

    verdict = verify(morning)
    assert (False, 6, 6) == (verdict.ok, verdict.entries, verdict.first_wrong)


def test_the_story_uses_no_id_that_the_statements_take_for_free():
    assert bytes.fromhex(FREE[2:-1]) not in {act.claim.id for act in story.MORNING}
