"""How long a line waits: the M/M/c model (people arrive by chance, each takes a time by chance, c equal stations serve one line).

    a = arrivals x time each        B(0) = 1, B(k) = a B(k-1) / (k + a B(k-1))        C = B(c) / (1 - (a/c)(1 - B(c)))
    mean wait = C x time / (c - a)        mean line = C x a / (c - a)        share waiting longer than t = C x exp(-(c - a) t / time)

Valid for a < c only: otherwise the line grows as long as people come, and no number is given. A polling place is no steady state, so every
figure here is a hint. Sources: Erlang's formulas; the model is the one that a published voting-technology project recommends for each step
of a polling place, the queue-stop rule is Edelstein's and Edelstein's (EVT/WOTE 2010).
"""

from dataclasses import dataclass
from math import exp, log

HOUR_SECONDS = 3600
TEN_MINUTES = 600


@dataclass(frozen=True, slots=True)
class Queue:
    """A line before `stations`: people arriving an hour, seconds each takes. `waits` is the chance to wait at all; None where the line grows."""

    per_hour: float
    seconds: float
    stations: int
    waits: float | None

    @property
    def offered(self) -> float:
        """The offered load a: stations that would be busy all the time."""
        return self.per_hour * self.seconds / HOUR_SECONDS

    @property
    def load(self) -> float:
        """The share of time each station is busy; from 1 the line grows."""
        return self.offered / self.stations

    @property
    def serves(self) -> float:
        """People an hour that all stations together can serve."""
        return self.stations * HOUR_SECONDS / self.seconds

    @property
    def mean(self) -> float | None:
        """The mean wait in seconds."""
        return None if self.waits is None else self.waits * self.seconds / (self.stations - self.offered)

    @property
    def line(self) -> float | None:
        """The mean number of people waiting."""
        return None if self.waits is None else self.waits * self.offered / (self.stations - self.offered)

    def longer(self, seconds: float) -> float | None:
        """The share of people (0 to 1) who wait longer than this many seconds."""
        return (
            None if self.waits is None else self.waits * exp(-(self.stations - self.offered) * seconds / self.seconds)
        )

    def within(self, share: float) -> float | None:
        """The seconds that this share of people (0 to 1) wait at most."""
        if self.waits is None:
            return None
        return (
            0.0
            if self.waits <= 1 - share
            else log(self.waits / (1 - share)) * self.seconds / (self.stations - self.offered)
        )


def erlang_b(offered: float, stations: int) -> float:
    """The probability that all stations are busy when nobody may wait (Erlang B)."""
    busy = 1.0
    for k in range(1, stations + 1):
        busy = offered * busy / (k + offered * busy)
    return busy


def queue(per_hour: float, seconds: float, stations: int) -> Queue:
    """The line for so many people an hour, so many seconds each, at so many stations side by side. Raises ValueError for what cannot be."""
    if per_hour < 0 or seconds <= 0 or stations < 1:
        raise ValueError("people an hour from 0 up, seconds above 0, stations from 1 up")
    load = per_hour * seconds / HOUR_SECONDS / stations
    if load >= 1:
        return Queue(per_hour, seconds, stations, None)
    busy = erlang_b(load * stations, stations)
    return Queue(per_hour, seconds, stations, busy / (1 - load * (1 - busy)))


def least(per_hour: float, seconds: float, limit: float = TEN_MINUTES, share: float = 0.05) -> Queue:
    """The line at the fewest stations at which at most this share of people wait longer than `limit` seconds."""
    stations = max(int(per_hour * seconds / HOUR_SECONDS), 1)
    while True:
        found = queue(per_hour, seconds, stations)
        late = found.longer(limit)
        if late is not None and late <= share:
            return found
        stations += 1


def in_a_day(open_minutes: float, minutes_each: float) -> int:
    """Voters that one station serves in a day without a long line (queue-stop rule): half the minutes open, by minutes a voter."""
    return int(open_minutes / minutes_each / 2)
