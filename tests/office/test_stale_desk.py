"""A page of the desk that was opened before something else was kept: what it would sign over, settle or replace unseen is asked about first."""

from tests.office.test_counts_page import minute


def first(night, form, who: str = "calloway", **values):
    """The first signature under a form that was opened before."""
    minute(night)
    return night.window.send(form, {**values, "signer": who, "pin": night.crew.pins[who]})


def second(night, page, who: str = "durand"):
    assert page.path.startswith("/sign/"), page.said()
    return night.window.send(page.form(page.path), {"signer": who, "pin": night.crew.pins[who]})
