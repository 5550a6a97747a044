"""Pages half filled in, so that nothing typed is lost: the form's values, who began it and when. A draft is no entry and is in no record.

A draft is kept until its page is signed or put away, and at the latest until the hand-over. While the page waits for
its second signature its form waits here too; when that signature lapses or is taken back, what was filled in is still
there, unsigned.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.gate.database import GateDatabase

QUARTER = 15 * 60 * 1000  # ms
MOST = 500  # drafts of one place; more than any day fills

Pairs = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class PageDraft:
    """One page as it was left. `form` = ((input name, value), ...); times are ms UTC; `state` as in the table."""

    id: str
    path: str
    steps: tuple[str, ...]
    form: tuple[tuple[str, str], ...]
    tablet: str
    person: str | None
    begun: int
    state: str
    pending: str | None
    signer: str | None
    signed: int | None


_COLUMNS = "id, path, steps, form, tablet, person, begun, state, pending, signer, signed"


class Drafts:
    """Keeps, finds and removes half-filled pages in `gate.db`."""

    def __init__(self, drawer: GateDatabase):
        self._drawer = drawer
        self._turns: dict[str, tuple[str, int]] = {}

    def save(self, draft: PageDraft, load: str = "", turn: int = 0) -> bool:
        """Puts this page aside as it is; who began it, and when, stays from the first time. Whether it was saved.

        False, with nothing changed: it waits for a signature, somebody goes on with it on another tablet, there are too
        many already, or a later `turn` of the same opening of the page (`load`, "" = not known) was here before. A
        browser that is left sends its last two posts at once, and they may arrive in any order.
        """
        with self._drawer.change() as db:
            before, latest = self._turns.get(draft.id, ("", 0))
            if load and load == before and turn < latest:
                return False
            row = db.execute("SELECT state, tablet FROM drafts WHERE id = ?", (draft.id,)).fetchone()
            if row is None and db.execute("SELECT count(*) FROM drafts").fetchone()[0] >= MOST:
                return False
            if row is not None and (row[0] == "waits" or row[1] != draft.tablet):
                return False
            db.execute(
                "INSERT INTO drafts VALUES (?, ?, ?, ?, ?, ?, ?, 'begun', NULL, NULL, NULL) ON CONFLICT DO UPDATE SET "
                "path = excluded.path, steps = excluded.steps, form = excluded.form, state = 'begun'",
                _row(draft),
            )
            if load:
                self._turns[draft.id] = load, turn
        return True

    def wait(self, draft: PageDraft, pending: str, signer: str, signed: int) -> None:
        """The page was signed once: its form waits with that signature."""
        with self._drawer.change() as db:
            db.execute(
                "INSERT INTO drafts VALUES (?, ?, ?, ?, ?, ?, ?, 'waits', ?, ?, ?) ON CONFLICT DO UPDATE SET "
                "path = excluded.path, steps = excluded.steps, form = excluded.form, tablet = excluded.tablet, state = 'waits', "
                "pending = excluded.pending, signer = excluded.signer, signed = excluded.signed",
                (*_row(draft), pending, signer, signed),
            )

    def get(self, name: str) -> PageDraft | None:
        """Returns the draft with this id; None if there is none."""
        return next(iter(self._found("id = ?", name)), None)

    def of_signature(self, pending: str) -> PageDraft | None:
        """The page that waits, or waited, with this signature."""
        return next(iter(self._found("pending = ?", pending)), None)

    def at(self, path: str) -> tuple[PageDraft, ...]:
        """The unsigned drafts of this page, newest first; one that waits for its second signature is not included."""
        return self._found("path = ? AND state != 'waits'", path)

    def all(self) -> tuple[PageDraft, ...]:
        """Every unsigned draft, newest first."""
        return self._found("state != 'waits'")

    def move(self, name: str, tablet: str) -> None:
        """Go on with it on another tablet."""
        with self._drawer.change() as db:
            db.execute("UPDATE drafts SET tablet = ? WHERE id = ?", (tablet, name))

    def drop(self, names: Iterable[str]) -> None:
        """Removes pages that are signed, or put away."""
        with self._drawer.change() as db:
            db.executemany("DELETE FROM drafts WHERE id = ?", [(name,) for name in names])

    def clear(self) -> None:
        """All of them: the carriers have left."""
        with self._drawer.change() as db:
            db.execute("DELETE FROM drafts WHERE state != 'waits'")

    def _found(self, where: str, *values: str) -> tuple[PageDraft, ...]:
        rows = self._drawer.rows(f"SELECT {_COLUMNS} FROM drafts WHERE {where} ORDER BY begun DESC, id", *values)
        return tuple(_draft(row) for row in rows)


def rounded(now: int, coarse: bool) -> int:
    """The moment, or of one ballot the start of its quarter hour; ms UTC."""
    return now - now % QUARTER if coarse else now


def _row(draft: PageDraft) -> tuple[Any, ...]:
    return (
        draft.id,
        draft.path,
        " ".join(draft.steps),
        json.dumps(draft.form),
        draft.tablet,
        draft.person,
        draft.begun,
    )


def _draft(row: tuple[Any, ...]) -> PageDraft:
    id_, path, steps, form, tablet, person, begun, state, pending, signer, signed = row
    pairs = tuple((name, value) for name, value in json.loads(form))
    return PageDraft(id_, path, tuple(steps.split()), pairs, tablet, person, begun, state, pending, signer, signed)
