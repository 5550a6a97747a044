"""A stick with a FAT or exFAT file system, pulled by force in the middle, again and again: what is on it when it is pulled, and that it goes on.

    python tests/benchmarks/fat_stick.py --image FILE --format "mkfs.fat -F 32 {image}" --mount "mount -o loop,umask=077 {image} {folder}" [--pulls 6]

Linux, as root, with the commands that make and mount such a file system. Each pull cuts the path off while entries are written (a lazy unmount, as when a
plug is drawn out; --pull gives another command) and takes the image as it is at that moment. Held against what was said: every entry that was said to be on the stick before the pull
is read back from that image, by the product's reader; after the stick is back, all of them are, and the names are still those of before.
"""

import argparse
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.record import story  # noqa: E402 - the folder above must be found first
from tests.stick import nights  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402
from webapp.stick.backup_process import BackupProcess  # noqa: E402
from webapp.stick.folder import chosen, read_folder  # noqa: E402

PATIENCE = 30.0  # seconds until a state is there


class Stick:
    """One image, mounted at `folder` or not. mount: a command with {image} and {folder}; pull: one with {folder}."""

    def __init__(self, image: Path, folder: Path, mount: str, pull: str):
        self.image, self.folder, self._mount, self._pull = image, folder, mount, pull
        folder.mkdir()

    def put_in(self, image: Path | None = None, folder: Path | None = None) -> None:
        command = self._mount.format(image=image or self.image, folder=folder or self.folder)
        subprocess.run(shlex.split(command), check=True, stdout=subprocess.DEVNULL)

    def pull(self) -> None:
        subprocess.run(shlex.split(self._pull.format(folder=self.folder)), check=True)


def until(holds) -> float:
    """Seconds until this is so; ends the script where it is not within `PATIENCE`."""
    began = time.monotonic()
    while not holds():
        if time.monotonic() - began > PATIENCE:
            raise SystemExit("It did not come about.")
        time.sleep(0.01)
    return time.monotonic() - began


def on_image(stick: Stick, image: Path, folder: Path) -> int:
    """Number of the last entry that is read back from this image."""
    folder.mkdir(exist_ok=True)
    stick.put_in(image, folder)
    try:
        return read_folder(chosen(folder)).history.end.number
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def played(work: Path, stick: Stick, pulls: int) -> None:
    record = work / "laptop" / "record.db"
    record.parent.mkdir()
    with Ledger.create(record, story.RECORD_ID, story.COARSE) as ledger:
        stick.put_in()
        copying, n = BackupProcess(nights.task(record, stick.folder)), 100
        for pull in range(pulls):
            until(lambda: copying.status.state == "on")
            for _ in range(40 + 7 * pull):  # entries at forty a second, the last of them while the stick is drawn out
                nights.keep(ledger, 1, n)
                n += 1
                time.sleep(0.025)
            if pull == 1:
                nights.keep_words(ledger, n)  # a whole copy is being made
                n += 1
            said, taken = copying.status.number, work / "taken.img"
            stick.pull()
            shutil.copyfile(stick.image, taken)  # before the system has put away what it still holds
            gone = until(lambda: copying.status.state != "on")
            there = on_image(stick, taken, work / "looked-at")
            nights.keep(ledger, 20, n)
            n += 20
            stick.put_in()
            back = until(lambda: copying.status.state == "on" and copying.status.number == ledger.length)
            print(
                f"pull {pull + 1}: said {said}, kept {ledger.length - 20}, read back {there}; noticed in {gone:.1f} s, caught up in {back:.1f} s"
            )
            if there < said:
                raise SystemExit("An entry was said to be on the stick and is not.")
        length = ledger.length
    print(f"closed in time: {copying.close()}")
    stick.pull()
    last = on_image(stick, stick.image, work / "looked-at")
    print(f"at the end: kept {length}, read back {last}")
    if last != length:
        raise SystemExit("Not all of it is on the stick.")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--image", type=Path, required=True)
    parser.add_argument("--format", required=True)
    parser.add_argument("--mount", required=True)
    parser.add_argument("--pull", default="umount -l {folder}")
    parser.add_argument("--megabytes", type=int, default=64)
    parser.add_argument("--pulls", type=int, default=6)
    said = parser.parse_args()
    said.image.write_bytes(b"")
    with said.image.open("r+b") as file:
        file.truncate(said.megabytes * 1024**2)
    subprocess.run(shlex.split(said.format.format(image=said.image)), check=True, stdout=subprocess.DEVNULL)
    with tempfile.TemporaryDirectory(prefix="fat-") as work:
        played(Path(work), Stick(said.image, Path(work) / "stick", said.mount, said.pull), said.pulls)


if __name__ == "__main__":
    main()
