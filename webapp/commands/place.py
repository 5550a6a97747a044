"""Place files: `check` says every mistake with its line, `build` signs one with the office's key, `paper` and `guide` print what a place needs without the laptop: every checklist and form, and two pages to keep in the pocket."""

import argparse
import json
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop, deck_of_place, test_folder
from webapp.gate.refusals import GateRefused
from webapp.office.setup import enrolment
from webapp.packet import cose
from webapp.paper import board_forms, forms, guide, header_sheets, witness_card
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place

NAME = "place"
HELP = "check a place file, sign it with the office's key, or print its forms and guides"
LARGEST = 2 * 1024 * 1024  # bytes
PAPERS = {"forms": forms.forms_pdf, "card": witness_card.card_pdf, "board": board_forms.board_forms_pdf}
HEADERS = "headers"
GUIDES = {"chair": guide.chair_pdf, "desk": guide.desk_pdf}


def arguments(parser: argparse.ArgumentParser) -> None:
    what = parser.add_subparsers(dest="what", required=True, metavar="WHAT")
    check = what.add_parser("check", help="say every mistake of a place file, with its line")
    check.add_argument("file", type=Path, metavar="FILE.toml")
    check.add_argument("--json", action="store_true", help="one object on one line")
    build = what.add_parser("build", help="sign a place file; the first time, make the office's key")
    build.add_argument("file", type=Path, metavar="FILE.toml")
    build.add_argument(
        "--office", type=Path, required=True, metavar="DIR", help="the office's folder, with its office.toml"
    )
    build.add_argument("--out", type=Path, required=True, metavar="place.cose")
    build.add_argument(
        "--after",
        type=Path,
        metavar="TEST_DIR",
        help="the folder of its accuracy test: counters, seals and stock are filled in, and the TOML is written beside --out",
    )
    build.add_argument("--json", action="store_true", help="one object on one line")
    for name, help_, choice, made, default in (
        ("paper", "every checklist and form as a PDF, for when all else fails", "only", (*PAPERS, HEADERS), "forms"),
        ("guide", "a guide of two pages, from the same words as the checklists", "for", GUIDES, "chair"),
    ):
        paper = what.add_parser(name, help=help_)
        paper.add_argument(
            "file",
            type=Path,
            metavar="PLACEFILE",
            help="the TOML file, or the signed place.cose (its signature is not looked at here)",
        )
        paper.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")
        paper.add_argument(
            f"--{choice}",
            dest="which",
            choices=tuple(made),
            default=default,
            help=f"{' or '.join(made)}; without it {default}",
        )
        paper.add_argument("--json", action="store_true", help="one object on one line")
        if name == "paper":
            header_arguments(paper)


def header_arguments(paper: argparse.ArgumentParser) -> None:
    """[--kind KIND] [--first N] [--count N], with --only headers: which header sheets of a count board are printed."""
    paper.add_argument("--kind", choices=tuple(header_sheets.KINDS), help="of the batches; without it first")
    paper.add_argument("--first", type=int, metavar="N", help="number of the first batch; without it 1")
    paper.add_argument("--count", type=int, metavar="N", help="how many header sheets; without it 20")


def run(options: argparse.Namespace) -> int:
    return {"check": check, "build": build, "paper": paper, "guide": paper}[options.what](options)


def check(options: argparse.Namespace) -> int:
    """Exit code: 0 nothing to correct, 1 mistakes, 2 no such file."""
    data = text_of(options.file)
    place: Place | None = None
    found: tuple[tuple[int, str], ...] = ()
    try:
        place = place_file.read(data, new=True)
    except place_file.Mistakes as wrong:
        found = wrong.found
    if options.json:
        print(
            json.dumps(
                {
                    "ok": not found,
                    "place": place.id if place else None,
                    "digest": place.digest.hex() if place else None,
                    "mistakes": [{"line": line, "says": says} for line, says in found],
                },
                ensure_ascii=False,
                separators=(",", ":"),
            )
        )
    else:
        print(f"{options.file}: {in_one_line(place)}" if place else listed(options.file, found))
    return 1 if found else 0


def build(options: argparse.Namespace) -> int:
    """0 written, 2 refused."""
    toml = text_of(options.file)
    if options.out.exists():
        raise Stop(
            f"{options.out} is there already, and nothing is written over: choose another name, or move it away first."
        )
    filled = None
    try:
        read = place_file.read(toml, new=True)
        if read.kind == "test":
            deck_of_place.refuse_without(read, options.file)
        if options.after:
            filled = test_folder.after(read, options.after)
            toml = test_folder.filled_toml(filled)
            place_file.read(toml)
        beside = test_folder.free_beside(options.out) if filled else None
        office = opened(options.office)
        place = enrolment.build(toml, options.office, options.out)
    except place_file.Mistakes as wrong:
        raise Stop(
            f"{options.file} cannot be signed before this is mended.\n{listed(options.file, wrong.found)}"
        ) from None
    except GateRefused as wrong:
        raise Stop(str(wrong)) from None
    if beside:
        test_folder.write_plain(beside, toml)
    said = {
        "place": place.id,
        "mode": place.mode,
        "edition": place.edition,
        "digest": place.digest.hex(),
        "office_key_made": office.made,
        "out": str(options.out),
        "slips": str(office.slips) if office.slips else None,
    }
    if filled:
        said["after"] = {
            "toml": str(beside),
            "lifetime": filled.lifetime,
            "seals": filled.seals,
            "used": filled.used,
            "says": list(filled.says),
        }
    lines = [*told_built(office, place, options.out), *(test_folder.told_filled(filled, beside) if filled else ())]
    print(json.dumps(said, ensure_ascii=False, separators=(",", ":")) if options.json else "\n".join(lines))
    return 0


def paper(options: argparse.Namespace) -> int:
    """0 written, 2 refused."""
    place = readable(options.file)
    if options.out.exists():
        raise Stop(
            f"{options.out} is there already, and nothing is written over: choose another name, or move it away first."
        )
    data = printed(place, options)
    try:
        options.out.write_bytes(data)
    except OSError as wrong:
        raise Stop(
            f"{options.out} cannot be written ({wrong.strerror}): give a path in a folder that is there and may be written to."
        ) from None
    said = {"place": place.id, "what": options.which, "out": str(options.out), "bytes": len(data)}
    names = {
        "forms": "every checklist and form",
        "card": "the witness’s card",
        "board": "the blanks of a count board",
        HEADERS: "header sheets of batches",
    }
    name = names.get(options.which, f"the guide for the {options.which}")
    print(
        json.dumps(said, ensure_ascii=False, separators=(",", ":"))
        if options.json
        else f"{options.out}: {name} of {place.name} ({place.id}). Print it before the day."
    )
    return 0


def printed(place: Place, options: argparse.Namespace) -> bytes:
    """The paper or guide that was asked for, or the sentence that stops the command."""
    if options.what == "guide":
        return GUIDES[options.which](place)
    given = {key: getattr(options, key) for key in ("kind", "first", "count") if getattr(options, key) is not None}
    if options.which != HEADERS:
        for key in given:
            raise Stop(f"--{key} belongs to the header sheets: write --only {HEADERS}, or leave it out.")
        return PAPERS[options.which](place)
    first, count = given.get("first", 1), given.get("count", 20)
    if first < 1:
        raise Stop("--first: batches are numbered from 1.")
    if not 1 <= count <= header_sheets.MOST:
        raise Stop(f"--count: print 1 to {header_sheets.MOST} header sheets at a time.")
    return header_sheets.header_sheets_pdf(place, given.get("kind", "first"), first, count)


def readable(file: Path, what: str = "printed") -> Place:
    """The place of a TOML file or of a signed one. Raises Stop with every mistake; `what` is the verb: "cannot be printed before ..."."""
    data = contents(file)
    if data.startswith(b"\xd2"):
        try:
            data = cose.taken_apart(data).payload
        except cose.PacketRefused as wrong:
            raise Stop(f"{file}: {wrong}") from None
    try:
        return place_file.read(data)
    except place_file.Mistakes as wrong:
        raise Stop(f"{file} cannot be {what} before this is mended.\n{listed(file, wrong.found)}") from None


def opened(folder: Path) -> enrolment.OfficeFolder:
    """The office of a folder, or the sentence that stops the command."""
    try:
        return enrolment.open_office(folder)
    except place_file.Mistakes as wrong:
        file = folder / enrolment.OFFICE_FILE
        raise Stop(f"{file} cannot be used before this is mended.\n{listed(file, wrong.found)}") from None
    except (GateRefused, OSError) as wrong:
        raise Stop(str(wrong)) from None


def contents(file: Path) -> bytes:
    """The bytes of a file, up to `LARGEST`. Raises Stop where it cannot be read."""
    try:
        return plain_file.read(file, LARGEST)
    except OSError as wrong:
        raise Stop(f"{file} cannot be read ({wrong.strerror}): give the path of a file that is there.") from None


def text_of(file: Path) -> bytes:
    """The bytes of a place file in TOML; a signed one is recognized at once."""
    data = contents(file)
    if data.startswith(b"\xd2"):
        raise Stop(
            f"{file} is a signed place file: give the TOML file it was built from. `tapeseal enrol` takes the signed one."
        )
    return data


def listed(file: Path, found: tuple[tuple[int, str], ...]) -> str:
    return "\n".join(f"{file}, line {line}: {says}" for line, says in found)


def in_one_line(place: Place) -> str:
    """A place in one line, for people who check it against the order of the office."""
    counts = (
        ("officials", place.officials),
        ("contests", place.contests),
        ("styles", place.styles),
        ("tabulators", place.tabulators),
        ("seals issued", place.seals),
        ("seals applied", place.applied),
        ("changed steps", place.steps),
    )
    return (
        f"{place.name} ({place.id}), {place.date}, {place.opens:%H:%M} to {place.closes:%H:%M}, {place.mode}, edition {place.edition}: "
        + ", ".join(f"{len(rows)} {what}" for what, rows in counts)
        + ". Nothing to correct."
    )


def told_built(office: enrolment.OfficeFolder, place: Place, out: Path) -> list[str]:
    lines = [
        f"{out}: {place.name} ({place.id}), signed for {place.mode}. SHA-256 of the place file {place.digest.hex()}."
    ]
    if office.made:
        lines.insert(
            0,
            f"The office's key was made, in {office.folder / 'gate.db'}: keep a copy under lock; place files and enrolments hang on it.",
        )
    if office.slips:
        lines.append(f"Slips for the desk: {office.slips}. Print them, hand them over in person, and delete the file.")
    if office.office and not office.office.place(place.id):
        lines.append(
            f"{place.id} is not among the [[places]] of office.toml: add it there, with the neighbor it is shown with."
        )
    return lines
