"""What is signed, in words: every figure of a body in the order of its fields, so that the second signer reads what the first one typed."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct import things
from webapp.precinct.filled import fill
from webapp.precinct.hours import wall
from webapp.precinct.place import Contest, Place
from webapp.precinct.step import Day, Field, NoDay, Step
from webapp.precinct.steps_read import steps

OURS = frozenset({"bin", "door", "box-bin", "aside", "aside-kind", "provisional-kind", "clock"})     # things named in our words, not the office's
OWN = {
    "record-opened": "Record opened", "started": "Program started", "stopped": "Program stopped", "version": "Another version of the program",
    "pin-failed": "A wrong PIN was typed", "paired": "Tablet admitted", "revoked": "Tablet sent away", "clock-moved": "The laptop's clock moved",
    "exported": "Record exported", "restored": "Record restored", "verify-failed": "A check of the record failed", "check-words": "Check words",
    "keying": "Keyed once, blind", "taken-back": "Taken back", "correction": "Correction", "pin-set": "PIN set", "vouched": "Vouched",
    "contradicted": "A tablet remembers another history",
    "packet-made": "Summary packet made", "countersigned": "Countersigned later",
}


def step_of(kind: str, place: Place) -> Step | None:
    return next((step for step in steps(place) if step.id == kind), None)


def title(kind: str, at: str, place: Place) -> str:
    """The heading of what was kept: that of a step's statement, or what the laptop says of its own entries."""
    step = step_of(kind, place)
    if step is None:
        return OWN.get(kind, kind)
    step = fill(step, place, at)
    return step.says or step.title


def statement(kind: str, body: Mapping[str, Any], place: Place, day: Day | None = None, texts: Mapping[str, str] | None = None) -> str:
    """One sentence or a few lines: the heading, then each figure with its name, exceptions and free words in full."""
    return "\n".join(line for line in (f"{title(kind, body.get('at', ''), place)}: {summary(kind, body, place, day, texts)}".removesuffix(": "),) if line)


def summary(kind: str, body: Mapping[str, Any], place: Place, day: Day | None = None, texts: Mapping[str, str] | None = None) -> str:
    """The figures of a body in words, without its heading."""
    texts = texts or {}
    step = step_of(kind, place)
    if step is None:
        return _own(kind, body, place, day, texts)
    if kind == "handed-back" and "tally" in body:
        return _hour_of_tallies(step, body, place)
    step, day = fill(step, place, body.get("at", "")), day or NoDay()
    said = [words if field.kind == "votes" else _small(words) for field in step.fields if (words := _field(field, body, place, day, texts))]
    if body.get("not_so"):
        said = [f"NOT SO, found: {_quoted(texts, 'found')}, done: {_quoted(texts, 'done')}", *said]
    said += [_short(short, texts) for short in body.get("short", ())]
    return "; ".join(said) + ("." if said else "")


def _small(words: str) -> str:
    """A part within a sentence begins small, unless it begins with a name such as T1."""
    return words if words[:2].upper() == words[:2] else words[:1].lower() + words[1:]


def _short(short: Mapping[str, Any], texts: Mapping[str, str]) -> str:
    whys = {"absent": "absent", "declined": "declined to sign", "pin-lost": "PIN lost", "none-here": "nobody of that seat here"}
    return f"SHORT-SIGNED, the seat “{short['seat']}” is empty ({whys.get(short['why'], short['why'])}), office told: {_quoted(texts, 'told')}"


def _quoted(texts: Mapping[str, str], name: str) -> str:
    """Free words as they were written, or that they are withheld."""
    return f"“{texts[name]}”" if texts.get(name) else "words withheld"


def _field(field: Field, body: Mapping[str, Any], place: Place, day: Day, texts: Mapping[str, str]) -> str:
    if field.kind == "words":
        return f"{field.label}: {_quoted(texts, field.name)}" if texts.get(field.name) else ""
    if field.name not in body:
        return ""
    value = body[field.name]
    if field.kind == "votes":
        return "; ".join(_contest(c, value[c.id]) for c in place.contests if c.id in value)
    if field.kind == "worked-out":
        return _worked_out(field, value, place)
    if field.per and isinstance(value, Mapping):
        return _each(field, value, place, day, body.get("at", ""))
    if field.kind in ("yes", "tick", "yes-no"):
        return field.label if value is True else f"{field.label}: no" if field.kind == "yes-no" else f"NOT {_small(field.label)}"
    return f"{field.label}: {_value(field, value, place, day, body.get('at', ''))}"


def _each(field: Field, value: Mapping[str, Any], place: Place, day: Day, at: str) -> str:
    names = {thing: _small(words) if field.per in OURS else words for thing, words in things.things(field.per, place, day, at)}
    if field.kind in ("yes", "tick"):
        good = [names.get(thing, thing) for thing, ok in value.items() if ok]
        bad = [names.get(thing, thing) for thing, ok in value.items() if not ok]
        return "; ".join(part for part in (f"{field.heading}: {', '.join(good)}" if good else "", f"NOT {_small(field.heading)}: {', '.join(bad)}" if bad else "") if part)
    if len(value) == 1 and field.kind != "choice":
        return f"{field.named(*(names.get(thing, thing) for thing in value))}: {_value(field, *value.values(), place, day, at)}"
    return f"{field.heading}, " + ", ".join(f"{names.get(thing, thing)}: {_value(field, one, place, day, at)}" for thing, one in value.items())


def _value(field: Field, value: Any, place: Place, day: Day, at: str) -> str:
    if value is None:
        return "nobody"
    if field.kind == "time":
        return wall(place, value)
    if field.kind == "choice":
        words = dict(things.choices(field, place, day, at)).get(value, str(value))
        return words if field.of else _small(words)
    if isinstance(value, Mapping):
        return ", ".join(f"{code} {votes}" for code, votes in value.items())
    if isinstance(value, list | tuple):
        return (", " if field.kind == "numbers" else ", then ").join(f"{one:,}" for one in value)
    return f"{value:,}" if isinstance(value, int) and field.kind in ("number", "counts") else str(value)


def _hour_of_tallies(step: Step, body: Mapping[str, Any], place: Place) -> str:
    """One hour's taps: each message, what the voters did, how often."""
    messages, outcomes = (dict(step.field(name).choices) for name in ("message", "outcome"))
    said = [f"{_small(messages.get(message, message))}, {_small(outcomes.get(outcome, outcome))}: {count}"
            for message, row in body["tally"].items() for outcome, count in row.items()]
    return f"from {wall(place, body['hour'])}: " + ("; ".join(said) or "none") + "."


def contest_lines(contest: Contest, row: Mapping[str, Any]) -> list[tuple[str, int | None]]:
    """A contest as on the tape: (line, figure) in ballot order, then write-ins, undervotes, overvotes, ballots; None: not printed."""
    votes = row.get("votes", {})
    lines = [(choice.label, votes.get(choice.id)) for choice in contest.choices]
    if contest.write_in:
        lines.append(("Write-ins", row.get("write_in")))
    return [*lines, ("Undervotes", row.get("under")), ("Overvotes", row.get("over")), ("Ballots", row.get("ballots"))]


def _contest(contest: Contest, row: Mapping[str, Any]) -> str:
    return f"{contest.title}: " + ", ".join(f"{label} {figure:,}" for label, figure in contest_lines(contest, row) if figure is not None)


def _worked_out(field: Field, value: Any, place: Place) -> str:
    if field.name == "hour":
        return f"for {wall(place, value)}"
    if field.name == "notes_to":
        return f"notes read to entry {value}"
    if field.name == "reading":
        return f"the reading of entry {value} signed along"
    if field.name == "lines":
        return "for " + ", ".join(line.replace(":", " of ").replace("-", " ") for line in value) if value else "every line agrees"
    return ""


def _own(kind: str, body: Mapping[str, Any], place: Place, day: Day | None, texts: Mapping[str, str]) -> str:
    people = getattr(day, "people", None)

    def name(person: str) -> str:
        found = people.official(person) if people else place.official(person)
        return found.name if found else texts.get("name", person)

    if kind == "correction":
        inner = getattr(day, "entry", lambda n: None)(body["of"])
        said = summary(inner.kind, body["body"], place, day, texts) if inner else ""
        return f"entry {body['of']} now says: {said} Why: {texts.get('reason', 'words withheld')}"
    if kind == "vouched":
        why = {"walk-in": "is to work here", "lost-pin": "has lost the PIN", "reset": "may try again on the tablets"}
        return f"{name(body['person'])}, {body['role']}, {why.get(body['why'], body['why'])}."
    if kind in ("pin-set", "pin-failed"):
        return name(body["person"])
    if kind == "check-words":
        return f"{body['words']} after entry {body['number']}"
    if kind == "keying":
        return title(body["of"], body.get("at", ""), place)
    if kind in ("taken-back", "countersigned"):
        return f"entry {body['of']}"
    if kind == "contradicted":
        return f"tablet {body['tablet']} saw entry {body['number']} in run {body['run']}, head {bytes(body['head']).hex()[:8]}"
    if kind == "packet-made":
        return f"number {body['number']}, digest {bytes(body['digest']).hex()[:16]}"
    return ""
