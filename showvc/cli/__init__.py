"""The command line: one module for a family of commands, and no logic."""

from __future__ import annotations

import sys

__all__ = ["main"]


def main() -> None:
    """The program `showvc`. Nothing that takes time is imported before it can be stopped from the keyboard."""
    try:
        if sys.argv[1:] == ["--version"]:
            import showvc

            print(f"showvc {showvc.__version__}")
            return
        from showvc.cli import speech

        speech.stop_at_once()
        speech.prepare()
        from showvc.cli import app

        app.main()
    except KeyboardInterrupt:
        from showvc.cli.speech import stopped

        sys.exit(stopped())
