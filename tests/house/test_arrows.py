"""Arrows point downward only, no circle anywhere, and the rules in the middle know no web, no store, no file and no clock."""

import ast
import re
from pathlib import Path

from tests.house.tree import (
    DEMO,
    WEBAPP,
    edges,
    imports,
    inner_imports,
    module_of,
    name,
    nodes_in,
    nodes_of,
    own_room,
    own_sub_room,
    room,
    sub_room,
)

RULES = {"precinct", "board", "deck", "canvass"}
BELOW = {
    "record": set(),
    "stick": {"record", "precinct"},
    "precinct": {"record"},
    "board": {"precinct", "record"},
    "deck": {"precinct", "record"},
    "canvass": {"precinct"},
    "packet": RULES | {"record"},
    "gate": RULES | {"packet", "record"},
    "paper": RULES | {"packet"},
    "office": RULES | {"gate", "paper", "packet"},
    "merging": RULES | {"office", "gate", "paper", "packet", "record", "stick"},
    "archive": RULES | {"merging", "office", "gate", "paper", "packet", "record", "stick"},
    "serving": {"settings"},
    "pages": RULES | {"merging", "office", "paper", "gate", "packet", "record", "stick", "settings"},
    "commands": RULES
    | {"archive", "merging", "pages", "office", "paper", "gate", "packet", "record", "stick", "settings", "serving"},
}
"""Which rooms each room may look into; `settings` is a module at the top, `version` and `create_app` are open to all."""

WITHIN = {
    "precinct": {
        "place": set(),
        "balance": set(),
        "explain": {"balance"},
        "day": {"place", "balance.ballot_table"},
        "account": {"place", "balance", "explain", "day"},
        "plausibility": {"place", "day"},
        "checklist": {"place", "balance", "day", "plausibility"},
        "reports": {"place", "balance", "day", "account", "checklist"},
    },
    "office": {
        "setup": set(),
        "reading": set(),
        "totals": {"setup", "questions"},
        "questions": {"setup"},
        "checking": {"setup", "questions", "totals.totals"},
        "keying": {"setup", "questions", "totals.totals", "checking"},
        "received": {"setup", "questions", "totals", "checking", "keying"},
        "canvassing": {"setup", "questions", "totals", "checking", "keying", "received"},
    },
    "pages": {
        "shared": set(),
        "tablets": {"shared"},
        "place": {"shared", "tablets"},
        "desk": {"shared", "tablets"},
        "board": {"shared", "tablets", "place"},
        "deck": {"shared", "tablets", "place"},
    },
    "paper": {"parts": set()},
    "pages.place": {"site": set()},
    "pages.desk": {
        "site": set(),
        "shared": {"site"},
        "places": {"site", "shared"},
        "totals": {"site", "shared"},
        "canvass": {"site", "shared", "totals"},
        "intake": {"site", "shared"},
    },
}
"""Which sub-rooms each sub-room may look into, or one module of it; modules at the top of a room are open to its sub-rooms."""

OPEN_TO_ALL = {
    "plain_file",
    "database_image",
}  # how a file is read and written; no rule in the middle touches one (`NOT_PURE`)

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
    "merging": {"entry", "cbor", "chain", "backup", "check_words"},
    "archive": {"entry", "chain", "reader", "backup", "check_words"},
    "pages": {"entry", "cbor", "ledger", "looking", "check_words", "audit", "refusals", "fork"},
    "commands": {"entry", "cbor", "ledger", "check_words", "audit", "refusals", "backup", "restoration", "chain"},
}
MOST_MODULES = 30
PURE = (*RULES, "packet")
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
ITS_OWN = {
    "webapp/precinct/balance/line_words.py": {"read_text"},  # of the package itself, through importlib.resources
    "webapp/precinct/place/default_steps.py": {"read_text"},  # of the package itself, through importlib.resources
    "webapp/precinct/day/blind_keying.py": {"open"},  # a method of its own: the sets that lie open
}
OPENS_A_DATABASE = {
    "webapp/database_image.py",  # in memory only
    "webapp/gate/database.py",
    "webapp/gate/keys.py",
    "webapp/office/totals/projections.py",
    "demo_precinct/rehearsal_report.py",
}
WRITER = {"ledger", "batch", "entry", "reader", "writer_lock", "backup"}
OF_THE_DEMO_NOT = (
    "webapp.precinct.balance.",
    "webapp.precinct.explain.",
    "webapp.precinct.account.",
    "webapp.office.totals.totals",
    "webapp.office.canvassing.edition_figures",
    "webapp.canvass.published",
    "webapp.canvass.changes",
    "webapp.canvass.results_csv",
    "webapp.packet.contents",
    "webapp.packet.figures_from_core",
)
IN_ROOMS = [path for path in WEBAPP if own_room(path)]


def test_a_room_looks_only_into_rooms_below():
    assert {own_room(path) for path in IN_ROOMS} <= set(BELOW), "say in BELOW what a new room may look into"
    wrong = {
        name(path): sorted(seen)
        for path in IN_ROOMS
        if (seen := {room(module) for module in imports(path)} - {"", own_room(path), "create_app", "__version__", "version"} - OPEN_TO_ALL
            - BELOW[own_room(path)])
    }  # fmt: skip
    assert wrong == {}


def test_a_sub_room_looks_only_where_it_may():
    wrong = []
    for path in IN_ROOMS:
        for above, subs in WITHIN.items():
            sub = sub_room(module_of(path), above)
            if not sub:
                continue
            assert sub in subs, f"say in WITHIN what webapp.{above}.{sub} may look into"
            for module in edges(path):
                other = sub_room(module, above)
                if other not in ("", sub) and not {other, f"{other}.{module.rpartition('.')[2]}"} & subs[sub]:
                    wrong.append(f"{name(path)} imports {module}")
    assert wrong == []


def test_large_rooms_have_sub_rooms():
    """A room of more modules than one can keep in mind has rooms of its own, and says in WITHIN what each may look into."""
    modules: dict[Path, int] = {}
    for path in WEBAPP:
        modules[path.parent] = modules.get(path.parent, 0) + (path.name != "__init__.py")
    assert {name(where): count for where, count in modules.items() if count > MOST_MODULES} == {}


def test_what_was_set_aside_by_each_reading_is_asked_for_by_the_room_s_own_search_alone():
    """It tells which ballot came when: no packet, paper or edition may hold it."""
    asks = [
        name(path)
        for path in WEBAPP
        if "figures_for_search(" in path.read_text(encoding="utf-8") and path.name != "figures_of_day.py"
    ]
    assert asks == ["webapp/precinct/account/balanced_day.py"]


def test_no_circle_of_imports():
    """Depth first, three colours: a module that is met again while its own imports are being walked closes a circle."""
    walked: dict[str, bool] = {}
    circles = []

    def walk(module: str, trail: tuple[str, ...]) -> None:
        if module in walked:
            if walked[module]:
                circles.append(" -> ".join((*trail[trail.index(module) :], module)))
            return
        walked[module] = True
        for other in graph.get(module, ()):
            walk(other, (*trail, module))
        walked[module] = False

    graph = {module_of(path): edges(path) for path in WEBAPP}
    for module in graph:
        walk(module, ())
    assert circles == []


def test_the_rules_import_at_the_top_and_for_real():
    """No import inside a function and none for types only: both hide a circle."""
    rules = [path for path in IN_ROOMS if own_room(path) in RULES]
    assert {name(path): found for path in rules if (found := inner_imports(path))} == {}
    assert [name(path) for path in rules if "TYPE_CHECKING" in path.read_text(encoding="utf-8")] == []


def test_of_the_record_a_room_sees_what_it_may():
    wrong = {}
    for path in IN_ROOMS:
        own = own_room(path)
        if own == "record":
            seen = {room(module) for module in imports(path)} - {"", "record"} - OPEN_TO_ALL
        else:
            seen = {module.split(".")[2] for module in imports(path) if module.startswith("webapp.record.")}
            seen -= OF_THE_RECORD.get(own, set())
        if seen:
            wrong[name(path)] = sorted(seen)
    assert wrong == {}


def test_the_rules_know_no_web_no_store_no_file_and_no_clock():
    wrong = {}
    for path in IN_ROOMS:
        if own_room(path) not in PURE:
            continue
        found = {module.split(".")[0] for module in imports(path)} & NOT_PURE
        found |= called(path) & TOUCHES - ITS_OWN.get(name(path), set())
        if "datetime.now" in path.read_text(encoding="utf-8"):
            found.add("datetime.now")
        if found:
            wrong[name(path)] = sorted(found)
    assert wrong == {}


def called(path) -> set[str]:
    """Names of every function and method that a file calls."""
    functions = (node.func for node in nodes_of(path) if isinstance(node, ast.Call))
    return {getattr(function, "id", getattr(function, "attr", "")) for function in functions}


def test_only_the_record_room_opens_a_record():
    """Who opens an SQLite file at all: the gate its own, the office its disposable tables, the rehearsal a look at these."""
    elsewhere = {
        name(path): source for path in WEBAPP + DEMO if own_room(path) != "record" and (source := connects(path))
    }
    assert set(elsewhere) <= OPENS_A_DATABASE
    assert [at for at, source in elsewhere.items() if "record.db" in source or "office.db" in source] == []


def connects(path) -> str:
    """The source of every function that calls `connect` or `Database`, as one text."""
    if not re.search(r"\b(connect|Database)\b", path.read_text(encoding="utf-8")):
        return ""
    return "\n".join(
        ast.unparse(member)
        for member in nodes_of(path)
        if isinstance(member, ast.FunctionDef)
        and any(
            isinstance(node, ast.Call)
            and getattr(node.func, "attr", getattr(node.func, "id", "")) in ("connect", "Database")
            for node in nodes_in(member)
        )
    )


def test_the_checker_shares_nothing_with_the_writer_but_hash_and_decoder():
    checkers = [path for path in WEBAPP if path.parent.name == "record" and path.stem.startswith("audit")]
    assert len(checkers) >= 6
    wrong = {
        name(path): sorted(seen)
        for path in checkers
        if (seen := {m.split(".")[2] for m in imports(path) if m.startswith("webapp.record.")} & WRITER)
    }
    assert wrong == {}


def test_the_demo_does_not_lean_on_how_the_product_adds_up():
    """But for the conventions of a contest, which say how a results file counts undervotes."""
    wrong = {
        name(path): seen
        for path in DEMO
        if (
            seen := [
                m for m in edges(path) if m.startswith(OF_THE_DEMO_NOT) and m != "webapp.precinct.balance.contests"
            ]
        )
    }
    assert wrong == {}


def test_only_commands_and_demo_start_a_server():
    wrong = [name(path) for path in WEBAPP if own_room(path) not in ("commands", "serving") and any(room(m) == "serving" for m in imports(path))]  # fmt: skip
    assert wrong == []


def test_only_the_upkeep_of_the_office_moves_its_tables_and_states():
    """Pages change what was received or found and call `refresh`; none tells tables, canvass board and states one by one."""
    told = {
        name(path)
        for path in IN_ROOMS
        if own_sub_room(path) == "desk"
        for node in nodes_of(path)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("put", "take", "match", "change")
        and ast.unparse(node.func.value).endswith((".tables", ".board", ".states"))
    }
    assert told == {"webapp/pages/desk/site/upkeep.py"}
