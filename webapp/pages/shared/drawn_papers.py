"""Papers that follow from the place file alone, drawn once for each file: the whole pack takes seconds, and several tablets may ask at once."""

import threading
from collections.abc import Callable

from webapp.precinct.place.place import Place

MOST = 6  # papers, of half a megabyte each; the office draws those of many places
_drawn: dict[tuple[str, bytes, str], bytes] = {}
_one_at_a_time = threading.Lock()


def drawn(draw: Callable[[Place], bytes], place: Place) -> bytes:
    """The PDF that `draw` makes of this place; taken from memory where the same file was drawn by it before."""
    if not place.digest:  # not read from a file: nothing says that it is the same place
        return draw(place)
    name = f"{draw.__module__}.{draw.__qualname__}", place.digest, place.mode
    with _one_at_a_time:
        if name not in _drawn:
            while len(_drawn) >= MOST:
                del _drawn[next(iter(_drawn))]
            _drawn[name] = draw(place)
        return _drawn[name]
