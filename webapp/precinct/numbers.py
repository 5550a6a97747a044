"""Numbers in words, for every room of the precinct."""


def few(n: int, one: str, many: str = "") -> str:
    """A number with its word, for other pages' sentences: 1 ballot, 1,204 ballots."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"
