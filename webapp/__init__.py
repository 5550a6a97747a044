"""Tape & Seal: the opening, the day, the close and the hand-off of one polling place, and the desk of the office that receives it."""

from typing import TYPE_CHECKING

from webapp.settings import Settings
from webapp.version import VERSION

if TYPE_CHECKING:  # the copier of the stick and other processes without pages start without the framework
    from flask import Flask

__version__ = VERSION


def create_app(settings: Settings) -> "Flask":
    """One Flask app for one folder: a polling place or an office, by `settings.role`."""
    from webapp.pages.factory import make

    return make(settings)
