"""`python -m orthostat`."""

import sys

from orthostat.cli.main import main

sys.exit(main())
