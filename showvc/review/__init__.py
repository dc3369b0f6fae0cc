"""The review page: the show on a page of this machine alone, where an open merge is settled with both sides drawn."""
