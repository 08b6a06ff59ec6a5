"""The two commands: `python run.py` and `python run.py test`.

This file must be readable by any Python, however old, so that an old one can say what is wanted.
All the work is in `runner/`.
"""

import sys

if sys.version_info < (3, 11):
    sys.exit(
        "orthostat needs Python 3.11 or newer; this is Python %d.%d (%s).\n"
        "Install a newer one and start it by name, for example: python3.13 run.py\n"
        "(on Windows: py -3.13 run.py)" % (sys.version_info[0], sys.version_info[1], sys.executable)
    )

from runner.verbs import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
