"""`python -m kitlore` is the `kitlore` command."""

import sys

from kitlore._cli import main

if __name__ == "__main__":
    sys.exit(main())
