"""A count board's two days, played through the real pages: carriers and trays on the first, batches, tabulators and the close on the second.

Planted: an empty envelope, two ballots in one, five duplicates, a ballot fed after all and one counted by hand, a night between, a batch that goes through a
second time and stays on the tape, and a miscount that another pair finds.
"""

from demo_precinct.board_tables import BoardTables
from demo_precinct.count_board import TrueBatch, TrueTray
from demo_precinct.http_window import Page, Stuck
from demo_precinct.rehearsed_day import MINUTE
from webapp.precinct.place.place import Contest

ROWS = 10  # batches that are made on one page


class BoardDays(BoardTables):
    """The board's director; steps with pages of their own are those of any place."""

    def play(self) -> bool:
        """Both days, from the first carrier to the departure."""
        self.begin()
        self.first_day()
        self.second_morning()
        self.count()
        self.close()
        return True

    def begin(self) -> None:
        """People, roles, who may leave, the room shown."""
        self.crew.clock(self.now)
        self.arrive()
        for key in ("roles", "seclusion", "room-open"):
            self.pass_time(1)
            self.crew.do(key)
        self.sit_down()

    def sit_down(self) -> None:
        """The opening pair at the table where batches are made; by their own words, two taps each."""
        for who in ("corvin", "dahl"):
            self.note("seat", table="3", who=who)

    # --- the first day

    def first_day(self) -> None:
        """Carriers in, counted, shown empty; trays opened; sleeves stay shut over night."""
        for i, (carrier, envelopes) in enumerate(self.board.carriers.items()):
            slip = {f"slip_envelopes.{p}": str(n) for p, n in envelopes.items()}
            slip |= {"seal": f"4{carrier[1:]:0>4}", "slip": f"R-{carrier[1:]}"}
            counted = {f"envelopes.{p}": f"{n}; {n}" for p, n in envelopes.items()}
            if i:
                self.whole_carrier(carrier, slip, counted)
                continue
            self.note("carrier-in", carrier=carrier, **slip)  # the first by three pairs, one after the other
            self.note("envelopes-counted", carrier=carrier, **counted)
            self.note("carrier-empty", carrier=carrier)
        self.note("list-checked")
        for tray in self.board.trays:
            ticks = {f"precincts.{p.id}": "yes" if p.id == tray.precinct else [] for p in self.place.precincts}
            apart = {"rejected.no-signature": str(tray.rejected or ""), "held.challenged": str(tray.held or "")}
            figures = {"envelopes": tray.envelopes, "empty": tray.empty, "sleeves": tray.sleeves}
            self.note("tray-open", tray=tray.id, **ticks, **apart, **{k: str(n) for k, n in figures.items()})
            self.note("envelopes-away", tray=tray.id)
        sleeves = {f"sleeves.{p}": f"{n}; {n}" for p, n in self.board.sleeves().items()}
        self.seal = self.answers.take("S1")
        self.note("sleeves-sealed", **sleeves, **{"seals.S1": self.seal})
        shut = {f"sleeves.{p}": str(n) for p, n in self.board.sleeves().items()}
        self.note("night-close", **shut, **self.no_counters())

    def whole_carrier(self, carrier: str, slip: dict[str, str], counted: dict[str, str]) -> Page:
        """Taken in, counted and shown empty on one page, signed once."""
        self.pass_time(1.5)
        form = self.crew.window.get("/trays/carrier").form("/trays/carrier")
        values = {"carrier-in/carrier": carrier, "carrier-in/unhurt": "yes", "carrier-empty/opened_flat": "yes"}
        values |= {f"carrier-in/{name}": value for name, value in slip.items()}
        values |= {f"envelopes-counted/{name}": value for name, value in counted.items()}
        self.crew.tally.kept += 3
        self.crew.tally.steps |= {"carrier-in", "envelopes-counted", "carrier-empty"}
        return self.crew.signed(Page(200, "", b"", {}), form, values)

    def no_counters(self) -> dict[str, str]:
        return {f"counters.{t.id}": "" for t in self.place.tabulators}

    # --- the second day

    def second_morning(self, night: bool = True) -> None:
        """Sleeves as many as in the evening where a `night` lay between, tabulators at zero, and the hour."""
        self.go(self.place.at(self.place.opens) - 75 * MINUTE)
        self.hold()
        if night:
            self.morning()
        self.tabulators_at_zero()

    def morning(self) -> None:
        """What was shut in the evening is counted and opened."""
        shut = {f"sleeves.{p}": str(n) for p, n in self.board.sleeves().items()}
        self.note("morning-open", **shut, **self.no_counters(), **{"seals.S1": self.seal})
        self.note("sleeves-opened", **shut, **{"seals.S1": self.seal})

    def tabulators_at_zero(self) -> None:
        """Seals, power, zero tapes; then the hour has come."""
        while (key := self.crew.next_key()) and key.partition(":")[0] != "counting-begins":
            self.pass_time(1)
            self.crew.do(key)
        if key is None:
            raise Stuck("Now offers no step that begins the count")
        self.go(self.place.at(self.place.opens) + MINUTE)
        self.hold()
        self.crew.do("counting-begins")

    def count(self, part: float = 1) -> None:
        """Each tray unfolded, its batches made ten on a page, then fed in turn on both tabulators, or only this part of them; then ballots set aside are settled."""
        both = self.board.trays[-1]  # unfolded and made into batches by one table, on one page
        for tray in self.board.trays[:-1]:
            self.note("unfold", tray=tray.id, **unfolded(tray))
        for tray in self.board.trays:
            plain = [batch for batch in tray.batches if not batch.stray]
            for i in range(0, len(plain), ROWS):
                own = unfolded(tray) if tray is both and i == 0 else {}
                self.make(tray.id, tray.precinct, plain[i : i + ROWS], unfold=own)
            for batch in tray.batches:
                if batch.stray:
                    self.strayed(batch)
        self.hold()
        for i, batch in enumerate(self.board.batches[: round(len(self.board.batches) * part)]):
            at = self.place.tabulators[i % len(self.place.tabulators)].id
            if batch.parted:
                self.goes_down(batch, at, self.place.tabulators[(i + 1) % len(self.place.tabulators)].id)
                self.next_shift()
                continue
            self.feed(batch, at, miscounted=i == 2)
            if i == 4:
                self.fed_again(batch, self.place.tabulators[(i + 1) % 2].id)
        if part == 1:
            self.settle()

    def next_shift(self) -> None:
        """One of the pair at the first tabulator goes, another comes: between two batches."""
        at = self.place.tabulators[0].id
        tables = self.place.board.tables if self.place.board else ()
        table = next(t.id for t in tables if t.tabulator == at)
        self.note("shift", table=table, out="elmhurst", counter=str(self.answers.public(at)), **{"in": "grady"})

    def by_precinct(self) -> None:
        """Each tape's votes precinct by precinct, where the place file says that they are typed so."""
        if self.place.board is None or self.place.board.votes != "by-precinct":
            return
        for at, rows in self.board.votes.items():
            for precinct, contests in rows.items():
                if not self.board.fed[at][precinct]:
                    continue
                ticks = {f"precincts.{p.id}": "yes" if p.id == precinct else [] for p in self.place.precincts}
                figures = {f"contests.{c.id}.{name}": "" for c in self.place.typed_contests() for name in lines_of(c)}
                for contest, row in contests.items():
                    figures |= {f"contests.{contest}.votes.{choice}": str(n) for choice, n in row["votes"].items()}
                    figures |= {f"contests.{contest}.{key}": str(n) for key, n in row.items() if key != "votes"}
                self.note("tape-precinct", at, ballots=str(self.board.fed[at][precinct]), **ticks, **figures)

    def settle(self) -> None:
        """Duplicates made, compared and fed; one ballot fed after all; one counted by hand."""
        made: dict[str, list[str]] = {}
        self.crew.only = frozenset({"corvin", "dahl"})
        for batch, position in self.board.outcomes("duplicated"):
            page = self.crew.window.get("/note/duplicate-made")
            serial = page.form("/note/duplicate-made").controls["serial"].value
            style = next(s.id for s in self.place.styles if batch.precinct in s.precincts)
            self.note("duplicate-made", serial=serial, style=style, cause="torn")
            self.note("settled", batch=batch.id, position=str(position), outcome="duplicated", serial=serial)
            made.setdefault(batch.precinct, []).append(serial)
        serials = [serial for some in made.values() for serial in some]
        self.seen.duplicates = len(serials)
        self.crew.only = frozenset({"grady", "holm"})
        self.note("duplicate-checked", **{"from": min(serials), "to": max(serials)})
        self.crew.only = frozenset()
        for batch, position in self.board.outcomes("hand-counted"):
            self.note("settled", batch=batch.id, position=str(position), outcome="hand-counted", serial="")
            self.note("hand-count", ballots="1", precinct=batch.precinct)
        again: dict[str, int] = {}
        for batch, position in self.board.outcomes("fed-after-all"):
            self.note("settled", batch=batch.id, position=str(position), outcome="fed-after-all", serial="")
            again[batch.precinct] = again.get(batch.precinct, 0) + 1
        for kind, letter, sums in (
            ("duplicates", "D", {p: len(some) for p, some in made.items()}),
            ("again", "G", again),
        ):
            for i, (precinct, n) in enumerate(sums.items(), 1):
                batch = TrueBatch(f"{letter}{i:03}", precinct, 0, 0, 0, n)
                self.make("", precinct, [batch], kind)
                self.feed(batch, self.place.tabulators[0].id)

    def close(self) -> None:
        """From the deadline to the departure, as Now offers it."""
        self.go(self.place.at(self.place.closes) + MINUTE)
        self.hold()
        self.truth = self.answers.truth = self.board.tapes(self.seed)
        for _ in range(60):
            key = self.crew.next_key()
            if key is None:
                return
            if key.partition(":")[0] == "statement":
                self.by_precinct()
            self.step(key, [])
        raise Stuck(f"the board does not close: {key} comes again and again")


def unfolded(tray: TrueTray) -> dict[str, str]:
    """What the table says of a tray that it unfolds."""
    return {"ballots": f"{tray.ballots}; {tray.ballots}", "extra": str(tray.extra), "damaged": "0"}


def lines_of(contest: Contest) -> list[str]:
    return [*(f"votes.{choice.id}" for choice in contest.choices), "write_in", "under", "over", "ballots"]
