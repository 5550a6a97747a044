"""One paper that two people of two parties key blind at the desk: who keyed it first, both sets, and the two pages of a count.

Until the second set is in, nothing that leaves this server holds a figure of the first.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import current_app, render_template

from webapp.canvass.atoms import Atom
from webapp.canvass.counts import Count
from webapp.canvass.edition import Way
from webapp.office.keying import count_form
from webapp.office.keying.count_form import Keyed
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh
from webapp.precinct.day.blind_keying import Keying
from webapp.precinct.place.place import Contest, Official


def room() -> OfficeSite:
    return current_app.extensions["room"]


class TwoKeyings:
    """What a page keys twice. `kind`: the entry that it becomes; `at`: which paper, and how often it was keyed before (`turn`)."""

    kind = ""
    at: str
    path: str
    turn: int

    @property
    def key(self) -> str:
        return f"{self.kind}:{self.at}"

    @property
    def sets(self) -> tuple[Keying, ...]:
        return room().day.keyings.open(self.key)

    @property
    def first(self) -> Official | None:
        """Who has keyed it once; None while nobody has."""
        by = room().day.keyings.by(self.key)
        return room().people.official(by[0]) if by else None

    def not_wanted(self, form: Mapping[str, str]) -> str:
        """Why this keying is not kept, although nothing of it is wrong; "" where it is the next one, or is in the record already."""
        if claim_form.in_record(form):
            return ""
        if form.get("turn") != str(self.turn):
            return "This paper was keyed and signed since this page was opened. Nothing of this keying was kept: look at what was signed first."
        if len(self.sets) > 1:
            return "Two people have keyed this paper already. Nothing of this keying was kept: they compare theirs with the paper now."
        return ""

    def candidates(self) -> list[tuple[str, str]]:
        """Who may key now: anybody, then receivers of another party than the first."""
        return signing.candidates("P", (self.first,)) if self.first else signing.candidates("1")

    def sign(self, figures: Mapping[str, Any], form: Mapping[str, str], **more: str) -> dict[str, str]:
        """Signs one person's set of figures; `more`: further fields of its entry. Returns what to correct, by input name."""
        body = {"of": self.kind, "at": self.at, **more, "figures": dict(figures)}
        draft = Draft((claim("keying", body, None, form, {}),), "1", self.path)
        return signing.sign(draft, form, bars=signing.second_keyer(self.first, "P")).mistakes


class CountKeyings(TwoKeyings):
    """Ballots of one atom keyed twice, of a count or a recount. `back`: the unit's page, and its words; `named`: what is keyed, as in
    "Key the count"; `who`: a person who keys it; `lead`: what the first one reads, then what both read."""

    atom: Atom
    way: Way
    name: str
    contests: Sequence[Contest]
    back: tuple[str, str]
    named = who = ballots_words = ""
    lead: tuple[str, str]

    def key_page(self, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None) -> str:
        """The page of the person who keys next."""
        values, mistakes = values or fresh(), mistakes or {}
        return render_template(
            "desk/count_key.html",
            one=self,
            first=self.first,
            sections=count_form.sections(self.contests),
            people=self.candidates(),
            tall=bool(values.get("as_paper")) or any("tick that it does" in said for said in mistakes.values()),
            values=values,
            mistakes=mistakes,
        )

    def both(self) -> dict[str, Any]:
        """Both sets side by side, as the page of the second signature shows them."""
        first, second = self.sets[-2:]
        pairs = count_form.compared(first.figures, second.figures, self.contests)
        return {
            "one": self,
            "pairs": pairs,
            "differ": [pair for pair in pairs if pair.differs],
            "by": (first.by, second.by),
            "people": signing.candidates("P"),
        }

    def agreed(self, form: Mapping[str, str]) -> Keyed:
        """What both keyed alike, and what was read off the paper where they differ."""
        first, second = self.sets[-2:]
        return count_form.agreed(first.figures, second.figures, form, self.contests)

    def held(self, keyed: Keyed) -> Count:
        """The keyed figures as a count that nobody has signed."""
        return Count(*self.atom[:3], "", "", keyed.ballots, keyed.contests)

    def sign_figures(self, keyed: Keyed, form: Mapping[str, str]) -> dict[str, str]:
        """Signs one keying of these figures with the PIN of the form. Returns what to correct, by input name."""
        return self.sign({"ballots": keyed.ballots, "contests": rows_of(keyed)}, form)


def rows_of(keyed: Keyed) -> dict[str, list[int | None]]:
    """Returns the rows by contest as an entry's body holds them."""
    return {id: list(row) for id, row in keyed.contests.items()}
