"""What a person typed into one control, as a value: digits, times, seals, hand counts. Raises `InvalidInput` where something else was typed.

Nothing is guessed: "1 400" among hand counts can be one count or two, and is asked again.
"""

import re
from datetime import datetime, timedelta

from webapp.precinct.place.place import Place

NUMBER = re.compile(r"[0-9]{1,9}|[0-9]{1,3}([ ,\u2009\u202f\u00a0][0-9]{3}){1,2}")
SEAL = re.compile(r"[A-Za-z0-9-]{1,24}")
CODE = re.compile(r"[A-Za-z0-9-]{1,16}")
CLOCK = re.compile(r"([0-2]?[0-9])[:.h ]?([0-5][0-9])(?:\s*([ap])\.?m\.?)?", re.IGNORECASE)
MINUTE = 60_000
DAY = timedelta(days=1)


class InvalidInput(Exception):
    """What to write instead, in one sentence; without one, the field's own sentence says it."""


def number(text: str) -> int:
    """A whole number from 0 in digits, thousands marked by a comma or a space or not at all. Raises InvalidInput for anything else."""
    if not NUMBER.fullmatch(text):
        raise InvalidInput
    return int(re.sub(r"[^0-9]", "", text))


def counts(text: str) -> int | list[int]:
    """One hand count, or several in the order in which they were made, with a space, a semicolon or "then" between. Raises InvalidInput."""
    parts = [part for part in re.split(r"\s*(?:;|/|then)\s*|\s+", text) if part]
    found = [number(part) for part in parts]
    if len(found) == 1:
        return found[0]
    if NUMBER.fullmatch(text) and min(found) * 2 < max(found):
        whole = number(text)
        raise InvalidInput(
            f"“{text}” can be read as {whole} or as {len(found)} counts. Write {whole} without a space, or the counts with a semicolon between."
        )
    return found


def numbers(text: str) -> list[int]:
    """Whole numbers with spaces or commas between, such as missing stubs. Raises InvalidInput, also for a number typed twice."""
    found = [number(part) for part in re.split(r"[\s,;/]+", text) if part]
    twice = next((n for i, n in enumerate(found) if n in found[:i]), None)
    if twice is not None:
        raise InvalidInput(f"{twice} is there twice. Write each number once.")
    return found


def tally(text: str) -> dict[str, int]:
    """Lines such as "W1 7": a code of the office's list and its votes. Raises InvalidInput, also for a code that comes twice."""
    found: dict[str, int] = {}
    for line in text.splitlines():
        code, _, votes = (part.strip() for part in line.strip().rpartition(" "))
        if not line.strip():
            continue
        if not CODE.fullmatch(code):
            raise InvalidInput
        if code in found:
            raise InvalidInput(f"{code} is there twice. Write each code once, with all its votes.")
        found[code] = number(votes)
    return found


def printed(text: str) -> str:
    """A seal or code exactly as printed: letters, digits and dashes, up to 24. Raises InvalidInput for anything else."""
    if not SEAL.fullmatch(text):
        raise InvalidInput
    return text


def half_missing(place: Place, text: str) -> str:
    """The question where a time can be read twice on the 12-hour clock of this place: "8:05" is morning or evening. "" where it can be read once."""
    match = CLOCK.fullmatch(text.strip())
    if not match or place.rules.clock != 12 or match[3] or match[1].startswith("0") or not 1 <= int(match[1]) <= 12:
        return ""
    return f"{text.strip()} can be morning or evening. Write {int(match[1])}:{match[2]} am or {int(match[1])}:{match[2]} pm."


def moment(place: Place, text: str, now: int | None = None) -> int | None:
    """HH:MM as ms UTC in the place's zone; None when it is no time.

    The day is election day; with `now` (ms UTC) it is the day on which it is said, so that 00:20 typed past midnight is tonight and 23:50
    was yesterday. Hours from 24 on are the night after election day.
    """
    match = CLOCK.fullmatch(text.strip())
    if not match:
        return None
    hour, minute, half = int(match[1]), int(match[2]), (match[3] or "").lower()
    if half and not 1 <= hour <= 12:
        return None
    hour = hour % 12 + 12 * (half == "p") if half else hour
    day = datetime(place.date.year, place.date.month, place.date.day)
    if now is None or hour >= 24:
        return _ms(place, day + timedelta(hours=hour, minutes=minute))
    said = datetime.fromtimestamp(now / 1000, place.tz).replace(tzinfo=None)
    today = datetime(said.year, said.month, said.day) + timedelta(hours=hour, minutes=minute)
    return _ms(
        place, today - DAY if today > said + timedelta(hours=1) and today - DAY >= day and said.hour < 12 else today
    )


def _ms(place: Place, wall: datetime) -> int:
    return int(wall.replace(tzinfo=place.tz).timestamp() * 1000)
