"""The lines of the balance: each a small function of one night that yields what it can draw, or what it lacks. All stand in one tuple.

gap = left - right. Where both sides have rows of one scope (precinct or style), the line is drawn for each scope and for the sum.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from webapp.precinct import balance_table, says
from webapp.precinct.figures import NONE, Count, count, known, listed, number, text
from webapp.precinct.night import Night


@dataclass(frozen=True)
class Line:
    """One drawn line. `scope` is {} for the whole room."""

    id: str
    left: int
    right: int
    says: str
    left_words: str = "On one side"
    right_words: str = "on the other"
    scope: Mapping[str, str] | None = None

    @property
    def gap(self) -> int:
        return self.left - self.right

    def as_json(self) -> dict:
        scope = {"scope": dict(self.scope)} if self.scope else {}
        return {"id": self.id, **scope, "left": self.left, "right": self.right, "gap": self.gap, "says": self.says}


@dataclass(frozen=True)
class Lacks:
    """A line that cannot be drawn, and the parts that are missing."""

    id: str
    missing: tuple[str, ...]


Found = Iterator[Line | Lacks]
Part = tuple[str, int, Count]       # (words, how often it counts, the figure)


def _parts(night: Night, how: Callable[..., int]) -> list[Part]:
    """The right side of stock or poll book: the tapes, then each set-aside kind and origin that adds or takes away."""
    parts: list[Part] = [("on the tapes", 1, tape) for tape in night.tapes]
    off = sum(t.subtract + t.fed_again for t in night.tabulators if t.tape is not None)
    if off:
        parts.append(("fed again or subtracted", -1, count(off, "tabulators")))
    for kind, figure in night.aside.items():
        for origin in night.table.origins:
            factor = how(kind, origin)
            mine = Count(tuple(row for row in figure.rows if (row.of("origin") or "paper") == origin))
            if factor and mine.rows:
                parts.append((balance_table.words(kind), factor, mine))
    for origin, figure in night.cast_from.items():
        factor = how("cast", origin)
        if factor:
            parts.append((f"cast from {origin}", factor, figure))
    return parts


def _told(parts: list[Part]) -> str:
    """"431 on the tapes + 2 spoiled + 5 provisional"."""
    sums: dict[str, int] = {}
    for words, factor, figure in parts:
        sums[words] = sums.get(words, 0) + factor * figure.total
    shown = [(words, n) for words, n in sums.items() if n or words == "on the tapes"]
    return " ".join((f"{'+' if n >= 0 else '−'} " if i else ("−" if n < 0 else "")) + f"{abs(n):,} {words}" for i, (words, n) in enumerate(shown))


def _scoped(id_: str, left: list[Part], right: list[Part], sentence: Callable[[int, int, str], str], words: tuple[str, str]) -> Found:
    """The line for the room, and for each precinct or style where every figure of both sides names it."""
    def side(parts: list[Part]) -> int:
        return sum(factor * figure.total for _, factor, figure in parts)

    told = _told(right)
    yield Line(id_, side(left), side(right), sentence(side(left), side(right), told), *words)
    for key in ("precinct", "style"):
        drawn = [[(factor, figure.scoped(key)) for _, factor, figure in parts] for parts in (left, right)]
        if any(scopes is None for parts in drawn for _, scopes in parts) or not all(any(s for _, s in parts) for parts in drawn):
            continue
        names = sorted({name for parts in drawn for _, scopes in parts for name in scopes})
        for name in names:
            lo, ro = (sum(factor * scopes.get(name, 0) for factor, scopes in parts) for parts in drawn)
            yield Line(id_, lo, ro, f"{key.capitalize()} {name}: {sentence(lo, ro, told if len(names) == 1 else 'this part of the room')}", *words, scope={key: name})


def stock(night: Night) -> Found:
    """received - unused = T + sum of (from stock - counted) x n."""
    missing = _missing(night, stock=True, cast=True)
    if missing:
        yield Lacks("stock", missing)
        return
    yield from _scoped("stock", [("received", 1, night.received), ("unused", -1, night.unused)], _parts(night, night.table.stock), says.stock,
                       ("Left the stock", "Accounted for"))


def _missing(night: Night, stock: bool = False, book: bool = False, cast: bool = False) -> tuple[str, ...]:
    wanted = [("stock.received", stock and night.received is None), ("stock.unused", stock and night.unused is None),
              ("poll_book", book and "poll_book" not in night.people), ("tape", cast and not night.has_cast)]
    return tuple(name for name, lacks in wanted if lacks)


def poll_book(night: Night) -> Found:
    """check-ins = T + sum of (in poll book - counted) x n; each other count of people likewise, with the kinds it includes."""
    if not night.people or "poll_book" not in night.people:
        yield Lacks("poll-book", _missing(night, book=True, cast=True))
    for name, people in night.people.items():
        id_ = "poll-book" if name == "poll_book" else f"voters:{name}"
        missing = _missing(night, cast=True)
        if missing:
            yield Lacks(id_, missing)
            continue
        own = night.includes.get(name, ())

        def how(kind: str, origin: str = "paper", own: tuple[str, ...] = own) -> int:
            return 1 - int(night.table.fates[kind].counted) if kind in own else night.table.book(kind, origin)

        yield from _scoped(id_, [("check-ins", 1, people)], _parts(night, how), says.poll_book, ("Check-ins", "Accounted for"))


def paper_to_book(night: Night) -> Found:
    """received - unused - check-ins = sum of (from stock - in poll book) x n, when no tape is in yet."""
    if night.tapes:
        return
    missing = _missing(night, stock=True, book=True)
    if missing:
        yield Lacks("paper-to-book", missing)
        return

    def how(kind: str, origin: str = "paper") -> int:
        return night.table.stock(kind, origin) - night.table.book(kind, origin)

    right = [part for part in _parts(night, how)]
    left = night.received.total - night.unused.total - night.people["poll_book"].total
    total = sum(factor * figure.total for _, factor, figure in right)
    yield Line("paper-to-book", left, total, says.plain(left, total, "Ballots that left the stock beyond the check-ins", "set aside without one", "ballot"),
               "Left the stock beyond check-ins", "Set aside without a check-in")


def other_stock(night: Night) -> Found:
    """received - unused = ballots of that origin, for copies and other own stocks."""
    raw = known(night.data.get("other_stock", {}), night.table.origins, "other_stock")
    for origin, item in raw.items():
        known(item, ("received", "unused"), f"other_stock.{origin}")
        if len(item) < 2 or not night.has_cast:
            yield Lacks("stock", tuple(f"other_stock.{origin}.{k}" for k in ("received", "unused") if k not in item) or ("tape",))
            continue
        left = number(item["received"], f"other_stock.{origin}.received") - number(item["unused"], f"other_stock.{origin}.unused")
        kinds = sum(figure.origin(origin) for kind, figure in night.aside.items() if night.table.fates[kind].from_stock)
        right = kinds + night.cast_from.get(origin, NONE).total
        yield Line("stock", left, right, says.plain(left, right, f"Ballots of {origin} used", "accounted for"), f"{origin} used", "accounted for", {"origin": origin})


def bins(night: Night) -> Found:
    """The hand count of the bins, emptyings included, = the tapes of the tabulators on that box."""
    boxes = {text(known(b, ("id", "bins", "emptied", "emergency"), "boxes").get("id"), "boxes.id"): b for b in listed(night.data.get("boxes", []), "boxes")}
    by_box: dict[str, list] = {}
    for tabulator in night.tabulators:
        by_box.setdefault(tabulator.box, []).append(tabulator)
    for box, on_it in by_box.items():
        item = boxes.get(box, {})
        id_ = f"bins:{on_it[0].id if len(on_it) == 1 else box}"
        counted = [c for t in on_it for c in t.bins.values()] + [count(v, f"boxes.{box}.bins.{k}") for k, v in dict(item.get("bins", {})).items()]
        emptied = [known(e, ("at", "counter", "n", "container", "bin"), f"boxes.{box}.emptied") for e in item.get("emptied", [])]
        unknown = any(e.get("n") is None for e in emptied)
        cast = [t.cast for t in on_it]
        missing = tuple(name for name, lacks in (("bins", not counted), ("emptied", unknown), ("tape", None in cast)) if lacks)
        if missing:
            yield Lacks(id_, missing)
            continue
        left = sum(c.total for c in counted) + sum(count(e["n"], f"boxes.{box}.emptied.n").total for e in emptied)
        right = sum(cast)
        more = " ".join(f"({c.unsettled})" for c in counted if c.unsettled)
        yield Line(id_, left, right, says.plain(left, right, "Counted by hand out of the bins", "on the tape") + (f" {more}" if more else ""), "Counted out of the bins", "On the tape")


def counter(night: Night) -> Found:
    """Public counter at close - at zero, over its runs = ballots on its tape as printed."""
    for t in night.tabulators:
        ends = [end for run in t.runs for end in run.counter]
        missing = tuple(name for name, lacks in (("counter", None in ends or not ends), ("tape", t.tape is None)) if lacks)
        if missing:
            yield Lacks(f"counter:{t.id}", missing)
            continue
        left = sum(run.counter[1] - run.counter[0] for run in t.runs)
        yield Line(f"counter:{t.id}", left, t.tape.total, says.plain(left, t.tape.total, f"Public counter of {t.id} moved by", "ballots on its tape"),
                   f"Public counter of {t.id} moved by", "Ballots on its tape")


def lifetime(night: Night) -> Found:
    """Protective counter close - zero = public counter close - zero, run by run."""
    for t in night.tabulators:
        for run in t.runs:
            id_, scope = f"lifetime:{t.id}", {"unit": run.unit} if len(t.runs) > 1 else None
            if None in run.lifetime or None in run.counter:
                yield Lacks(id_, tuple(name for name, ends in (("lifetime", run.lifetime), ("counter", run.counter)) if None in ends))
                continue
            left, right = run.lifetime[1] - run.lifetime[0], run.counter[1] - run.counter[0]
            yield Line(id_, left, right, says.plain(left, right, f"Protective counter of {run.unit} moved by", "its public counter by"),
                       f"Protective counter of {run.unit} moved by", "Public counter moved by", scope)


def stubs(night: Night) -> Found:
    """next - first, less missing numbers, over styles and packs = received - unused."""
    raw = night.data.get("stubs")
    if raw is None:
        return
    items = raw if isinstance(raw, list) else [raw]
    missing = _missing(night, stock=True)
    if missing or not items:
        yield Lacks("stubs", missing or ("stubs",))
        return
    left = 0
    for item in items:
        known(item, ("style", "first", "next", "missing"), "stubs")
        first, nxt = number(item.get("first"), "stubs.first"), number(item.get("next"), "stubs.next")
        if nxt < first:
            from webapp.precinct.figures import Unreadable

            raise Unreadable(f"stubs.next is {nxt:,}, before stubs.first {first:,}: numbers run on.")
        left += nxt - first - len(listed(item.get("missing", []), "stubs.missing"))
    right = night.received.total - night.unused.total
    yield Line("stubs", left, right, says.plain(left, right, "Stubs torn", "left the stock"), "Stubs torn", "Left the stock")


def aside(night: Night) -> Found:
    """Counted from the envelope = logged, for each kind that has both."""
    for kind, pairs in night.logs.items():
        if pairs:
            left, right = sum(c for c, _ in pairs), sum(log for _, log in pairs)
            words = balance_table.words(kind).capitalize()
            yield Line(f"aside:{kind}", left, right, says.plain(left, right, f"{words}, counted from the envelope", "noted during the day"), f"{words}, counted", "noted")
