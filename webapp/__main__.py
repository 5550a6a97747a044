"""`python -m webapp` is the command `tapeseal`."""

import sys

from webapp.commands import main

sys.exit(main())
