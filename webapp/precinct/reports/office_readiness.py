"""What is ready and what is missing at the office: places, tablets, people."""

from collections.abc import Sequence

from webapp.precinct.numbers import few
from webapp.precinct.place.place import Official, Place
from webapp.precinct.reports.readiness import Looked, Ready, _clock, _disk, _mode, _power, _second_copy, _slips


def at_office(
    places: Sequence[tuple[str, str, Place | None, bool]],
    officials: Sequence[Official],
    looked: Looked,
    first: Place | None,
) -> tuple[Ready, ...]:
    """Every line for the desk. `places`: (id, name, newest place file or None, whether a laptop was enrolled)."""
    lines = [_places(places), _enrolled(places)]
    lines += [_mode(first), _clock(first, looked, "office")] if first else []
    return (
        *lines,
        _disk(looked),
        _power(looked),
        _slips(officials, looked),
        _sworn_desk(officials, looked),
        Ready(
            "Paper for the desk",
            "todo",
            "The guide of two pages, and the paper forms of each place that may send its figures on paper only.",
            ("Print them", "/papers"),
        ),
        _second_copy(looked.stick, "The packets on paper and the signed receipts keep the night as well."),
    )


def _places(places: Sequence[tuple[str, str, Place | None, bool]]) -> Ready:
    bare = [name for _, name, file, _ in places if file is None]
    if not places:
        return Ready(
            "Places", "look", "No place is awaited. Write them into office.toml, and build a place file for each."
        )
    if bare:
        return Ready(
            "Places",
            "look",
            f"{len(places) - len(bare)} of {len(places)} have a place file. Still to be built: {', '.join(bare)}.",
            ("Places", "/places"),
        )
    return Ready(
        "Places", "done", f"{few(len(places), 'place')} awaited, each with its place file.", ("Places", "/places")
    )


def _enrolled(places: Sequence[tuple[str, str, Place | None, bool]]) -> Ready:
    bare = [name for _, name, file, enrolled in places if file is not None and not enrolled]
    if bare:
        return Ready(
            "Laptops of the places",
            "look",
            f"No key is enrolled for {', '.join(bare)}: their packets could only be accepted, not proven. Enrol them, or key them from paper.",
        )
    count = sum(file is not None for _, _, file, _ in places)
    return Ready(
        "Laptops of the places",
        "done" if count else "todo",
        f"A key is enrolled for {few(count, 'place')}: each that has a place file."
        if count
        else "No place file was built yet.",
    )


def _sworn_desk(officials: Sequence[Official], looked: Looked) -> Ready:
    sworn = [o for o in officials if o.id in looked.sworn]
    if not looked.present:
        return Ready("Receivers here", "todo", "Nobody is written down yet.", ("Begin roll call", "/step/arrivals"))
    if len({o.party for o in sworn}) < 2:
        return Ready(
            "Receivers here",
            "todo",
            f"{few(len(sworn), 'receiver')} sworn. Goods are taken over by two of different parties.",
            ("People", "/people"),
        )
    return Ready(
        "Receivers here",
        "done",
        f"{few(len(sworn), 'receiver')} sworn, of {len({o.party for o in sworn})} parties.",
        ("People", "/people"),
    )
