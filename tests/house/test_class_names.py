"""A class that other rooms import has a name that no other such class has: nobody has to look where a name comes from."""

import ast
from collections import defaultdict

from tests.house.tree import WEBAPP, imports, module_of, own_room, own_sub_room, tree_of


def test_no_two_classes_that_rooms_share_have_one_name():
    home = {
        f"{module_of(path)}.{node.name}": (own_room(path), own_sub_room(path))
        for path in WEBAPP
        for node in tree_of(path).body
        if isinstance(node, ast.ClassDef)
    }
    shared = {
        imported
        for path in WEBAPP
        for imported in imports(path)
        if imported in home and home[imported] != (own_room(path), own_sub_room(path))
    }
    by_name = defaultdict(list)
    for found in sorted(shared):
        by_name[found.rpartition(".")[2]].append(found)
    assert len(shared) > 100
    assert [found for found in by_name.values() if len(found) > 1] == []
