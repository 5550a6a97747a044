"""What one room gives to another says what it is: each function, class and method that another room uses has a docstring that opens with a sentence."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from tests.house.tree import ROOT, WEBAPP, Function, module_of, name, nodes_of, own_room, own_sub_room, tree_of

TEMPLATES = sorted((ROOT / "webapp" / "pages" / "templates").rglob("*.html"))


def home(path: Path) -> tuple[str, str]:
    """The room and sub-room of a file of the product; a template is in none of them."""
    return own_room(path), own_sub_room(path)


def users() -> tuple[dict[str, set], dict[str, set]]:
    """({module.name: the rooms that import it or name it behind its module}, {attribute: the rooms and templates that ask for it})."""
    imported, asked = defaultdict(set), defaultdict(set)
    for path in WEBAPP:
        known = {}
        for node in nodes_of(path):
            if isinstance(node, ast.ImportFrom):
                known |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
        for found in known.values():
            imported[found].add(home(path))
        for node in nodes_of(path):
            if isinstance(node, ast.Attribute):
                asked[node.attr].add(home(path))
                if isinstance(node.value, ast.Name) and node.value.id in known:
                    imported[f"{known[node.value.id]}.{node.attr}"].add(home(path))
    for path in TEMPLATES:
        for word in re.findall(r"\.(\w+)", path.read_text(encoding="utf-8")):
            asked[word].add("template")
    return imported, asked


@cache
def classes() -> dict[str, list[ast.ClassDef]]:
    """Every class of the product by its name."""
    found = defaultdict(list)
    for path in WEBAPP:
        for node in tree_of(path).body:
            if isinstance(node, ast.ClassDef):
                found[node.name].append(node)
    return found


def names_of_bases(one: ast.ClassDef) -> list[str]:
    return [getattr(base, "id", getattr(base, "attr", "")) for base in one.bases]


def is_said_above(one: ast.ClassDef, method: str, seen: frozenset[str] = frozenset()) -> bool:
    """Whether a class that this one extends describes the method already: an override says it again only where it does more."""
    above = [found for base in names_of_bases(one) if base not in seen for found in classes()[base] if found is not one]
    return any(
        (isinstance(node, Function) and node.name == method and ast.get_docstring(node) is not None)
        for found in above
        for node in found.body
    ) or any(is_said_above(found, method, seen | {found.name}) for found in above)


def says_itself(node: Function) -> bool:
    """A property of one line, or a method of a protocol that has no body: its name and type are all there is to say."""
    body = [one for one in node.body if not (isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant))]
    is_property = any(getattr(mark, "id", "") in ("property", "cached_property") for mark in node.decorator_list)
    return not body or (is_property and len(body) == 1)


def of_other_rooms() -> Iterator[tuple[Path, str, ast.AST, bool]]:
    """(file, name, node, whether a base class describes it) of each public name that another room uses."""
    imported, asked = users()
    for path in WEBAPP:
        mine = {home(path)}
        for node in tree_of(path).body:
            if not isinstance(node, Function | ast.ClassDef) or node.name.startswith("_"):
                continue
            if imported[f"{module_of(path)}.{node.name}"] - mine:
                yield path, node.name, node, False
            if not isinstance(node, ast.ClassDef) or "Protocol" in names_of_bases(node):
                continue
            for inner in node.body:
                is_public = isinstance(inner, Function) and not inner.name.startswith("_") and not says_itself(inner)
                if is_public and asked[inner.name] - mine:
                    yield path, f"{node.name}.{inner.name}", inner, is_said_above(node, inner.name)


@cache
def shared() -> tuple[tuple[Path, str, ast.AST, bool], ...]:
    return tuple(of_other_rooms())


def opens_with_a_sentence(text: str) -> bool:
    """Two words or more, and a full stop at the end of the first paragraph: what it is, in one line that can be read alone."""
    first = " ".join(text.strip().split("\n\n")[0].split())
    return len(first.split()) > 1 and bool(re.search(r"[.:!?)`\"]$", first))


def test_what_another_room_uses_says_what_it_is():
    found = shared()
    assert len(found) > 1500
    silent = [
        f"{name(path)}:{node.lineno} {called}"
        for path, called, node, above in found
        if not above and ast.get_docstring(node) is None
    ]
    assert silent == []


def test_a_docstring_opens_with_a_sentence():
    wrong = [
        f"{name(path)}:{node.lineno} {called}: {text[:60]!r}"
        for path, called, node, _ in shared()
        if (text := ast.get_docstring(node)) is not None and not opens_with_a_sentence(text)
    ]
    assert wrong == []


def test_a_docstring_says_more_than_the_name():
    """Not the name again in other letters: some word that is not in it."""
    wrong = []
    for path, called, node, _ in shared():
        words = set(re.findall(r"[a-z]+", (ast.get_docstring(node) or "x y").lower())) - {
            "the",
            "a",
            "an",
            "of",
            "this",
        }
        own = set(re.findall(r"[a-z]+", re.sub(r"([A-Z])", r" \1", called).lower()))
        if not words - own:
            wrong.append(f"{name(path)}:{node.lineno} {called}")
    assert wrong == []


def raised(top: ast.AST) -> set[str]:
    """Names of the errors that a function itself raises; what a function inside it raises, and what is raised again as it came, is left out."""
    found = set()
    for node in ast.iter_child_nodes(top):
        if isinstance(node, Function | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(node, ast.Raise) and node.exc is not None:
            error = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
            found.add(getattr(error, "id", getattr(error, "attr", "")))
        found |= raised(node)
    return {one for one in found if one[:1].isupper() and one != "NotImplementedError"}


def test_a_docstring_says_what_its_function_raises():
    silent = [
        f"{name(path)}:{node.lineno} {called}: {', '.join(sorted(errors))}"
        for path, called, node, _ in shared()
        if isinstance(node, Function)
        and (errors := raised(node))
        and not re.search(r"[Rr]aise|[Rr]efus|[Aa]nswers \d", ast.get_docstring(node) or "Raises as its base says.")
    ]
    assert silent == []
