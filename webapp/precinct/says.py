"""Every sentence of the balance stands here: both figures, the difference, and which way. Never a bare sign."""


def few(n: int, one: str, many: str = "") -> str:
    """"1 ballot", "3 ballots", "1,204 ballots"."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def line(left: int, right: int, left_words: str, right_words: str, one: str, many: str, more: str = "") -> str:
    """"432 check-ins, 431 accounted for: 1 more check-in than accounted for"; equal sides say so."""
    gap = left - right
    figures = f"{left_words} {left:,}, {right_words[:1].lower()}{right_words[1:]} {right:,}"
    if gap == 0:
        said = "they agree"
    else:
        said = f"{few(abs(gap), one, many)} {'more' if gap > 0 else 'fewer'} on the first side: {left_words.lower()} is {'above' if gap > 0 else 'below'} {right_words[:1].lower()}{right_words[1:]}"
    return f"{figures}: {said}" + (f" ({more})" if more else "") + "."


def poll_book(left: int, right: int, parts: str) -> str:
    gap = left - right
    head = f"{few(left, 'check-in')}, {few(right, 'voter')} accounted for ({parts})"
    if gap == 0:
        return f"{head}: they agree."
    if gap > 0:
        return f"{head}: {few(gap, 'more check-in', 'more check-ins')} than ballots."
    return f"{head}: {few(-gap, 'more ballot', 'more ballots')} than check-ins."


def stock(left: int, right: int, parts: str) -> str:
    gap = left - right
    head = f"{few(left, 'ballot')} left the stock, {right:,} accounted for ({parts})"
    if gap == 0:
        return f"{head}: they agree."
    if gap > 0:
        return f"{head}: {few(gap, 'more ballot', 'more ballots')} left the stock than {'is' if gap == 1 else 'are'} accounted for."
    return f"{head}: {few(-gap, 'more ballot', 'more ballots')} accounted for than left the stock."


def plain(left: int, right: int, left_words: str, right_words: str, one: str = "ballot", many: str = "") -> str:
    """Two figures that should be one: "Public counter 431, tape 430: 1 more ballot on the public counter"."""
    gap = left - right
    head = f"{left_words} {left:,}, {right_words} {right:,}"
    if gap == 0:
        return f"{head}: they agree."
    side = left_words if gap > 0 else right_words
    return f"{head}: {few(abs(gap), f'more {one}', f'more {many or one + chr(115)}')} by the {side[:1].lower()}{side[1:]}."


def seal(at: str, found: str, applied: str) -> str:
    return f"Seal at {at}: {found} found, {applied} last applied: " + ("they agree." if found == applied else "not the seal that was applied.")


def contest(title: str, left: int, right: int, ballots: int, n: int, convention: str, known: str) -> str:
    gap = left - right
    head = f"{title}: votes, undervotes and overvotes make {left:,}; {few(ballots, 'ballot')} x {n} is {right:,} (overvotes counted as {convention}, {known})"
    if gap == 0:
        return f"{head}: they agree."
    whole = f", that is {few(abs(gap) // n, 'ballot')}" if n > 1 and gap % n == 0 else ""
    return f"{head}: {few(abs(gap), 'vote')} {'too many' if gap > 0 else 'missing'}{whole}."
