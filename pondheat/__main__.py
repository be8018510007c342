"""`python -m pondheat`."""

import sys

if __name__ == "__main__":
    try:
        from pondheat.cli import main  # takes a moment, in which Ctrl-C may come

        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
