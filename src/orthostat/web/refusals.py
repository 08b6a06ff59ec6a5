"""What a request is refused with. Imported at the start, so it imports nothing."""

from __future__ import annotations


class BadRequest(Exception):
    """A request that the page itself would never send."""
