"""What the officials write: each field of each step answered from the truth of the day, from the seals in hand, from the clock on the wall."""

from collections.abc import Callable

from demo_precinct.http_window import Control
from demo_precinct.night_answers import NightAnswers
from demo_precinct.true_figures import Truth
from webapp.precinct.day.hours import wall as said

NONE_TODAY = frozenset(
    {
        "damaged",
        "held",
        "cancelled",
        "fed",
        "hand_counted",
        "left",
        "drop_off",
        "no_name",
        "invalid",
        "no_oval",
        "other",
    }
    | {"surrendered", "came"}
)
"""Counts that come out at 0 unless the day says otherwise; whoever counts writes it."""
CUT = ("-main", "-door")  # doors whose seals are cut at the opening


class Answers(NightAnswers):
    """Answers for one place and one day. `wall()` is the time on the wall, ms UTC."""

    def __init__(self, truth: Truth, wall: Callable[[], int]):
        self.truth, self.place, self.wall = truth, truth.place, wall
        self.spare = list(self.place.seals)
        self.on = {seal.at: seal.number for seal in self.place.applied}
        self.applied = 0
        self.units = {
            t.id: (truth.lifetime[t.id], 0) for t in self.place.tabulators
        }  # protective and public counter when this unit began
        self.emptied = dict.fromkeys(
            (b.id for b in self.place.boxes), 0
        )  # ballots taken out of a main bin during the day
        self.reading = 0.0

    def __call__(self, step: str, at: str, field: str, thing: str, control: Control) -> str | None:
        own = getattr(self, f"{step.replace('-', '_')}__{field}", None) or getattr(self, f"any__{field}", None)
        if own is None and field in NONE_TODAY and control.kind != "checkbox":
            return "0"
        return own(at, thing, control) if own else None

    def hhmm(self, ms: int | None = None) -> str:
        """The time on the wall (or of a moment) as people here write it."""
        return said(self.place, self.wall() if ms is None else ms)

    def take(self, point: str) -> str:
        """The next seal of the list, written first and applied after."""
        number = self.spare.pop(0)
        self.on[point] = number
        self.applied += 1
        return number

    # --- whatever the step

    def any__time(self, at: str, thing: str, control: Control) -> str | None:
        return self.hhmm()

    def any__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.lifetime[at])

    def public(self, at: str) -> int:
        """The public counter on the screen now."""
        return self.truth.by_hour(self.reading)[at]

    def protective(self, at: str, public: int) -> int:
        """The protective counter of the unit in use, when its public counter reads this."""
        base, began = self.units[at]
        return base + public - began

    def any__counters(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.public(thing))

    def any__serial(self, at: str, thing: str, control: Control) -> str | None:
        return next(t.serial for t in self.place.tabulators if t.id == at)

    def any__ballots_found(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    # --- opening

    def arrivals__present(self, at: str, thing: str, control: Control) -> str | None:
        return self.hhmm()

    @staticmethod
    def someone(nth: int, control: Control) -> str:
        """One of those at work, so that not everything falls to the chair."""
        return control.options[nth % len(control.options)]

    def roles__second_in_command(self, at: str, thing: str, control: Control) -> str | None:
        return self.someone(1, control)

    def roles__securer(self, at: str, thing: str, control: Control) -> str | None:
        return self.someone(2, control)

    def roles__list_keeper(self, at: str, thing: str, control: Control) -> str | None:
        return self.someone(3, control)

    def roles__balancer(self, at: str, thing: str, control: Control) -> str | None:
        return self.someone(4, control)

    def goods__packs(self, at: str, thing: str, control: Control) -> str | None:
        stock = next(s for s in self.place.stock if s.style == thing)
        return str(stock.received // stock.pack) if stock.pack else ""

    def goods__rolls(self, at: str, thing: str, control: Control) -> str | None:
        return "4"

    def goods__spare_seals(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.place.seals))

    def room_view__booths(self, at: str, thing: str, control: Control) -> str | None:
        return "8"

    def case_seals__seals(self, at: str, thing: str, control: Control) -> str | None:
        return self.on[thing]

    tabulator_seals__seals = closing_seals__seals = case_seals__seals

    def seals_cut__old(self, at: str, thing: str, control: Control) -> str | None:
        return self.on.pop(thing) if thing.endswith(CUT) and thing in self.on else ""

    def seals_cut__new(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(thing) if thing.endswith(CUT) and any(s.at == thing for s in self.place.applied) else ""

    def bin_emptied__old_seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.on.get(f"{at}-main", "")

    def bin_emptied__new_seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(f"{at}-main") if f"{at}-main" in self.on else ""

    def zero_tape__public(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def zero_tape__prints(self, at: str, thing: str, control: Control) -> str | None:
        return "2"

    def zero_tape__torn(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def zero_signed__prints_signed(self, at: str, thing: str, control: Control) -> str | None:
        return "2"

    def clocks__minutes_off(self, at: str, thing: str, control: Control) -> str | None:
        return "1" if thing == "wall" else "0"

    def clocks__way(self, at: str, thing: str, control: Control) -> str | None:
        return "fast" if thing == "wall" else ""

    def packs__sealed_packs(self, at: str, thing: str, control: Control) -> str | None:
        stock = next(s for s in self.place.stock if s.style == thing)
        return str(max(stock.received // stock.pack - 1, 0)) if stock.pack else ""

    def packs__opened_counted(self, at: str, thing: str, control: Control) -> str | None:
        """A whole pack is opened; what is less than a pack, since a test took ballots of it, came loose."""
        stock = next(s for s in self.place.stock if s.style == thing)
        return str(stock.pack) if stock.pack and stock.received >= stock.pack else ""

    def poll_book__check_ins(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    # --- the day

    def hourly__check_ins(self, at: str, thing: str, control: Control) -> str | None:
        """Those who cast by now, in the proportion of the precincts, and who left so far."""
        cast, books = sum(self.truth.by_hour(self.reading).values()), list(self.truth.check_ins())
        whole = self.truth.ballots or 1
        shares = {p: sum(rows.get(p, 0) for rows in self.truth.tapes.values()) * cast // whole for p in books}
        shares[books[0]] += cast - sum(shares.values()) + self.aside + self.in_hand
        return str(shares[thing])

    aside = 0  # in the book and on no counter, by now
    in_hand = 3

    def hourly__in_hand(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.in_hand)

    # --- the close

    def line_end__hour_in_force(self, at: str, thing: str, control: Control) -> str | None:
        return self.hhmm(self.place.at(self.place.closes))

    def line_end__after_hours(self, at: str, thing: str, control: Control) -> str | None:
        return "no"

    # --- notes, where nobody says otherwise

    def tabulator_out__public(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.public(at))

    tabulator_in__public = tabulator_out__public

    def tabulator_out__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.protective(at, self.public(at)))
