"""The laptop's name on the local network: names that end in .local are answered by the laptop itself (multicast DNS, RFC 6762), others by the router.

Also what this laptop is called by number on each network, since it may join one after it was started.
"""

import ipaddress
import socket
import threading
from collections.abc import Sequence

import ifaddr
from zeroconf import AddressResolver, Error, ServiceInfo, Zeroconf

PATIENCE = 3  # seconds for an answer to a name
KIND = "_https._tcp.local."


def addresses(bound: str = "0.0.0.0") -> tuple[str, ...]:
    """The numbers under which others may reach a door that is bound to this address; none where the laptop is on no network."""
    if not ipaddress.ip_address(bound).is_unspecified:
        return (bound,)
    found = [str(ip.ip) for adapter in ifaddr.get_adapters() for ip in adapter.ips if ip.is_IPv4]
    return tuple(
        sorted(
            one
            for one in found
            if not ipaddress.ip_address(one).is_loopback and not ipaddress.ip_address(one).is_link_local
        )
    )


def answered(host: str) -> tuple[str, ...]:
    """The numbers this name leads to, as this laptop's system finds them; none when nobody answers in time."""
    found: list[str] = []

    def ask() -> None:
        try:
            found.extend(sorted({str(row[4][0]) for row in socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)}))
        except OSError:
            pass

    asking = threading.Thread(target=ask, daemon=True)
    asking.start()
    asking.join(PATIENCE)
    return tuple(found)


class MdnsResponder:
    """Answers to a .local name while it is up. `tick` follows the laptop from one network to the next."""

    def __init__(self, host: str, title: str, port: int, bound: str = "0.0.0.0"):
        self.host, self._title, self._port, self._bound = host, title, port, bound
        self._here: tuple[str, ...] = ()
        self._up: Zeroconf | None = None

    @property
    def ours(self) -> bool:
        """Whether the name is one that the laptop answers to by itself."""
        return self.host.endswith(".local")

    def tick(self) -> str:
        """Register or withdraw the .local name, again after a network change.

        Returns a warning if another host answers to it, else "".
        """
        here = addresses(self._bound)
        if not self.ours or here == self._here:
            return ""
        self.take_down()
        if not here:
            return ""
        try:
            plate = Zeroconf(interfaces=list(here))
            others = _others(plate, self.host, here)
            plate.register_service(
                ServiceInfo(
                    KIND, f"{self._title[:50]}.{KIND}", self._port, server=f"{self.host}.", parsed_addresses=list(here)
                ),
                allow_name_change=True,
            )
        except (OSError, Error) as wrong:
            return f"The name {self.host} cannot be given on this network ({wrong}): enter it in the router's list of names with {' or '.join(here)}."
        self._up, self._here = plate, here
        if others:
            return f"Another computer here ({' and '.join(others)}) answers to {self.host} as well: find it and stop it before tablets are paired."
        return ""

    def take_down(self) -> None:
        """Withdraws the name from the network; does nothing if it is not registered."""
        if self._up is not None:
            self._up.close()
        self._up, self._here = None, ()


def _others(plate: Zeroconf, host: str, here: Sequence[str]) -> list[str]:
    """Who else answers to this name, before we do."""
    asked = AddressResolver(f"{host}.")
    asked.request(plate, PATIENCE * 1000 / 2)
    return sorted(set(asked.parsed_addresses()) - set(here))
