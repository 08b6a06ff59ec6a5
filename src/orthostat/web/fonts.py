"""The type faces out of their wheels, compressed once."""

from __future__ import annotations

import gzip
from functools import cache
from importlib.resources import files

FACES = {
    "sans.ttf": ("fontpkg_ibm_plex_sans", "IBMPlexSans[wdth,wght].ttf"),
    "mono.ttf": ("fontpkg_ibm_plex_mono", "IBMPlexMono-Regular.ttf"),
    "mono-bold.ttf": ("fontpkg_ibm_plex_mono", "IBMPlexMono-SemiBold.ttf"),
}
"""Name on the page to package and file (SIL Open Font Licence)."""


@cache
def face(name: str) -> bytes | None:
    """A face as gzip; `None` for a name that is none of ours or whose wheel is absent."""
    if name not in FACES:
        return None
    package, file = FACES[name]
    try:
        raw = files(package).joinpath("files").joinpath(file).read_bytes()
    except (ModuleNotFoundError, FileNotFoundError):
        return None
    return gzip.compress(raw, 9)
