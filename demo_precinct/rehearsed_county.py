"""The office and the places of a rehearsal, enrolled into one folder: slips, keys, place files."""

import json
import time
from collections.abc import Sequence
from pathlib import Path

from demo_precinct import results_file
from demo_precinct.board_of_canvassers import MEMBERS
from demo_precinct.printed_text import printed_text
from webapp.office.setup import enrolment, office_file
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place

HERE = Path(__file__).parent
OFFICE_CODES = "slips-desk.json"


def prepare(folder: Path, office_toml: bytes, places: Sequence[Place | bytes]) -> dict[str, dict[str, str]]:
    """The office's folder, and each place built, signed and enrolled in `places/ID`; the slips' codes by place ("" for the desk)."""
    return open_office(folder, office_toml) | enrol_all(folder, places)


def open_office(folder: Path, office_toml: bytes) -> dict[str, dict[str, str]]:
    """The office's folder; the codes of its desk's slips under ""."""
    office = folder / "office"
    office.mkdir(parents=True)
    (office / enrolment.OFFICE_FILE).write_bytes(office_toml)
    opened = enrolment.open_office(office)
    return {"": _codes(opened.slips)} if opened.slips else {}


def enrol_all(folder: Path, places: Sequence[Place | bytes]) -> dict[str, dict[str, str]]:
    """Each place built, signed and enrolled in `places/ID`; the slips' codes by place."""
    office, found = folder / "office", {}
    (folder / "places").mkdir()
    for place in places:
        toml = place if isinstance(place, bytes) else place_file.write(place).encode()
        name = place_file.read(toml).id
        sealed = folder / f"{name}.cose"
        enrolment.build(toml, office, sealed)
        made = enrolment.enrol(sealed.read_bytes(), office, folder / "places" / name, time.time_ns() // 1_000_000)
        sealed.unlink()
        if made.codes is None:
            raise ValueError(f"{name} is no practice place: its codes are on paper only")
        found[name] = json.loads(made.codes.read_text(encoding="utf-8"))["codes"]
    return found


def _codes(slips: Path) -> dict[str, str]:
    """Codes of the desk's slips. Practice offices write them beside the PDF; else they are read off the printed page, as a person would."""
    beside = slips.with_suffix(".json")
    if beside.exists():
        return json.loads(beside.read_text(encoding="utf-8"))["codes"]
    import re

    text = printed_text(slips.read_bytes())
    office = office_file.read((slips.parent / enrolment.OFFICE_FILE).read_bytes())
    found = re.findall(r"\b([0-9A-HJKMNP-TV-Z]{3}-[0-9A-HJKMNP-TV-Z]{3}-[0-9A-HJKMNP-TV-Z]{3})\b", text)
    order = sorted(office.officials, key=lambda o: text.index(o.name))
    return {o.id: code for o, code in zip(order, found, strict=True)}


def board_office() -> bytes:
    """The demo's office, awaiting the count board too, which is shown with its first place where it is small."""
    beside = '\n[[places]]\nid = "AB"\nname = "Tarn absentee board"\nwith = "W3"\n'
    return (HERE / "office.toml").read_bytes() + beside.encode()


def _office_for(places: Sequence[Place], canvassed: bool = False) -> bytes:
    """An office that awaits these places, each with the next one as its neighbour; with a canvass board where there is one."""
    rows = ['format = 1\nid = "rehearsal"\nname = "Rehearsal County election office"\nsmall = 10']
    rows += [f'[[parties]]\nid = "{p.id}"\nname = "{p.name}"\nword = "{p.word}"' for p in results_file.PARTIES]
    rows += [
        f'[[officials]]\nid = "d{i}"\nname = "{name}"\nparty = "{party}"\nrole = "receiver"'
        for i, (name, party) in enumerate((("Marla Quint", "A"), ("Theo Brandt", "B")), 1)
    ]
    rows += [
        f'[[officials]]\nid = "{id}"\nname = "{name}"\nparty = "{party}"\nrole = "canvasser"'
        for id, name, party in (MEMBERS if canvassed else ())
    ]
    for i, place in enumerate(places):
        beside = f'\nwith = "{places[i - 1 if i else 1].id}"' if len(places) > 1 else ""
        rows.append(f'[[places]]\nid = "{place.id}"\nname = {json.dumps(place.name, ensure_ascii=False)}{beside}')
    return "\n\n".join(rows).encode()
