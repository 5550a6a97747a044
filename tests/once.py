"""What a run makes once for each of its processes, however many folders of tests lean on it: a played day, a rehearsed night."""

from collections.abc import Callable
from typing import Any, TypeVar

import pytest

Made = TypeVar("Made")
_MADE = pytest.StashKey[dict[str, Any]]()


def once(
    config: pytest.Config, name: str, make: Callable[[], Made], close: Callable[[Made], None] | None = None
) -> Made:
    """What `make` gave when this name was first asked for; closed when the run ends."""
    made = config.stash.setdefault(_MADE, {})
    if name not in made:
        made[name] = make()
        if close:
            config.add_cleanup(lambda: close(made[name]))
    return made[name]
