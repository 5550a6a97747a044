"""A clock that is an hour off, and one person in two roles: asked once, kept if it is so."""

from webapp.precinct.plausibility.asked import NOT_SO, Asked, Stop, Stops

CLOCK_CHANGE = range(55, 66)  # minutes
MISSED = (
    "{} minutes off is near 60: the clocks changed and this one was not set. Do not set a tabulator’s clock yourself. Call the office, and "
    f"{NOT_SO}."
)
ROLES = ("second_in_command", "securer", "list_keeper", "balancer")
ENOUGH = 5  # people at work: with fewer, somebody has two roles


def a_clock_is_fast_or_slow(asked: Asked) -> Stops:
    """A clock that is off is fast or slow, so that its times can be set straight later."""
    if asked.step != "clocks":
        return
    ways = asked.body.get("way") or {}
    for clock, off in (asked.body.get("minutes_off") or {}).items():
        if off and clock not in ways:
            yield Stop(f"way.{clock}", f"{off} minutes off: select whether this clock is fast or slow.")


def one_person_one_role(asked: Asked) -> Stops:
    """The balancer does nothing else, and no other role is given twice, where enough people are at work."""
    people = getattr(asked.day, "people", None)
    working = people.working() if people else ()
    if asked.step != "roles" or len(working) < ENOUGH:
        return
    chair = next((o.id for o in working if o.role == "chair"), "")
    seen: dict[str, str] = {chair: "the chair"} if chair and asked.body.get("second_in_command") == chair else {}
    for role in ROLES:
        person = asked.body.get(role)
        if person in seen:
            name = next((o.name for o in working if o.id == person), person)
            yield Stop(
                role,
                f"{name} is {seen[person]} already. Name somebody else; if nobody else can, {NOT_SO}.",
            )
        elif person:
            seen[person] = {
                "second_in_command": "second in command",
                "securer": "the one who secures ballots and tabulators",
                "list_keeper": "the one who keeps the list of voters",
            }.get(role, "the one who works on the balance")
