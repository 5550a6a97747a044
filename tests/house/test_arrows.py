"""Arrows point downward only, and the rules in the middle know no web, no store, no file and no clock."""

import ast

import pytest

from tests.house.tree import DEMO, WEBAPP, imports, name, own_room, room, tree_of

BELOW = {
    "record": set(),
    "stick": {"record"},
    "precinct": {"record"},
    "board": {"precinct", "record"},
    "deck": {"precinct", "record"},
    "packet": {"precinct", "board", "deck", "record"},
    "gate": {"packet", "precinct", "board", "deck", "record"},
    "paper": {"packet", "precinct", "board", "deck"},
    "office": {"gate", "paper", "packet", "precinct", "board", "deck"},
    "serving": {"settings"},
    "pages": {"office", "paper", "gate", "packet", "precinct", "board", "deck", "record", "stick", "settings"},
    "commands": {
        "pages",
        "office",
        "paper",
        "gate",
        "packet",
        "precinct",
        "board",
        "deck",
        "record",
        "stick",
        "settings",
        "serving",
    },
}
"""Which rooms each room may look into; `settings` is a module at the top."""

OF_THE_RECORD = {
    "precinct": {"entry"},
    "board": {"entry"},
    "deck": {"entry"},
    "packet": {"entry", "cbor"},
    "stick": {
        "entry",
        "cbor",
        "chain",
        "ledger",
        "reader",
        "backup",
        "restoration",
        "check_words",
        "audit",
        "refusals",
    },
    "gate": {"cbor"},
    "pages": {"entry", "cbor", "ledger", "check_words", "audit", "refusals", "fork"},
    "commands": {"entry", "cbor", "ledger", "check_words", "audit", "refusals", "backup"},
}
PURE = ("precinct", "board", "deck", "packet")
NOT_PURE = {
    "flask",
    "werkzeug",
    "jinja2",
    "sqlite3",
    "sqlite_utils",
    "socket",
    "ssl",
    "subprocess",
    "threading",
    "multiprocessing",
    "asyncio",
    "time",
    "os",
    "pathlib",
    "shutil",
    "tempfile",
    "urllib",
    "http",
    "random",
    "secrets",
    "uuid",
    "logging",
}
TOUCHES = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "utcnow", "today", "print", "input"}
SHIPPED_DATA = "webapp/precinct/place/default_steps.py"
WRITER = {"ledger", "batch", "entry", "reader", "writer_lock", "backup", "restoration"}
ROOMS = [path for path in WEBAPP if own_room(path)]


@pytest.mark.parametrize("path", ROOMS, ids=name)
def test_a_room_looks_only_into_rooms_below(path):
    own = own_room(path)
    assert own in BELOW, f"{own}: say in BELOW what this new room may look into"
    seen = {room(module) for module in imports(path)} - {"", own, "create_app", "__version__", "version"}
    assert seen <= BELOW[own]


@pytest.mark.parametrize("path", ROOMS, ids=name)
def test_of_the_record_a_room_sees_what_it_may(path):
    own = own_room(path)
    if own == "record":
        assert {room(module) for module in imports(path)} <= {"", "record"}
        return
    seen = {module.split(".")[2] for module in imports(path) if module.startswith("webapp.record.")}
    assert seen <= OF_THE_RECORD.get(own, set())


@pytest.mark.parametrize("path", [path for path in WEBAPP if own_room(path) in PURE], ids=name)
def test_the_rules_know_no_web_no_store_no_file_and_no_clock(path):
    assert sorted({module.split(".")[0] for module in imports(path)} & NOT_PURE) == []
    called = {
        node.func.id
        if isinstance(node.func, ast.Name)
        else node.func.attr
        if isinstance(node.func, ast.Attribute)
        else ""
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Call)
    }
    if name(path) == SHIPPED_DATA:
        called -= {"read_text"}  # of the package itself, through importlib.resources
    if "webapp/precinct/day/blind_keying.py" == name(path):
        called -= {"open"}  # its own: the sets that lie open
    assert sorted(called & TOUCHES) == []
    assert "datetime.now" not in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", [path for path in WEBAPP + DEMO if own_room(path) != "record"], ids=name)
def test_only_the_record_room_opens_a_record(path):
    """Who opens an SQLite file at all: the gate its own, the office its disposable tables, the rehearsal a look at these."""
    if name(path) in {
        "webapp/gate/database.py",
        "webapp/gate/keys.py",
        "webapp/office/projections.py",
        "demo_precinct/rehearsal.py",
    }:
        assert "record.db" not in _connects(path) and "office.db" not in _connects(path)
    else:
        assert _connects(path) == ""


def _connects(path) -> str:
    """The source of every function that calls `connect` or `Database`, as one text."""
    return "\n".join(
        ast.unparse(member)
        for member in ast.walk(tree_of(path))
        if isinstance(member, ast.FunctionDef)
        and any(
            isinstance(node, ast.Call)
            and getattr(node.func, "attr", getattr(node.func, "id", "")) in ("connect", "Database")
            for node in ast.walk(member)
        )
    )


@pytest.mark.parametrize(
    "path", [path for path in WEBAPP if path.parent.name == "record" and path.stem.startswith("audit")], ids=name
)
def test_the_checker_shares_nothing_with_the_writer_but_hash_and_decoder(path):
    assert {module.split(".")[2] for module in imports(path) if module.startswith("webapp.record.")} & WRITER == set()


@pytest.mark.parametrize("path", DEMO, ids=name)
def test_the_demo_does_not_lean_on_how_the_product_adds_up(path):
    adding_up = (
        "webapp.precinct.balance.balance",
        "webapp.precinct.balance.all_lines",
        "webapp.precinct.explain.explain",
        "webapp.precinct.account.figures_of_day",
        "webapp.office.totals",
        "webapp.packet.contents",
        "webapp.packet.figures_from_core",
    )
    assert [module for module in imports(path) if module.startswith(adding_up)] == []
