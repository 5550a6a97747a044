"""Numbers and times of day in words, for every room of the precinct."""


def few(n: int, one: str, many: str = "") -> str:
    """A number with its word, for other pages' sentences: 1 ballot, 1,204 ballots."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def on_clock(hhmm: str, hours: int) -> str:
    """A time of day HH:MM as a clock of 12 or 24 hours says it: 00:20 is 12:20 am, 12:00 is 12:00 pm. "" stays ""."""
    if hours != 12 or not hhmm:
        return hhmm
    hour = int(hhmm[:2])
    return f"{hour % 12 or 12}{hhmm[2:]} {'pm' if hour >= 12 else 'am'}"
