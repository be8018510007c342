"""`python -m pondheat`."""

import sys

from pondheat.cli import main

if __name__ == "__main__":
    sys.exit(main())
