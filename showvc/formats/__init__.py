"""Files to shows and back: show folder, single document, and every table the trade uses."""

from showvc.formats.sources import read

__all__ = ["read"]
