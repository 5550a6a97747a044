"""No text becomes code: nothing that was typed or read from a file is ever run, unpickled or made into a template."""

import ast

from tests.house.tree import DEMO, WEBAPP, imports, name, nodes_of

RUNS = {"eval", "exec", "from_string", "render_template_string"}
COMPILES = {"compile"}  # of `re` only
UNPICKLES = {"pickle", "marshal", "shelve", "yaml"}


def test_the_product_runs_no_text_as_code():
    called = {
        f"{name(path)}: {ast.unparse(node.func)}"
        for path in WEBAPP + DEMO
        for node in nodes_of(path)
        if isinstance(node, ast.Call)
        and (getattr(node.func, "id", "") in RUNS | COMPILES or getattr(node.func, "attr", "") in RUNS)
    }
    assert called == set()
    assert [
        name(path) for path in WEBAPP + DEMO if {module.split(".")[0] for module in imports(path)} & UNPICKLES
    ] == []
    with_a_shell = {
        name(path)
        for path in WEBAPP + DEMO
        for node in nodes_of(path)
        if isinstance(node, ast.Call)
        and any(word.arg == "shell" for word in node.keywords)
        and ast.unparse(node.func).startswith("subprocess.")
    }
    assert with_a_shell == set()
