"""What a page of the desk showed when it was opened, as its form carries it: a page that is sent later is held against what is so by then."""

from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

from flask import current_app

from webapp.pages.shared.claim_form import claim_id

SINCE = "Something was kept about this since this page was opened. Look at it as it is now, then sign."


def mark(*facts: Any) -> str:
    """Eight hex digits that stand for these facts; other facts have others."""
    return sha256(repr(facts).encode()).hexdigest()[:8]


def marks(rows: Iterable[tuple[Any, ...]]) -> str:
    """What a form carries of the rows that its page shows, one mark each."""
    return " ".join(mark(*row) for row in rows)


def showed(form: Mapping[str, str], *facts: Any) -> bool:
    """Whether the page of this form showed these very facts, or the form is in the record already and sent again."""
    return mark(*facts) in form.get("looked", "").split() or in_record(form)


def in_record(form: Mapping[str, str]) -> bool:
    """Whether this very form made its entry already."""
    return current_app.extensions["room"].ledger.find(claim_id(form)) is not None
