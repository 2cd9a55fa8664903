"""Forms of data made known to the decoder while one thread is alone with it.

msgspec looks a form over when it first decodes into it, and two threads doing that at the same moment crash the whole
process (seen with 0.22: four starts of twelve that were made to meet). A module is imported by one thread only, so
whoever decodes where several threads run calls `ready` at import.
"""

from __future__ import annotations

import msgspec


def ready(*shapes: type) -> None:
    """Have these forms, and all they hold, looked over now."""
    for shape in shapes:
        msgspec.json.Decoder(shape)
