"""`python3 demo_precinct [--at MOMENT]`: the demo on a fresh machine with Python alone. `--bundle DIR` collects what a laptop without internet needs."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from demo_precinct.bootstrap import ready  # noqa: E402 - the folder above must be found first

ready()

if sys.argv[1:2] == ["--bundle"]:
    from demo_precinct import bundle

    sys.exit(bundle.main(sys.argv[2:]))

from webapp.commands import main  # noqa: E402 - only there inside the environment

sys.exit(main(["demo", *sys.argv[1:]]))
