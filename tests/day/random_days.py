"""Random days for the checks that must hold on every day: entries of all kinds that bear figures, at three places, corrected and taken back at random."""

from hypothesis import strategies as st

from day.cast import CHALLENGED, IN_BOOK, TWO
from day.story import HARROW
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry, Signer, Text

small = st.integers(0, 600)
counts = st.one_of(small, st.lists(small, min_size=2, max_size=3))
maybe = st.one_of(st.none(), small)


def some(**fields):
    """A body with each of these fields, or without it."""
    return st.fixed_dictionaries({}, optional=fields)


def each(things, figure):
    return st.dictionaries(st.sampled_from(sorted(things)), figure, max_size=len(things))


def contest(one):
    votes = each([choice.id for choice in one.choices], small)
    return some(votes=votes, write_in=small, under=small, over=small, ballots=small)


def bodies(place: Place):
    """(kind, where it may be done, body) of everything that moves a figure."""
    styles, books = [s.style for s in place.stock], [p.id for p in place.precincts]
    tabulators, boxes = [t.id for t in place.tabulators], [b.id for b in place.boxes]
    bins, seals = sorted({name for b in place.boxes for name in b.bins}), st.sampled_from(place.seals)
    style, book, origin = st.sampled_from(styles), st.sampled_from(books), st.sampled_from(["paper", "card", "copy"])
    points = ["T1-memory", "case", "C1", "X1-main", "T1-bag"]
    contests = st.fixed_dictionaries({}, optional={c.id: contest(c) for c in place.contests})
    note = some(ballots=st.integers(0, 9), style=style, book=book, origin=origin)
    whole = {"ballots": st.fixed_dictionaries({b: small for b in books}), "contests": contests}
    return (
        ("spoiled", [""], st.builds(lambda a, b: a | b, note, some(reissued=st.booleans()))),
        ("provisional", [""], note),
        ("taken", [""], note),
        ("left", [""], note),
        (
            "found",
            [""],
            st.builds(
                lambda a, b: a | b,
                note,
                some(becomes=st.sampled_from(["spoiled-not-reissued", "set-apart", "emergency"])),
            ),
        ),
        ("emergency-plus", boxes, note),
        ("wrong-style", [""], note),
        ("unmarked-back", [""], note),
        ("jam", tabulators, note),
        ("emergency-off", boxes, some(fed=st.integers(0, 9))),
        ("packs", [""], some(received=each(styles, small), opened_counted=each(styles, counts), masters=small)),
        ("pack-opened", [""], some(style=style, nominal=st.sampled_from([50, 100]), counted=counts, stub=small)),
        ("first-stub", [""], some(first=each(styles, small), missing=each(styles, st.lists(small, max_size=3)))),
        (
            "resupply",
            [""],
            st.fixed_dictionaries({"style": style, "ballots": counts, "origin": st.sampled_from(["paper", "copy"])}),
        ),
        ("sent", [""], st.fixed_dictionaries({"style": style, "ballots": counts})),
        (
            "hourly",
            [""],
            some(
                counters=each(tabulators, small),
                check_ins=each(books, small),
                in_hand=small,
                unused=each(styles, small),
            ),
        ),
        ("tabulator-out", tabulators, some(public=small, lifetime=small)),
        (
            "tabulator-in",
            tabulators,
            st.fixed_dictionaries(
                {"how": st.sampled_from(["memory-moved", "fresh-start", "fed-again"])},
                optional={"serial": st.just("B-77"), "public": small, "lifetime": small, "fed_again": small},
            ),
        ),
        ("zero-tape", tabulators, some(public=small, lifetime=small)),
        ("counter-read", tabulators, some(public=small, lifetime=small)),
        (
            "tape-typed",
            tabulators,
            st.fixed_dictionaries(whole, optional={"earlier_ballots": small, "subtract": small}),
        ),
        (
            "unused",
            [""],
            some(
                unused=each(styles, counts),
                next=each(styles, small),
                missing=each(styles, st.lists(small, max_size=3)),
                copies_unused=counts,
                cards_cast=small,
                absentee_fed=small,
            ),
        ),
        (
            "aside-counts",
            [""],
            some(
                spoiled=each(styles, counts),
                provisional=each(["other", "after-hours"], counts),
                drop_off=small,
                set_apart=counts,
                others=each([k.id for k in place.kinds], counts) if place.kinds else st.just({}),
            ),
        ),
        ("book-count", [""], some(check_ins=each(books, counts), cancelled=each(books, small), slips=small)),
        (
            "emergency-opened",
            boxes,
            some(ballots_found=counts, fed=small, hand_counted=small, left=small, copies_by_hand=small),
        ),
        (
            "bin-emptied",
            boxes,
            some(
                bin=st.sampled_from(bins),
                counters=each(tabulators, small),
                container=st.just("C1"),
                ballots=counts,
                old_seal=seals,
                new_seal=seals,
            ),
        ),
        ("bins-out", boxes, some(ballots=each(bins, counts))),
        (
            "write-in-tally",
            [""],
            some(
                listed=each(["GOV"], each(["W1", "W2"], small)),
                other=each(["GOV"], small),
                no_name=each(["GOV"], small),
                invalid=each(["GOV"], small),
            ),
        ),
        ("containers-filled", [""], some(ballots=each([c.id for c in place.containers], counts))),
        ("containers-sealed", [""], some(seals=each(["C1", "C2", "case"], seals))),
        ("closing-seals", [""], some(seals=each(points, seals))),
        ("seals-cut", [""], some(old=each(points, seals), new=each(points, seals))),
        ("seals-accounted", [""], some(issued=small, applied=small, returned=small, damaged=small)),
    )


@st.composite
def days(draw):
    """(place, entries with their texts)."""
    place = draw(st.sampled_from([HARROW, TWO, IN_BOOK, CHALLENGED]))
    kinds, told = bodies(place), []
    for number in range(1, draw(st.integers(1, 40)) + 1):
        kind, ats, body = draw(st.sampled_from(kinds))
        at = draw(st.sampled_from(ats))
        if told and draw(st.integers(0, 9)) == 0:
            of = draw(st.sampled_from(told))
            if draw(st.booleans()):
                told.append(_entry(place, number, "taken-back", {"of": of.number}))
                continue
            kind, body = next(((k, b) for k, _, b in kinds if k == of.kind), (None, None))
            if kind:
                new = draw(body) | ({"at": of.body["at"]} if of.body.get("at") else {})
                told.append(
                    _entry(
                        place,
                        number,
                        "correction",
                        {"of": of.number, "body": new, "words": {"reason": Text(bytes(16), "slip").digest}},
                    )
                )
                continue
            kind, ats, body = kinds[0]
            at = ""
        told.append(_entry(place, number, kind, draw(body) | ({"at": at} if at else {})))
    return place, [(entry, {}) for entry in told]


def _entry(place: Place, number: int, kind: str, body) -> Entry:
    time = place.at(place.opens) + number * 7 * 60_000
    signers = (Signer("Calloway", "chair", "elm", "pin"), Signer("Renn", "witness", "heron", "pin"))
    return Entry(
        bytes(16), 1, number, number.to_bytes(16), kind, body, time, time, time, 0, "A", number, "Calloway", signers
    )
