"""The `kitlore` command, the same as the one without Python."""

from __future__ import annotations

import os
import shutil
import signal
import sys

from kitlore._native import command


def main() -> int:
    """Runs the command with the arguments of the process; gives the exit code."""
    # A long run ends at once on Ctrl-C, as commands do.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    colour = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    width = shutil.get_terminal_size((100, 24)).columns
    sys.stdout.flush()
    return command(
        ["kitlore", *sys.argv[1:]],
        width,
        colour and sys.stdout.isatty(),
        colour and sys.stderr.isatty(),
    )


if __name__ == "__main__":
    sys.exit(main())
