"""A place's day that takes no time: what another process is given, and which one it is. By itself, for the other process imports this file alone."""

import os


def played(folder, place, *_) -> tuple[str, str, int]:
    """(folder's name, place id, number of the process)."""
    return folder.name, place, os.getpid()
