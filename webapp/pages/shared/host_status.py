"""What the laptop says of itself: room on its disk, mains or battery. Read, never guessed: what it does not say is None or ""."""

import shutil
from pathlib import Path

SUPPLIES = Path("/sys/class/power_supply")  # of Linux; elsewhere people look at the plug


def free_bytes(folder: Path) -> int | None:
    """Bytes free on the disk of this folder."""
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return None


def power(supplies: Path = SUPPLIES) -> tuple[str, int | None]:
    """("mains" | "battery" | "", percent of the battery or None)."""
    found = [(_word(path, "type"), path) for path in sorted(supplies.glob("*"))]
    mains = [_word(path, "online") for kind, path in found if kind == "Mains" or kind.startswith("USB")]
    batteries = [
        path for kind, path in found if kind == "Battery" and _word(path, "scope") != "Device"
    ]  # a mouse's battery has scope Device
    charge = next((int(text) for path in batteries if (text := _word(path, "capacity")).isdigit()), None)
    if "1" in mains:
        return "mains", charge
    if any(_word(path, "status") == "Discharging" for path in batteries) or ("0" in mains and batteries):
        return "battery", charge
    return "", charge


def _word(path: Path, name: str) -> str:
    try:
        return (path / name).read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return ""
