"""Ports and files that a server asks the system for."""

import contextlib
import os
import socket
import sys

BACKLOG = 128
FILES = 4096  # open files and sockets to ask the system for: some give a program 256


class PortTaken(Exception):
    """A port cannot be had; its text is one sentence that names the port and the option to choose another."""


def have(host: str, port: int, option: str = "--port") -> None:
    """Try a port before a record is opened. Raises PortTaken."""
    _listening(host, port, option).close()


def _room_for_files() -> None:
    """Raise this process's limit of open files to FILES where the system allows it."""
    try:
        import resource
    except ImportError:  # a system that has no such limit
        return
    now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = FILES if most == resource.RLIM_INFINITY else min(FILES, most)
    if now != resource.RLIM_INFINITY and now < wanted:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))


def _listening(host: str, port: int, option: str = "--port") -> socket.socket:
    """A bound, listening socket; no second server can share its port. Raises PortTaken.

    Named as TCP, or the event loop would let small answers wait for an acknowledgment.
    """
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform == "win32":
        door.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((host, port))
        door.listen(BACKLOG)
    except OSError as wrong:
        door.close()
        raise PortTaken(
            f"Port {port} on {host} cannot be had ({os.strerror(wrong.errno) if wrong.errno else wrong}): "
            f"stop the other program that uses it, or give another with {option}."
        ) from wrong
    door.setblocking(False)
    return door
