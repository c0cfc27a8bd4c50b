"""`python -m kitlore` is the `kitlore` command."""

import sys

from kitlore._cli import main

sys.exit(main())
