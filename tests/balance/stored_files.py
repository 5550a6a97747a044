"""The stored nights: what goes in and what comes out, byte for byte but for the time it took. The format is for good."""

import json
from pathlib import Path
from typing import Any

STORED = Path(__file__).parent / "stored"


def stored(name: str) -> Any:
    return json.loads((STORED / name).read_text(encoding="utf-8"))


RICH: dict[str, Any] = stored("rich.json")
