"""Editions between offices: taken in by the key that office.toml names, in any order, shown as reported, and in no figure of this office."""

import csv
import io
import json
import random
import shutil

import pytest

from tests.archive.small_office import SmallOffice, contests
from tests.matrix import some
from tests.merging.desks import REMARKS, bundle, night, results
from tests.merging.offices import Sable, compare, known, public, sable
from webapp.commands import main
from webapp.commands.export import posted
from webapp.gate import keys
from webapp.merging import office_report, reporting, sums_over_offices, sums_written
from webapp.merging.office_report import OfficeReport
from webapp.merging.refusals import BundleRefused
from webapp.merging.reported_offices import ReportedOffices
from webapp.office.checking import packet_checks
from webapp.office.setup import office_file, other_offices, roster
from webapp.packet.envelope import PacketRefused, parts_of, seal_packet
from webapp.record.audit import verify
from webapp.record.check_words import check_words
from webapp.record.reader import Reader


@pytest.fixture(scope="module")
def pair(tmp_path_factory, cheap_hashes):
    """(home with Tarn's office and three bundles of its desks, Sable's home, editions 1 to 3 of Sable, and another edition 2)."""
    home, there = tmp_path_factory.mktemp("tarn"), tmp_path_factory.mktemp("sable")
    bundles = night(home)
    far = sable(there)
    known(home / "office", far.folder)
    far.packet("W3", contests(100, 50, 20, 200))
    far.post("One place is in.")
    far.from_paper("HM4", contests(10, 9, 8, 30))
    twin = there / "twin"
    far.close()
    shutil.copytree(there, twin)
    reports = []
    for at, choice in ((there, 30), (twin, 29)):
        one = Sable.again(at)
        one.post(
            f"Two places are in ({choice}).", status="unofficial-complete" if choice == 30 else "unofficial-partial"
        )
        one.packet("W5", contests(choice, 9, 8, 60))
        one.post("All.", status="unofficial-complete")
        one.close()
    reports = [far.report(f"sable-{n}.edition", n) for n in (1, 2, 3)]
    other = Sable.again(twin).report("other-2.edition", 2)
    return home, there, bundles, reports, other


def office(pair, tmp_path, *files, compared=True, name="office"):
    """A copy of Tarn's office that took these in."""
    at = tmp_path / name / "office"
    shutil.copytree(pair[0] / "office", at)
    if compared:
        compare(at, pair[1] / "office")
    for file in files:
        assert main(["office", "merge", str(at), str(file)]) in (0, 1)
    return at


def sums(at):
    """(sums, their CSV, their page) of an office's folder."""
    found = roster.load(at)
    reported = ReportedOffices(found)
    with Reader(at / "office.db") as record:
        for entry in record.entries():
            reported.add(entry)
    editions = posted(at)
    own = reporting.facts(found, editions) if editions.posted else None
    titles = {one.id: one.title for place in found.places.values() for one in place.contests}
    made = sums_over_offices.sums(found.office, own, reported, titles)
    return made, sums_written.as_csv(made), sums_written.page(made, "General election", True)


def post(at) -> None:
    """Tarn's next edition of everything that it and its desks kept."""
    from tests.merging.test_archive import Merged

    made = Merged.again(at.parent)
    made.post("All desks are merged.")
    made.close()


def column(data: bytes, office: str) -> dict[str, str]:
    return {row["choice"] or row["kind"]: row["votes"] for row in csv.DictReader(io.StringIO(data.decode())) if row["office"] == office}  # fmt: skip


def test_a_report_holds_what_the_edition_published_and_the_same_edition_gives_the_same_bytes(pair, tmp_path):
    home, there, _, reports, _ = pair
    report = office_report.opened(reports[2].read_bytes(), "x", keys.office_key(there / "office").public_key())
    folder = there / "office" / "editions" / "3"
    with open(folder / "results.csv", encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["contest"] == "Governor"]
    contest = report.contests["GOV-1"]
    for id, label in contest.choices:
        assert contest.votes[id] == sum(int(row["votes"]) for row in rows if row["choice"] == label)
    kinds = {"write_in": "writein", "under": "undervote", "over": "overvote"}
    for line, kind in kinds.items():
        assert contest.votes[line] == sum(int(row["votes"]) for row in rows if row["kind"] == kind)
    public_facts = json.loads((folder / "edition.json").read_bytes())
    assert (report.number, report.status, report.made) == (3, public_facts["status"], public_facts["made"])
    assert list(report.places) == public_facts["places"] == [3, 3] and contest.ballots == 290
    again = tmp_path / "again"
    assert main(["office", "bundle", str(there / "office"), "--out", str(again), "--edition", "3"]) == 0
    assert again.read_bytes() == reports[2].read_bytes()


def test_two_offices_three_desks_in_any_order_twice_and_in_halves_give_the_same_page_and_csv(pair, tmp_path):
    draw, seen = random.Random(5), set()
    home, _, bundles, reports, _ = pair
    halves = [bundle(home, path.stem, 2, f"{path.stem}-half.bundle") for path in bundles]
    for n in some(range(3), range(30)):
        files = [*bundles, *draw.sample(halves, 2), *reports, draw.choice(reports), draw.choice(bundles)]
        draw.shuffle(files)
        at = office(pair, tmp_path, *files, compared=bool(n % 2), name=str(n))
        if not n % 2:
            compare(at, pair[1] / "office")
        assert verify(at / "office.db").ok
        post(at)
        seen.add((results(at), *sums(at)[1:]))
        shutil.rmtree(at.parent)
    ((figures, data, page),) = seen
    assert figures == results(office(pair, tmp_path, *bundles)), "what the other office reported moves nothing"
    assert column(data, "Sable County election office")["ballots"] == "290"
    assert "Edition" in page.decode() and "<td>3</td><td>Unofficial, complete</td>" in page.decode()


def test_another_offices_figures_are_in_no_file_of_this_offices_own(pair, tmp_path):
    at, alone = (
        office(pair, tmp_path, *pair[2], *more, name=name) for name, more in (("with", pair[3]), ("alone", ()))
    )
    for one in (at, alone):
        post(one)
    for name in ("results.csv", "reconciliation.csv", "results-1500-100.json", "posting.html"):
        with_it, without = ((one / "editions" / "1" / name).read_bytes() for one in (at, alone))
        assert with_it == without, name


def test_a_newer_edition_replaces_an_older_one_and_an_older_one_that_comes_later_does_not(pair, tmp_path, capsys):
    at = office(pair, tmp_path, pair[3][0])
    assert column(sums(at)[1], "Sable County election office")["ballots"] == "200"
    for report in (pair[3][2], pair[3][1]):
        assert main(["office", "merge", str(at), str(report)]) == 0
    assert "Edition 3 is newer, and stays the one that is shown" in capsys.readouterr().out
    assert column(sums(at)[1], "Sable County election office")["ballots"] == "290"
    assert main(["office", "merge", str(at), str(pair[3][1])]) == 0 and "nothing new" in capsys.readouterr().out


def test_r36_two_editions_of_one_number_contradict_and_nothing_is_added_up_until_a_further_one(pair, tmp_path, capsys):
    told = set()
    for n, order in enumerate(((pair[3][1], pair[4]), (pair[4], pair[3][1]))):
        at = office(pair, tmp_path, pair[3][0], *order, name=f"against-{n}")
        assert "they say different things. Both are kept and named" in capsys.readouterr().out
        found, data, page = sums(at)
        told.add((data, page))
        assert found[0].inn == 0 and "both call themselves edition 2" in "".join(found[0].notes)
        assert main(["office", "merge", str(at), str(pair[3][2])]) == 0
        found, data, page = sums(at)
        assert column(data, "Sable County election office")["ballots"] == "290", "edition 3 is told in one way only"
        told.add((data, page))
    assert len(told) == 2


def test_nothing_is_added_up_before_two_parties_compared_the_key(pair, tmp_path):
    at = office(pair, tmp_path, *pair[3], compared=False)
    found, data, _ = sums(at)
    assert found[0].inn == 0 and "its key was not compared yet" in "".join(found[0].notes)
    assert len(data.splitlines()) == 1
    compare(at, pair[1] / "office")
    assert sums(at)[0][0].inn == 1


def refused(at, file, data, capsys) -> str:
    file.write_bytes(data)
    with Reader(at / "office.db") as record:
        before = [entry.kind for entry in record.entries()]
    figures, told = results(at), sums(at)[1]
    capsys.readouterr()
    assert main(["office", "merge", str(at), str(file)]) == 2
    sentence = capsys.readouterr().err.strip()
    assert sentence.startswith("tapeseal office: ") and "\n" not in sentence
    with Reader(at / "office.db") as record:
        assert [entry.kind for entry in record.entries()] == [*before, "packet-refused"]
    assert (results(at), sums(at)[1]) == (figures, told)
    return sentence


def test_what_is_refused_is_told_in_one_sentence_and_changes_nothing(pair, tmp_path, capsys):
    at, file, data = office(pair, tmp_path), tmp_path / "x.edition", pair[3][0].read_bytes()
    key = keys.office_key(pair[1] / "office")
    report = office_report.unproven(data, "x")

    def told(by=key, **changes) -> str:
        from dataclasses import replace

        return refused(at, file, office_report.packed(replace(report, **changes), by), capsys)

    for place in (1, 9, 40, 300, len(data) - 40, len(data) - 1):
        changed = bytearray(data)
        changed[place] ^= 1
        with pytest.raises(BundleRefused):
            office_report.opened(bytes(changed), "x", key.public_key())
    changed = bytearray(data)
    changed[-1] ^= 1
    assert "is not what sable signed: it was changed" in refused(at, file, bytes(changed), capsys)
    assert "cut off or changed" in refused(at, file, data[:-9], capsys)
    stranger = keys.office_key(pair[0] / "office")
    assert "office.toml names another one for Sable County election office" in told(stranger)
    assert "no [[offices]] in office.toml names it" in told(office="marsh")
    assert "is an edition of this office itself" in told(office="tarn")
    assert "is for live, and this office is for practice" in told(mode="live")
    assert "is of an election on 2026-06-02, and this office's is on 2026-11-03" in told(
        election=("Primary", "2026-06-02")
    )
    for wrong in ({"status": "draft"}, {"number": 0}, {"places": (4, 3)}, {"made": "yesterday"}, {"name": "a\x1bb"}):
        assert "no edition that this version can read" in told(**wrong)


def test_a_contest_that_lacks_or_is_another_one_is_named_and_not_added_up(pair, tmp_path):
    at = office(pair, tmp_path, pair[3][2])
    file = at / "office.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace('"GOV-1"}', '"GOV-9"}'), "utf-8")
    assert "edition 3 has no contest GOV-9, which office.toml names for it" in "".join(sums(at)[0][0].notes)
    file.write_text(text.replace('here = "GOV"', 'here = "GOVX"'), "utf-8")
    found = sums(at)[0][0]
    assert "no place file of this office has the contest GOVX" in "".join(found.notes) and found.inn == 1
    file.write_text(text.replace('here = "GOV"', 'here = "COUNCIL"'), "utf-8")
    bundles = office(pair, tmp_path, *pair[2], pair[3][2], name="full")
    (bundles / "office.toml").write_text(text.replace('here = "GOV"', 'here = "COUNCIL"'), "utf-8")
    post(bundles)
    found = sums(bundles)[0][0]
    assert "vote for 1, not 2" in "".join(found.notes) and found.inn == 1
    assert all(line.together == line.votes[0] for line in found.lines)


def test_names_that_do_not_match_and_other_overvotes_are_named(pair, tmp_path):
    at = office(pair, tmp_path, *pair[2])
    post(at)
    found = roster.load(at)
    from dataclasses import replace

    report = office_report.unproven(pair[3][2].read_bytes(), "x")
    contest = report.contests["GOV-1"]
    choices = ((contest.choices[0][0], "A. Other Name"), *contest.choices[1:])
    odd = replace(
        report, contests={"GOV-1": replace(contest, choices=choices, overvotes="votes", waiting=7)}, facts=b"1"
    )
    reported = ReportedOffices(found)
    reported._reports["sable"] = {b"1": odd}
    reported._compared.add(("sable", report.kid))
    own = reporting.facts(found, posted(at))
    (made,) = sums_over_offices.sums(found.office, own, reported, {"GOV": "Governor"})
    notes = " ".join(made.notes)
    assert (
        "not on its ballot under this name: A. Other Name" in notes
        and f"under this name: {contest.choices[0][1]}" in notes
    )
    assert "7 ballots are counted there and not posted yet" in notes
    assert "undervotes and overvotes are not added up" in notes
    by = {line.label or line.kind: line for line in made.lines}
    assert by["undervote"].together is None and by["overvote"].together is None and by["writein"].together is not None
    assert by["A. Other Name"].votes[0] is None and by["A. Other Name"].together == by["A. Other Name"].votes[1]


def test_a_packet_of_another_offices_place_is_told_for_whom_it_is(pair, tmp_path):
    there = Sable.again(pair[1])
    core = there.core("W3", contests(20, 12, 4, 40)) | {"number": 1}
    packet = seal_packet(core, REMARKS, there.key("W3"), "practice").data
    there.close()
    at = office(pair, tmp_path)
    found = roster.load(at)
    with pytest.raises(PacketRefused, match="with a place file that this office never issued for W"):
        packet_checks.check(parts_of(packet), found)
    ReportedOffices(found).add(_entry(office(pair, tmp_path, pair[3][0], name="b")))
    with pytest.raises(PacketRefused, match="This packet is for Sable County election office: W. is a place of that"):
        packet_checks.check(parts_of(packet), found)
    named = other_offices.OtherOffice("marsh", "Marsh County", bytes(32), ("M1",))
    assert roster.Roster(office_file.Office("t", "T", (), (), (), others=(named,)), {}, {}, {}).other_office("M1", b"") == "Marsh County"  # fmt: skip


def _entry(at):
    with Reader(at / "office.db") as record:
        return next(entry for entry in record.entries() if entry.kind == "office-reported")


def test_a_key_that_office_toml_no_longer_names_takes_its_editions_with_it(pair, tmp_path):
    at = office(pair, tmp_path, *pair[3])
    file = at / "office.toml"
    mine = public(pair[1] / "office").hex()
    file.write_text(file.read_text("utf-8").replace(mine, "ab" * 32), "utf-8")
    assert "its key was replaced in office.toml" in "".join(sums(at)[0][0].notes)


def test_the_command_says_what_others_need(pair, tmp_path, capsys):
    out = tmp_path / "o"
    assert main(["office", "bundle", str(pair[1] / "office"), "--out", str(out)]) == 0
    told, key = capsys.readouterr().out, public(pair[1] / "office")
    assert f'key = "{key.hex()}"' in told and check_words(other_offices.head_of(key)) in told and "edition 3" in told
    assert main(["office", "bundle", str(pair[1] / "office"), "--out", str(out)]) == 2
    assert main(["office", "bundle", str(pair[1] / "office"), "--out", str(tmp_path / "p"), "--edition", "9"]) == 2
    assert "There is no edition 9: give a number from 1 to 3" in capsys.readouterr().err
    assert main(["office", "bundle", str(pair[1] / "office"), "--out", str(tmp_path / "p"), "--after", "1"]) == 2
    assert main(["office", "bundle", str(pair[0] / "north"), "--out", str(tmp_path / "p"), "--edition", "1"]) == 2
    assert capsys.readouterr().err.count(" belong") == 2 and not (tmp_path / "p").exists()
    SmallOffice.again(pair[0]).close()
    assert main(["office", "bundle", str(pair[0] / "office"), "--out", str(tmp_path / "q")]) == 2
    assert "Nothing is posted yet" in capsys.readouterr().err


def test_the_report_class_is_what_the_page_reads(pair):
    assert isinstance(office_report.unproven(pair[3][0].read_bytes(), "x"), OfficeReport)
