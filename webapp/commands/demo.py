"""Start the demo: an invented place and its office on this computer, practice data, from dawn or part-way through the day."""

import argparse
import signal
import sys
from typing import Any

from webapp.commands import Stop
from webapp.commands.server import tablet_listeners

NAME = "demo"
HELP = "start an invented place and its office on this computer"
MOMENTS = ("before-dawn", "opened", "noon", "polls-closed", "tapes", "packet-ready", "office")


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--at",
        choices=MOMENTS,
        default="before-dawn",
        metavar="MOMENT",
        help="where in the day to begin: " + ", ".join(MOMENTS),
    )
    parser.add_argument("--place-port", type=int, default=8610, metavar="N", help="port of the place (default 8610)")
    parser.add_argument("--office-port", type=int, default=8620, metavar="N", help="port of the office (default 8620)")
    parser.add_argument("--board", action="store_true", help="a central count board too, beside the polling place")
    parser.add_argument(
        "--test",
        action="store_true",
        help="the accuracy test of the place, in place of its day; --at tapes: a tape is typed",
    )
    parser.add_argument("--board-port", type=int, default=8630, metavar="N", help="port of the board (default 8630)")
    parser.add_argument(
        "--tablets",
        nargs="?",
        const=tablet_listeners.EVERYWHERE,
        metavar="ADDRESS",
        help="open the place's doors for tablets too, under a name ending in .local",
    )
    parser.add_argument(
        "--tablet-port",
        type=int,
        default=tablet_listeners.PORT,
        metavar="N",
        help=f"of the tablets' door (default {tablet_listeners.PORT})",
    )
    parser.add_argument(
        "--trust-port",
        type=int,
        default=tablet_listeners.TRUST_PORT,
        metavar="N",
        help=f"of the page with the certificate (default {tablet_listeners.TRUST_PORT})",
    )


def run(options: argparse.Namespace) -> int:
    """0 when it was stopped by Ctrl-C, 2 when it cannot start."""
    from demo_precinct import moments
    from webapp.serving.server import endings
    from webapp.serving.sockets import PortTaken

    if options.test:
        refuse_for_a_test(options)
    if options.at != "before-dawn":
        print(
            f"Playing the {'test' if options.test else 'day'} up to “{options.at}”; this takes a few seconds.",
            file=sys.stderr,
            flush=True,
        )
    for number in endings():
        signal.signal(number, signal.default_int_handler)
    try:
        demo = started(options)
    except PortTaken as taken:
        raise Stop(
            f"{taken} Here: --place-port, --office-port, --board-port, --tablet-port and --trust-port."
        ) from None
    except KeyboardInterrupt:
        return 0
    print("\n".join(told(demo)), flush=True)
    for sentence in demo.tablets.warnings() if demo.tablets else ():
        print(sentence, file=sys.stderr, flush=True)
    try:
        moments.wait()
    finally:
        demo.stop()
    return 0


def started(options: argparse.Namespace) -> Any:
    """The demo that was asked for: a day, or the accuracy test."""
    from demo_precinct import accuracy_demo, moments

    if options.test:
        return accuracy_demo.start(options.at, options.place_port, options.office_port)
    return moments.start(
        options.at,
        options.place_port,
        options.office_port,
        tablets=(options.tablets, options.tablet_port, options.trust_port) if options.tablets else None,
        board_port=options.board_port if options.board else None,
    )


def refuse_for_a_test(options: argparse.Namespace) -> None:
    """What does not go with --test."""
    from demo_precinct import accuracy_demo

    if options.board or options.tablets:
        raise Stop("--test shows the accuracy test alone: leave --board and --tablets out.")
    if options.at not in accuracy_demo.MOMENTS:
        raise Stop(f"--at {options.at} is a moment of a day; a test has {' and '.join(accuracy_demo.MOMENTS)}.")


def told(demo: Any) -> list[str]:
    """Links, and who signs with what."""

    def people(found: dict[str, str]) -> list[str]:
        return [f"    {code}  {name}" for name, code in found.items()]

    rows = [
        f"{demo.place.name}, practice day {demo.place.date.isoformat()}",
        f"  Place:  {demo.links['place']}",
        f"  Office: {demo.links['office']}",
    ]
    rows += [f"  Board:  {demo.board.link}"] if demo.board else []
    rows += [f"  {line}" for line in demo.tablets.lines()] if demo.tablets else []
    for words, found in (
        ("Slips of the place's officials (code, name): each takes the oath under People and chooses a PIN", demo.codes),
        ("PINs at the place", demo.pins),
        ("Slips of the board's members", demo.board.codes if demo.board else {}),
        ("PINs at the board", demo.board.pins if demo.board else {}),
        ("Slips of the desk (code, name)", demo.desk_codes),
        ("PINs at the desk", demo.desk_pins),
    ):
        if found:
            rows += [f"  {words}:", *people(found)]
    return [*rows, "Ctrl-C ends it; nothing is kept."]
