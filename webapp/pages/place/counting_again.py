"""A hand count repeated by another pair: the first to sign must not have signed a count of it before."""

from collections.abc import Mapping

from flask import current_app

from webapp.pages.shared import signing
from webapp.pages.shared.claim_form import claim_id
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.second_counts import SecondCount


def read(count: SecondCount, form: Mapping[str, str], weight: str, named: str) -> tuple[int, dict[str, str]]:
    """(what they counted, what to correct by input name). `named`: what is counted, as in "signed a count of B004 before"."""
    n, mistakes = 0, {}
    try:
        n = number(form.get("n", "").strip())
    except InvalidInput:
        mistakes["n"] = count.ask
    signer = form.get("signer", "")
    here = current_app.extensions["room"]
    sent_again = here.ledger.find(claim_id(form)) is not None
    if signer in count.signers and not sent_again and not only_they(count, weight):
        name = here.person_name(signer)
        mistakes["signer"] = (
            f"{name} signed a count of {named} before. Another pair counts it now: one of them signs first."
        )
    return n, mistakes


def only_they(count: SecondCount, weight: str) -> bool:
    """Whether nobody is at work who could sign first but those who counted before."""
    return all(person in count.signers for person, _ in signing.candidates(weight))


def people(count: SecondCount, weight: str) -> list[tuple[str, str]]:
    """Who may sign first: (id, name with party and role)."""
    alone = only_they(count, weight)
    return [(who, words) for who, words in signing.candidates(weight) if alone or who not in count.signers]
