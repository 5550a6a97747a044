"""`python -m tests.fuzz [--seconds 600] [--only NAME]`: fresh draws for each reader in turn, until the time is over. Exit 1 at the first fault, with what was drawn."""

import argparse
import sys
import time
import traceback

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.fuzz.readers import READERS


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--only", choices=[reader.name for reader in READERS])
    options = parser.parse_args()
    until, drawn = time.monotonic() + options.seconds, dict.fromkeys((reader.name for reader in READERS), 0)
    while time.monotonic() < until:
        for reader in READERS:
            if options.only in (None, reader.name) and time.monotonic() < until:
                try:
                    drawn[reader.name] += some(reader)
                except Exception:
                    traceback.print_exc()
                    print(f"{reader.name}: a fault, see above")
                    return 1
    print(", ".join(f"{name}: {count}" for name, count in drawn.items() if count), "drawn, no fault")
    return 0


def some(reader) -> int:
    """A hundred fresh draws; how many were made."""
    count = [0]

    @settings(
        max_examples=100,
        deadline=None,
        database=None,
        derandomize=False,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def one(data):
        count[0] += 1
        drawn = data.draw(reader.draws)
        try:
            reader.read(drawn)
        except reader.refusals as refusal:
            assert str(refusal)

    one()
    return count[0]


if __name__ == "__main__":
    sys.exit(main())
