"""`python -m listkit` is `listkit`."""

import sys

from listkit.cli import main

if __name__ == "__main__":
    sys.exit(main())
