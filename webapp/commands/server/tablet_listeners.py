"""The doors besides the laptop's own: the tablets' over TLS, and the trust page over plain http. Tried before the record is opened, closed with the rest."""

import argparse
import ipaddress
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from flask import Flask

from webapp.commands import Stop
from webapp.commands.server import self_check
from webapp.commands.server.mdns_responder import MdnsResponder, addresses, answered
from webapp.gate import certificates
from webapp.gate.refusals import GateRefused
from webapp.gate.tls import ReloadingCertificate
from webapp.office.setup.authority import BEFORE
from webapp.pages.factory import make
from webapp.pages.tablets import trust
from webapp.pages.tablets.tablet_address import Doors
from webapp.precinct.place.place import Place
from webapp.serving import sockets
from webapp.serving.server import Listener

EVERYWHERE = "0.0.0.0"
PORT, TRUST_PORT = 8611, 8612


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the options of the doors for tablets."""
    parser.add_argument(
        "--tablets",
        nargs="?",
        const=EVERYWHERE,
        metavar="ADDRESS",
        help="open a door for tablets too, on this address of the laptop (default: all)",
    )
    parser.add_argument(
        "--tablet-port", type=int, default=PORT, metavar="N", help=f"default {PORT}; 0 takes any free one"
    )
    parser.add_argument(
        "--trust-port",
        type=int,
        default=TRUST_PORT,
        metavar="N",
        help=f"of the page from which tablets get the certificate; default {TRUST_PORT}",
    )
    parser.add_argument(
        "--cert",
        type=Path,
        metavar="FILE",
        help="an own certificate for the place's host (PEM), instead of the office's",
    )
    parser.add_argument("--key", type=Path, metavar="FILE", help="its key (PEM, without a password)")


def asked_for(options: argparse.Namespace, folder: Path, place: Place) -> "TabletListeners | None":
    """The doors these options ask for, with the certificate they show; None without --tablets. Raises Stop."""
    if options.tablets is None:
        if options.cert or options.key:
            raise Stop("--cert and --key are for the tablets' door: say --tablets with them.")
        return None
    if bool(options.cert) != bool(options.key):
        raise Stop("--cert and --key go together: give both, or neither for the office's certificate.")
    try:
        ipaddress.ip_address(options.tablets)
    except ValueError:
        raise Stop(
            f"--tablets {options.tablets} is not an address of this laptop: write its number, such as 192.168.1.20, or nothing for all."
        ) from None
    for port in (options.tablet_port, options.trust_port):
        if not 0 <= port <= 65535:
            raise Stop(f"Port {port} does not exist: give a number from 1 to 65535, or 0 for any free one.")
    given = [port for port in (options.port, options.tablet_port, options.trust_port) if port]
    if len(set(given)) < len(given):
        raise Stop("--port, --tablet-port and --trust-port are three doors: give each a number of its own.")
    if not place.host:
        raise Stop(
            "The place file has no host, the name under which tablets reach the laptop: the office writes one, builds the file and enrols the place again."
        )
    try:
        return TabletListeners(
            place,
            options.tablets,
            options.tablet_port,
            options.trust_port,
            watched(folder, place, options.cert, options.key),
        )
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None


def watched(folder: Path, place: Place, cert: Path | None = None, key: Path | None = None) -> ReloadingCertificate:
    """The certificate of the tablets' door, which is read again when its file changes. Raises `GateRefused` where there is none to begin with."""
    if cert and key:

        def own() -> certificates.ServerCertificate:
            return certificates.own(cert, key, place.host, _now())

        return ReloadingCertificate(own(), own, (cert, key))
    return ReloadingCertificate(
        certificates.enrolled(folder),
        lambda: certificates.current(folder, place.host, _now()),
        (folder / certificates.RENEWED,),
    )


class Named(Protocol):
    """What the doors serve: a place, or an office."""

    @property
    def host(self) -> str: ...

    @property
    def name(self) -> str: ...


@dataclass
class TabletListeners:
    """The two doors of one place. `have` tries their ports, `doorways` opens them for a site, `tick` runs every few seconds, `close` withdraws the name."""

    place: Named
    address: str
    port: int
    trust_port: int
    watched: ReloadingCertificate
    say: Callable[[str], None] = lambda sentence: print(sentence, file=sys.stderr, flush=True)
    plate: MdnsResponder | None = None
    word: str = "Tablets"
    option: str = "--tablet-port"
    _apps: tuple[Flask, ...] = field(default=(), repr=False)

    def have(self) -> None:
        """Raises PortTaken before a record is opened."""
        sockets.have(self.address, self.port, self.option)
        sockets.have(self.address, self.trust_port, "--trust-port")

    def doorways(self, laptop: Flask) -> tuple[Listener, Listener]:
        """Both doors of this laptop's room, which from now on can tell of them."""
        room = laptop.extensions["room"]
        tablets = make(room.settings, room=room, door="tablets")
        tablets.config.update(HOSTS=(self.place.host,), LOOPBACK=False)
        room.doors = Doors(self.place.host, self.watched, self.ports, lambda: addresses(self.address))
        page = trust.make(room.doors, room.name, room.under, room.practice)
        self._apps = tablets, page
        return (
            Listener(tablets, self.address, self.port, self.watched, self.option),
            Listener(page, self.address, self.trust_port, None, "--trust-port"),
        )

    def ports(self) -> tuple[int, int]:
        """Returns the ports in use: of the tablets' listener and of the trust page."""
        tablets, page = (app.config.get("PORT") for app in self._apps)
        return tablets or self.port, page or self.trust_port

    def warnings(self) -> list[str]:
        """What tablets will stumble over; the laptop's own door opens all the same."""
        first, sentence = self.watched.shown, self.watched.tick(at_once=True)
        said = (
            [sentence] if sentence and self.watched.shown is first else []
        )  # a renewal that was refused; one that fits goes without saying
        said += self_check.certificate(self.watched.shown, _now())
        here = addresses(self.address)
        if here and self.place.host.endswith(".local"):
            return said
        return said + self_check.name(self.place.host, answered(self.place.host) if here else (), here)

    def made(self) -> datetime | None:
        """When the office made the folder's certificate; None for an own one."""
        return self.watched.shown.since + BEFORE if self.watched.shown.authority else None

    def lines(self) -> list[str]:
        """The addresses of the doors, as lines for the person who started them."""
        doors = Doors(self.place.host, self.watched, self.ports, lambda: addresses(self.address))
        if not doors.fingerprint:
            return [f"{self.word}: {doors.address}"]
        return [
            f"{self.word}: {doors.address}",
            f"{self.word} that are not prepared get the office's certificate at: {' or '.join(doors.trust) or 'the address of this laptop, once it is on a network'}",
            f"Its fingerprint (SHA-256): {' '.join(doors.fingerprint)}",
        ]

    def tick(self) -> None:
        """A round: a newer certificate on disk, another network."""
        self.plate = self.plate or MdnsResponder(self.place.host, self.place.name, self.ports()[0], self.address)
        for sentence in (self.watched.tick(), self.plate.tick()):
            if sentence:
                self.say(sentence)

    def close(self) -> None:
        """Withdraws the laptop's name from the network, if it was registered."""
        if self.plate:
            self.plate.take_down()


def _now() -> datetime:
    return datetime.now(UTC)
