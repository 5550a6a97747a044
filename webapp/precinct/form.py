"""A form as it was sent, read against the fields of its step: a body to be kept, or one sentence for each thing to mend.

Nothing is kept while a mistake stands. An exception ("it is not so") needs two sentences in words and lifts the demand for the rest.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from webapp.precinct import custody, things
from webapp.precinct.place import Place
from webapp.precinct.step import Day, Field, Read, Step

TICKS = ("yes", "on", "true", "1")
NUMBER = re.compile(r"\d{1,9}|\d{1,3}([ ,\u2009\u202f]\d{3}){1,2}")
SEAL = re.compile(r"[A-Za-z0-9-]{1,24}")
LONGEST = 2000                      # letters of one text
NOT_SO = "say below that it is not so"


class Mend(Exception):
    """What to write instead, in one sentence."""


def number(text: str) -> int:
    """A whole number from 0 in digits, thousands marked or not. Raises Mend with no sentence of its own."""
    if not text.isascii() and not NUMBER.fullmatch(text) or not NUMBER.fullmatch(text):
        raise Mend
    return int(re.sub(r"\D", "", text))


@dataclass
class Reader:
    """Reads one form for one step here; gathers mistakes by input name."""

    step: Step
    at: str
    place: Place
    day: Day
    form: Mapping[str, str]
    now: int
    prefix: str = ""
    mistakes: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    happened: int | None = None

    @property
    def not_so(self) -> bool:
        return self.text("not_so") in TICKS

    def text(self, name: str) -> str:
        return str(self.form.get(self.prefix + name, "")).strip()

    def read(self) -> Read:
        body: dict[str, Any] = {"at": self.at} if self.at and self.step.per else {}
        for one in self.step.fields:
            if one.kind == "worked-out":
                continue
            value = _VOTES(self, one) if one.kind == "votes" else self.map(one) if one.per else self.one(one, one.name, one.label)
            if value is not None and value != {}:
                body[one.name] = value
        body |= self.exception()
        return Read(body, self.words, self.now if self.happened is None else self.happened, self.mistakes, dict(self.form))

    def exception(self) -> dict[str, Any]:
        """What was found and what was done, each in words, when it is not so."""
        if not self.not_so:
            return {}
        for name, sentence in (("found", "Enter what was found instead, with no names and no choices."),
                               ("done", "Enter what was done about it, and who was told.")):
            if not self.text(name):
                self.mistakes[self.prefix + name] = sentence
            else:
                self.keep_words(name, self.text(name))
        return {"not_so": {"found": True, "done": True}}

    def keep_words(self, name: str, text: str) -> None:
        if len(text) > LONGEST:
            self.mistakes[self.prefix + name] = f"This text has {len(text):,} letters. Shorten it to {LONGEST:,}."
        self.words[name] = text

    def map(self, one: Field) -> dict[str, Any]:
        """A value for each thing the field is asked for; what was left empty where it may be is not in it."""
        found = {}
        for thing, label in things.things(one.per, self.place, self.day, self.at):
            value = self.one(one, f"{one.name}.{thing}", f"{one.label} {label}", thing)
            if value is not None:
                found[thing] = value
        if one.least > len(found) and not self.not_so:
            first = next(iter(things.things(one.per, self.place, self.day, self.at)), ("", ""))[0]
            self.mistakes.setdefault(f"{self.prefix}{one.name}.{first}", one.ask)
        return found

    def one(self, one: Field, name: str, label: str, thing: str = "") -> Any:
        """One value, or None where nothing is to be kept. A mistake is written down under the control's name."""
        try:
            return _KINDS[one.kind](self, one, name, thing)
        except Mend as mend:
            self.mistakes[self.prefix + name] = str(mend) or one.ask or f"Enter {label[:1].lower()}{label[1:]}."
            return None

    def absent(self, one: Field, name: str) -> bool:
        """Whether this field is rightly left empty. Raises Mend where it must be filled."""
        if self.text(name):
            return False
        if self.not_so or (one.optional and not self.needed(one, name)):
            return True
        raise Mend

    def needed(self, one: Field, name: str) -> bool:
        """An optional field that the place's rule asks for all the same."""
        if one.needs == "bins_counted":
            return self.place.rules.bins_counted == "always"
        if one.needs == "ballots":
            thing = name.partition(".")[2]
            return any(c.id == thing and c.ballots for c in self.place.containers)
        return False


def _yes(reader: Reader, one: Field, name: str, thing: str) -> bool:
    ticked = reader.text(name) in TICKS
    if not ticked and one.kind == "yes" and not reader.not_so:
        raise Mend(f"Tick “{_label(reader, one, thing)}”" + (f", or {NOT_SO}." if reader.step.not_so else " when it is so."))
    return ticked


def _label(reader: Reader, one: Field, thing: str) -> str:
    words = dict(things.things(one.per, reader.place, reader.day, reader.at)).get(thing) if one.per else ""
    return f"{one.label}: {words}" if words else one.label


def _yes_no(reader: Reader, one: Field, name: str, thing: str) -> bool | None:
    if reader.text(name) not in ("yes", "no"):
        if one.optional or reader.not_so:
            return None
        raise Mend(f"Select yes or no: {_label(reader, one, thing)}.")
    return reader.text(name) == "yes"


def _time(reader: Reader, one: Field, name: str, thing: str) -> int | None:
    if reader.absent(one, name):
        return None
    found = moment(reader.place, reader.text(name))
    if found is None:
        raise Mend
    if found > reader.now + 60_000 and not one.later:
        raise Mend(f"{reader.text(name)} is still to come by the laptop's clock. {one.ask}")
    if one.name == "time":
        reader.happened = found
    return found


def moment(place: Place, text: str) -> int | None:
    """HH:MM of election day in the place's zone as ms UTC; hours from 24 on are the night after. None when it is no time."""
    match = re.fullmatch(r"([0-2]?\d)[:.h ]?([0-5]\d)", text.strip())
    if not match or int(match[1]) > 29:
        return None
    days, hour = divmod(int(match[1]), 24)
    day = datetime(place.date.year, place.date.month, place.date.day, hour, int(match[2])) + timedelta(days=days)
    return int(day.replace(tzinfo=place.tz).timestamp() * 1000)


def _number(reader: Reader, one: Field, name: str, thing: str) -> int | None:
    if reader.absent(one, name):
        return None
    found = number(reader.text(name))
    if one.most is not None and found > one.most and not reader.not_so:
        raise Mend(f"{_label(reader, one, thing)}: {found} is more than {one.most}. Look again; if it stays so, {NOT_SO}.")
    return found


def _counts(reader: Reader, one: Field, name: str, thing: str) -> int | list[int] | None:
    if reader.absent(one, name):
        return None
    text = reader.text(name)
    if NUMBER.fullmatch(text) and " " not in text:
        return number(text)
    found = [number(part) for part in re.split(r"[\s;/]+", text) if part]
    return found[0] if len(found) == 1 else found


def _numbers(reader: Reader, one: Field, name: str, thing: str) -> list[int] | None:
    if reader.absent(one, name):
        return None
    return [number(part) for part in re.split(r"[\s,;/]+", reader.text(name)) if part]


def _seal(reader: Reader, one: Field, name: str, thing: str) -> str | None:
    if reader.absent(one, name):
        return None
    text = reader.text(name)
    if not SEAL.fullmatch(text):
        raise Mend
    if not reader.not_so and reader.step.not_so:
        _right(reader, one, text, thing)
    return text


def _right(reader: Reader, one: Field, text: str, thing: str) -> None:
    """What was read against what should be there. The right number is not shown: it is read off the seal again."""
    if one.must == "on-now":
        point = thing or reader.text("where") or (f"{reader.at}-door" if reader.step.per == "tabulator" else "")
        wanted = custody.expected(reader.place, reader.day, point)
        if wanted is not None and wanted != text:
            raise Mend(f"{text} is not the number that was last applied there. Read the seal again; if it stays so, {NOT_SO}.")
    elif one.must == "spare":
        sentence = custody.why_not_spare(reader.place, reader.day, text)
        same = [n for n, v in reader.form.items() if v.strip() == text and n.startswith(reader.prefix + one.name + ".")]
        if sentence is None and len(same) > 1:
            sentence = f"Seal {text} stands here twice. Each seal is applied once: read them again."
        if sentence:
            raise Mend(sentence)
    elif one.must == "serial":
        tabulator = things.tabulator_of(reader.place, reader.at)
        if tabulator and tabulator.serial != text:
            raise Mend(f"{text} is not the serial number that the office sent. Read the plate again; if it stays so, {NOT_SO}.")


def _choice(reader: Reader, one: Field, name: str, thing: str) -> str | None:
    text = reader.text(name)
    if not text and (one.optional or reader.not_so):
        return None
    if text not in dict(things.choices(one, reader.place, reader.day, reader.at)):
        raise Mend(f"Select one: {_label(reader, one, thing)[:1].lower()}{_label(reader, one, thing)[1:]}.")
    return text


def _words(reader: Reader, one: Field, name: str, thing: str) -> None:
    if not reader.absent(one, name):
        reader.keep_words(name, reader.text(name))


def _tally(reader: Reader, one: Field, name: str, thing: str) -> dict[str, int] | None:
    found: dict[str, int] = {}
    for line in reader.text(name).splitlines():
        code, _, votes = line.strip().rpartition(" ")
        if not re.fullmatch(r"[A-Za-z0-9-]{1,16}", code.strip()) or code.strip() in found:
            raise Mend
        found[code.strip()] = number(votes)
    return found or None


def _VOTES(reader: Reader, one: Field) -> dict[str, Any]:
    """Each contest as on the tape: votes by choice in ballot order, write-ins, undervotes, overvotes, ballots. Empty: the tape does not print it."""
    found: dict[str, Any] = {}
    for contest in reader.place.typed_contests():
        base, row = f"{one.name}.{contest.id}", {}
        for key in ("ballots", *(("write_in",) if contest.write_in else ()), "under", "over"):
            value = reader.one(_line(one, True), f"{base}.{key}", key)
            if value is not None:
                row[key] = value
        row["votes"] = {c.id: v for c in contest.choices if (v := reader.one(_line(one, False), f"{base}.votes.{c.id}", c.label)) is not None}
        found[contest.id] = row
    return found


def _line(one: Field, optional: bool) -> Field:
    return Field(one.name, "number", one.label, ask=one.ask, optional=optional)


_KINDS: dict[str, Callable[[Reader, Field, str, str], Any]] = {
    "yes": _yes, "tick": _yes, "yes-no": _yes_no, "time": _time, "number": _number, "counts": _counts, "numbers": _numbers,
    "seal": _seal, "code": _seal, "choice": _choice, "words": _words, "tally": _tally}


def read_form(step: Step, at: str, place: Place, day: Day, form: Mapping[str, str], now: int, prefix: str = "") -> Read:
    """What this form says for this step. With `mistakes` nothing is to be kept. Times are ms UTC; `now` is the laptop's."""
    reader = Reader(step, at, place, day, form, now, prefix)
    read = reader.read()
    for check in _CHECKS.get(step.id, ()):
        check(reader, read.body)
    return read


def _emergency_adds_up(reader: Reader, body: Mapping[str, Any]) -> None:
    found, parts = body.get("ballots_found"), [body.get(k) for k in ("fed", "hand_counted", "left")]
    found = found[-1] if isinstance(found, list) else found
    if found is not None and None not in parts and sum(parts) != found and not reader.not_so:
        reader.mistakes[reader.prefix + "ballots_found"] = (f"Fed, counted by hand and left make {sum(parts)}; {found} were found. "
                                                            f"Count again; if it stays so, {NOT_SO}.")
    if body.get("left") and "why_left" not in reader.words:
        reader.mistakes[reader.prefix + "why_left"] = "Enter why ballots are left in the emergency bin."


def _two_carriers(reader: Reader, body: Mapping[str, Any]) -> None:
    people = {o.id: o for o in getattr(getattr(reader.day, "people", None), "everybody", reader.place.officials)}
    pair = [people.get(body.get(k, "")) for k in ("first_carrier", "second_carrier")]
    from webapp.precinct.signing import different

    if None not in pair and not reader.not_so and not different(pair[0], pair[1], reader.place.rules):
        reader.mistakes[reader.prefix + "second_carrier"] = f"The two carriers are of one party. Choose another second carrier, or {NOT_SO}."


def _someone_moves(reader: Reader, body: Mapping[str, Any]) -> None:
    if not body.get("out") and not body.get("in"):
        reader.mistakes[reader.prefix + "out"] = "Select who leaves, who comes in, or both."
    body.setdefault("out", None), body.setdefault("in", None)


_CHECKS = {"emergency-opened": (_emergency_adds_up,), "depart": (_two_carriers,), "relief": (_someone_moves,)}
