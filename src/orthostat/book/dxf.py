"""DXF of each drawn piece at full size: outline closed, holes as circles, layers in plain words."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from orthostat.analyses.pieces import Feature, FeatureKind, Part, View
from orthostat.base.showing import System
from orthostat.base.units import resolve
from orthostat.book.exchange import piece_file, plain
from orthostat.presentation.lengths import DECIMALS, UNIT

LAYERS = {
    "outline": 7,
    "openings": 7,
    "hidden edges": 8,
    "visible edges": 7,
    "holes": 5,
    "threads": 5,
    "counterbores": 5,
    "pockets": 5,
    "far side": 8,
    "labels": 3,
    "dimensions": 4,
    "datum": 1,
}
"""Layer and colour index."""
INSUNITS = {"metric": 4, "inch": 1}


def write(part: Part, system: System, folder: Path) -> list[Path]:
    """One file for each view that has holes, and for the first view in any case."""
    written = []
    for index, (view, features) in enumerate(zip(part.views, part.features, strict=True)):
        if index and not features:
            continue
        name = piece_file(part) if index == 0 else f"{piece_file(part)}-{plain(view.name)}"
        path = folder / f"{name}.dxf"
        path.write_text(text(view, features, system), encoding="utf-8", newline="\n")
        written.append(path)
    return written


def text(view: View, features: tuple[Feature, ...], system: System) -> str:
    """The DXF of one view."""
    import ezdxf.filemanagement
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # the same bytes for the same design
    try:
        made = ezdxf.filemanagement.new("R2010", setup=["linetypes", "styles"], units=INSUNITS[system])
        _draw(made, view, features, system)
        # The library takes its classes out of a set, whose order is another in every process.
        made.classes.add_required_classes(made.dxfversion)
        made.classes.classes = dict(sorted(made.classes.classes.items()))
        stream = io.StringIO()
        made.write(stream)
        return stream.getvalue()
    finally:
        options.write_fixed_meta_data_for_testing = before


def _draw(made: Any, view: View, features: tuple[Feature, ...], system: System) -> None:
    made.header["$MEASUREMENT"] = 1 if system == "metric" else 0
    for name, colour in LAYERS.items():
        made.layers.add(
            name, color=colour, linetype="DASHED" if name in ("hidden edges", "far side") else "CONTINUOUS"
        )
    space = made.modelspace()
    size = 1.0 / resolve(UNIT[system]).factor
    for index, ring in enumerate(view.outline):
        space.add_lwpolyline(
            _scaled(ring, size), close=True, dxfattribs={"layer": "openings" if index else "outline"}
        )
    for edge in view.edges:
        layer = "hidden edges" if edge.hidden else "visible edges"
        space.add_lwpolyline(_scaled(edge.points, size), dxfattribs={"layer": layer})
    tall = (0.022 if view.width > 0.15 else 0.03) * max(view.width, view.height) * size
    made.header["$LTSCALE"] = tall  # dashes that can be told from a line at the size of the piece
    right = max(p[0] for p in view.outline[0]) * size
    for feature in features:
        _hole(space, feature, size, tall, right)
    _dimensions(made, space, view, size, tall, system)
    _datum(space, tall)


def _scaled(points: Any, size: float) -> list[tuple[float, float]]:
    return [(x * size, y * size) for x, y in points]


def _hole(space: Any, feature: Feature, size: float, tall: float, right: float) -> None:
    x, y = feature.at[0] * size, feature.at[1] * size
    if feature.diameter is None:
        space.add_lwpolyline(_scaled(feature.outline, size), close=True, dxfattribs={"layer": "pockets"})
    else:
        layer = "far side" if feature.hidden else "holes"
        space.add_circle((x, y), 0.5 * feature.diameter * size, dxfattribs={"layer": layer})
        if feature.purpose.recess is not None:
            space.add_circle(
                (x, y), 0.5 * feature.purpose.recess * size, dxfattribs={"layer": "counterbores"}
            )
        if feature.kind is FeatureKind.TAPPED and feature.purpose.thread:
            from orthostat import catalogue

            outer = 0.5 * catalogue.thread(feature.purpose.thread).nominal * size
            space.add_arc((x, y), outer, 100.0, 350.0, dxfattribs={"layer": "threads"})
    reach = 0.5 * feature.widest * size
    high = 0.6 * tall
    wide = high * len(feature.label)
    beside = reach + 0.2 * tall
    # A label that would run over the edge stands on the other side of its hole.
    left = x + beside if x + beside + wide < right else x - beside - wide
    space.add_text(
        feature.label, height=high, dxfattribs={"layer": "labels", "insert": (left, y + 0.2 * tall)}
    )


def _dimensions(made: Any, space: Any, view: View, size: float, tall: float, system: System) -> None:
    """Overall width and height; the dimension style shows real lengths (linear factor 1)."""
    style = made.dimstyles.new("orthostat")
    style.dxf.dimlfac = 1.0
    style.dxf.dimtxt = 0.8 * tall
    style.dxf.dimasz = 0.7 * tall
    style.dxf.dimexe = 0.4 * tall
    style.dxf.dimexo = 0.4 * tall
    style.dxf.dimgap = 0.3 * tall
    style.dxf.dimdec = DECIMALS[system]
    style.dxf.dimzin = 8  # no trailing zeros
    style.dxf.dimtad = 1
    style.dxf.dimscale = 1.0
    style.dxf.dimdsep = ord(".")
    ring = _scaled(view.outline[0], size)
    left, right = min(p[0] for p in ring), max(p[0] for p in ring)
    low, high = min(p[1] for p in ring), max(p[1] for p in ring)
    layer = {"layer": "dimensions"}
    space.add_linear_dim(
        base=(left, low - 3.5 * tall), p1=(left, low), p2=(right, low), dimstyle="orthostat", dxfattribs=layer
    ).render()
    space.add_linear_dim(
        base=(left - 3.5 * tall, low),
        p1=(left, low),
        p2=(left, high),
        angle=90,
        dimstyle="orthostat",
        dxfattribs=layer,
    ).render()


def _datum(space: Any, tall: float) -> None:
    layer = {"layer": "datum"}
    space.add_circle((0.0, 0.0), 0.5 * tall, dxfattribs=layer)
    space.add_line((0.0, 0.0), (2.0 * tall, 0.0), dxfattribs=layer)
    space.add_line((0.0, 0.0), (0.0, 2.0 * tall), dxfattribs=layer)
    space.add_text(
        "datum", height=0.6 * tall, dxfattribs={"layer": "datum", "insert": (0.6 * tall, -1.2 * tall)}
    )
