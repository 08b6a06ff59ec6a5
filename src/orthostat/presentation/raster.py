"""SVG to PNG: one function, with the fonts that come as wheels, so that every machine draws alike."""

from __future__ import annotations

from contextlib import ExitStack
from importlib.resources import as_file, files

FONT_PACKAGES = ("fontpkg_ibm_plex_sans", "fontpkg_ibm_plex_mono")
"""Wheels that carry the type faces (SIL Open Font Licence)."""
FACES = ("-Regular.ttf", "-SemiBold.ttf", "Sans[wdth,wght].ttf")
"""The upright faces used, by the end of their file names."""


def png(svg: str, *, zoom: float = 2.0) -> bytes:
    """The picture as PNG bytes; `zoom` is PNG pixels per picture unit.

    No font of the machine is used. Raises `ModuleNotFoundError` when the rasteriser is absent and
    `ValueError` for text that is not SVG.
    """
    import resvg_py

    with ExitStack() as stack:
        fonts = [
            str(stack.enter_context(as_file(file)))
            for package in FONT_PACKAGES
            for file in files(package).joinpath("files").iterdir()
            if file.name.endswith(FACES)
        ]
        return bytes(
            resvg_py.svg_to_bytes(
                svg_string=svg,
                zoom=zoom,
                skip_system_fonts=True,
                font_files=fonts,
                sans_serif_family="IBM Plex Sans",
                monospace_family="IBM Plex Mono",
            )
        )
