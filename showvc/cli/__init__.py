"""The command line: one module for a family of commands, and no logic."""

from showvc.cli.app import main

__all__ = ["main"]
