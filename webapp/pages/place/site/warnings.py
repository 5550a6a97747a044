"""What is wrong besides the figures: tablets that remember another history, clocks that are off. Each is on Now until it is settled.

A further source (the stick, the backup) is one more function in `SOURCES`: from the site to its alerts.
"""

from collections.abc import Callable, Iterator

from webapp.pages.place.site import after_restore
from webapp.pages.place.site.place_site import PlaceSite
from webapp.precinct.reports.alerts import Alert


def warnings(site: PlaceSite) -> tuple[Alert, ...]:
    """Every warning of this laptop and its tablets, the most pressing first. `site`: the `PlaceSite`."""
    found = [alert for source in SOURCES for alert in source(site)]
    return tuple(sorted(found, key=lambda alert: not alert.urgent))


def _memory(site: PlaceSite) -> Iterator[Alert]:
    """A tablet remembers another history than the laptop; with an incident noted since it is urgent no more."""
    for alarm in site.memory.alarms()[:1]:
        noted = f"An incident was noted since, entry {alarm.incident}." if alarm.incident else ""
        yield Alert(
            f"memory:{alarm.number}",
            alarm.says.removesuffix("."),
            (noted,) if noted else ("Two people of different parties look at this now.",),
            href="/alarm",
            button="Both histories" if noted else "What to do",
            urgent=not noted,
        )


def _clocks(site: PlaceSite) -> Iterator[Alert]:
    """A tablet's clock that is more than a minute off."""
    said = site.gate.contacts.all()
    for one in site.gate.tablets.all():
        report = said.get(one.id)
        if report and one.admitted and not one.revoked and (words := site.memory.clock_warning(one.id, report.offset)):
            first, _, rest = words.partition(". ")
            yield Alert(f"clock:{one.id}", first, (rest,) if rest else ())


def _laptop_clock(site: PlaceSite) -> Iterator[Alert]:
    """The laptop's clock was moved, and nobody noted an incident since."""
    noted = max((kept.number for kept in site.day.of("incident")), default=0)
    for kept in site.day.of("clock-moved")[-1:]:
        if kept.number > noted:
            yield Alert(
                f"laptop-clock:{kept.number}",
                site.entry_words(kept).removesuffix("."),
                ("Compare the clocks. Then write it in Note as an incident.",),
                since=kept.time,
                href="/note/incident",
                button="Note it",
            )


def _stick(site: PlaceSite) -> Iterator[Alert]:
    """The record has been on this laptop alone for too long."""
    if said := site.stick_notice():
        yield Alert("stick", said.removesuffix("."))


def _restored(site: PlaceSite) -> Iterator[Alert]:
    """This laptop took over, and not everything is done that a spare laptop asks for."""
    if site.restore_notice() or after_restore.waits_for_reading(site):
        first, *rest = after_restore.steps(site)
        yield Alert(
            "restored",
            first,
            tuple(rest),
            href="/restored",
            button="What was restored",
            urgent=bool(site.restore_notice()) and not site.day.of("returned-read"),
        )


def _disk(site: PlaceSite) -> Iterator[Alert]:
    """The disk refused what should have been kept, and has taken nothing since."""
    if said := site.disk_notice():
        first, _, rest = said.partition(". ")
        yield Alert("disk", first, (rest,), urgent=True)


def _overdue_drafts(site: PlaceSite) -> Iterator[Alert]:
    """The day is over, and the disk took nothing when the pages that were half filled in were to go."""
    if site.drafts_overdue and (left := site.gate.drafts.all()):
        pages = "A half-filled page is" if len(left) == 1 else f"{len(left)} half-filled pages are"
        yield Alert(
            "drafts",
            f"{pages} still on this laptop",
            (
                "The disk took nothing when the day was over. Free some space on the disk, or check its plug, then stop the program and start it again. "
                "Until this line is gone, lock the laptop up with the other papers.",
            ),
        )


def _of_its_kind(site: PlaceSite) -> Iterator[Alert]:
    """What only this kind of place knows to be wrong."""
    yield from site.own_alerts()


SOURCES: tuple[Callable[..., Iterator[Alert]], ...] = (
    _disk,
    _overdue_drafts,
    _memory,
    _restored,
    _of_its_kind,
    _stick,
    _clocks,
    _laptop_clock,
)
