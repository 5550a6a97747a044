"""The office's doors for further desks: over TLS under the host of its office file, and the trust page over plain http."""

import argparse
import ipaddress
import time
from dataclasses import dataclass
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.server.tablet_listeners import EVERYWHERE, TabletListeners
from webapp.gate.tls import ReloadingCertificate
from webapp.office.setup import desk_certificate
from webapp.office.setup.office_file import Office

PORT, TRUST_PORT = 8621, 8622
NO_HOST = 'office.toml has no host, the name under which desks find the office: write one at the top, such as host = "desk.sable.example".'


@dataclass(frozen=True, slots=True)
class NamedDoor:
    """What the doors ask of the place or office behind them: the name on the network, and its own name."""

    host: str
    name: str


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the options of the doors for further desks."""
    parser.add_argument(
        "--desks",
        nargs="?",
        const=EVERYWHERE,
        metavar="ADDRESS",
        help="open a door for further desks too, on this address of the computer (default: all)",
    )
    parser.add_argument(
        "--desk-port", type=int, default=PORT, metavar="N", help=f"default {PORT}; 0 takes any free one"
    )
    parser.add_argument(
        "--trust-port",
        type=int,
        default=TRUST_PORT,
        metavar="N",
        help=f"of the page from which desks get the certificate; default {TRUST_PORT}",
    )


def asked_for(options: argparse.Namespace, folder: Path, office: Office, mode: str) -> TabletListeners | None:
    """The doors these options ask for; None without --desks. Raises Stop before anything is written."""
    if options.desks is None:
        return None
    try:
        ipaddress.ip_address(options.desks)
    except ValueError:
        raise Stop(
            f"--desks {options.desks} is not an address of this computer: write its number, such as 192.168.1.20, or nothing for all."
        ) from None
    for port in (options.desk_port, options.trust_port):
        if not 0 <= port <= 65535:
            raise Stop(f"Port {port} does not exist: give a number from 1 to 65535, or 0 for any free one.")
    given = [port for port in (options.port, options.desk_port, options.trust_port) if port]
    if len(set(given)) < len(given):
        raise Stop("--port, --desk-port and --trust-port are three doors: give each a number of its own.")
    if not office.host:
        raise Stop(NO_HOST)
    return opened(folder, office, mode, options.desks, options.desk_port, options.trust_port)


def opened(folder: Path, office: Office, mode: str, address: str, port: int, trust_port: int) -> TabletListeners:
    """Both doors, with a certificate made now."""
    shown = desk_certificate.made(folder, office.id, office.name, office.host, mode, time.time_ns() // 1_000_000)
    return TabletListeners(
        NamedDoor(office.host, office.name),
        address,
        port,
        trust_port,
        ReloadingCertificate(shown, lambda: shown, ()),
        word="Desks",
        option="--desk-port",
    )
