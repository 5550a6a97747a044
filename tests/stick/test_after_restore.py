"""What is left to do on a laptop that took over, in the order of the printed page, and the reading that it takes between the hours."""

from types import SimpleNamespace as Made

from webapp.pages.place.site import after_restore


class Day:
    """A day of these entries after `restored` (10001): kind and number."""

    returned: dict = {}

    def __init__(self, *kept, opened=True):
        body = {"from_run": 1, "last": 72, "first": 10_001, "seen": 75, "torn": 0, "kit": "spare"}
        signed = {"run": 2, "given_back": [], "seen": 75}
        self.opened = 41 if opened else None
        self.entries = [("restored", Made(number=10_001, body=body, kept=0))]
        self.entries += [(kind, Made(number=number, body=signed, kept=0)) for kind, number in kept]

    def of(self, kind):
        return [one for name, one in self.entries if name == kind]

    def last(self, kind):
        return (self.of(kind) or [None])[-1]


def site(day, *states, pins=("M", "P")):
    tasks = [Made(step=Made(id="hourly"), key=f"hourly:{9 + n}:00", state=state) for n, state in enumerate(states)]
    officials = [Made(id=party, party=party) for party in ("M", "P")]
    gate = Made(pins=Made(has=lambda person: person in pins))
    return Made(day=day, tasks=lambda now: tasks, place=Made(officials=officials), gate=gate)


def test_what_is_left_is_said_in_the_order_of_the_page():
    head, *left = after_restore.steps(site(Day(), pins=("M",)))
    assert head == "This laptop took over after entry 72"
    order = ("sets a PIN again", "every seal", "and sign", "paper log", "one reading")
    assert [word for line, word in zip(left, order, strict=True) if word not in line] == []

    _, *left = after_restore.steps(site(Day(("returned-read", 10_009))))
    assert not any("and sign" in line for line in left) and "one reading" in left[-1]
    _, *left = after_restore.steps(site(Day(("returned-read", 10_009), ("hourly", 10_011))))
    assert not any("reading" in line for line in left)


def test_between_the_hours_the_last_reading_is_taken_once_more():
    assert after_restore.reading_again(site(Day(("hourly", 70)), "done", "done", "later"), 0) == "hourly:10:00"
    assert after_restore.reading_again(site(Day(), "done", "overdue"), 0) == "", "the next is due: that one is taken"
    assert after_restore.reading_again(site(Day(("hourly", 10_005)), "done", "later"), 0) == ""
    assert after_restore.reading_again(site(Day(("polls-closed", 80)), "done"), 0) == ""
    assert after_restore.reading_again(site(Day(opened=False), "later"), 0) == ""
