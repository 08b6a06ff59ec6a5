"""The CAD kernel in a process of its own: reads a job on standard input, writes STEP and GLB.

Run as `python -m orthostat.book.kernel`. A fresh process gives the same bytes every time (entity
numbers run on within one), and a crash of the kernel takes nothing else down. Prints a line of JSON
after each shape it made, `[done, of]`, and last what it made: for every piece and body the volume
[mm³], centre [mm] and box [mm]. It ends by itself when nobody reads its lines any more.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

COLOURS = {
    "plate": (0.89, 0.65, 0.18),
    "solid": (0.89, 0.65, 0.18),
    "base plate": (0.81, 0.60, 0.20),
    "lid": (0.89, 0.65, 0.18),
    "cleat": (0.89, 0.65, 0.18),
    "fill": (0.62, 0.60, 0.56),
    "void former": (0.55, 0.62, 0.66),
}
PLAIN = (0.72, 0.70, 0.66)
NO_TIME = "1970-01-01T00:00:00"
"""Time stamp of every file: none, in the form that readers take."""


def solid(body: dict[str, Any]) -> Any:
    """The shape of a body: its adds fused, its cuts taken out, faces in one plane joined."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    adds = [_prism(p) for p in body["adds"]]
    shape = adds[0]
    if len(adds) > 1:
        shape = _boolean(BRepAlgoAPI_Fuse(), adds[:1], adds[1:])
    if body["cuts"]:
        shape = _boolean(BRepAlgoAPI_Cut(), [shape], [_prism(p) for p in body["cuts"]])
    if len(adds) > 1 or body["cuts"]:
        joined = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
        joined.Build()
        shape = joined.Shape()
    return shape


def _prism(data: dict[str, Any]) -> Any:
    from OCP.BRepBuilderAPI import (
        BRepBuilderAPI_MakeEdge,
        BRepBuilderAPI_MakeFace,
        BRepBuilderAPI_MakePolygon,
        BRepBuilderAPI_MakeWire,
    )
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec

    sweep = data["sweep"]
    if "radius" in data:
        axis = gp_Ax2(gp_Pnt(*data["points"][0]), gp_Dir(*sweep))
        wire = BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(axis, data["radius"])).Edge()).Wire()
    else:
        polygon = BRepBuilderAPI_MakePolygon()
        for point in _turning_with(data["points"], sweep):
            polygon.Add(gp_Pnt(*point))
        polygon.Close()
        wire = polygon.Wire()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire).Face(), gp_Vec(*sweep)).Shape()


def _turning_with(points: list[list[float]], sweep: list[float]) -> list[list[float]]:
    """Corners so that their turn is right-handed about the sweep."""
    total = [0.0, 0.0, 0.0]
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        total[0] += a[1] * b[2] - a[2] * b[1]
        total[1] += a[2] * b[0] - a[0] * b[2]
        total[2] += a[0] * b[1] - a[1] * b[0]
    return points if sum(t * s for t, s in zip(total, sweep, strict=True)) > 0.0 else points[::-1]


def _boolean(operation: Any, arguments: list[Any], tools: list[Any]) -> Any:
    from OCP.collections import List_TopoDS_Shape

    for setter, shapes in ((operation.SetArguments, arguments), (operation.SetTools, tools)):
        listed = List_TopoDS_Shape()
        for shape in shapes:
            listed.Append(shape)
        setter(listed)
    operation.Build()
    if not operation.IsDone():
        raise RuntimeError("the kernel could not join or cut a piece")
    return operation.Shape()


def measures(shape: Any) -> dict[str, Any]:
    """Volume [mm³], centre [mm] and box [mm] of a shape."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    centre = found.CentreOfMass()
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return {
        "volume": found.Mass(),
        "centre": [centre.X(), centre.Y(), centre.Z()],
        "box": [low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z()],
    }


def document(named: list[tuple[dict[str, Any], Any]], assembly: str | None) -> Any:
    """A kernel document holding shapes by name; under one assembly where `assembly` names it."""
    from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorSurf, XCAFDoc_DocumentTool

    made = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(made)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(made.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(made.Main())
    root = None
    if assembly is not None:
        root = shapes.NewShape()
        TDataStd_Name.Set_s(root, TCollection_ExtendedString(assembly, True))
    for body, shape in named:
        label = shapes.AddShape(shape, False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(body["name"], True))
        colours.SetColor(
            label, Quantity_Color(*COLOURS.get(body["role"], PLAIN), Quantity_TOC_sRGB), XCAFDoc_ColorSurf
        )
        if root is not None:
            component = shapes.AddComponent(root, label, TopLoc_Location())
            TDataStd_Name.Set_s(component, TCollection_ExtendedString(body["name"], True))
    shapes.UpdateAssemblies()
    return made


def write_step(made: Any, path: Path) -> None:
    """The document as STEP AP214, without a time in it.

    Names and places, no colours: the kernel writes styles in the order of addresses in memory.
    """
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_AsIs

    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer = STEPCAFControl_Writer()
    writer.SetNameMode(True)
    writer.SetColorMode(False)
    writer.Transfer(made, STEPControl_AsIs)
    if writer.Write(str(path)) != IFSelect_RetDone:
        raise RuntimeError(f"the kernel could not write {path.name}")
    text = path.read_text(encoding="utf-8", errors="surrogateescape")
    text = re.sub(r"(FILE_NAME\()'[^']*','[^']*'", rf"\1'{path.name}','{NO_TIME}'", text, count=1)
    path.write_text(text, encoding="utf-8", errors="surrogateescape", newline="\n")


def write_glb(made: Any, shapes: list[Any], path: Path) -> None:
    """The document as binary glTF in metres, y up."""
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.collections import IndexedDataMap_TCollection_AsciiString_TCollection_AsciiString
    from OCP.Message import Message_ProgressRange
    from OCP.RWGltf import RWGltf_CafWriter
    from OCP.RWMesh import RWMesh_CoordinateSystem_glTF
    from OCP.TCollection import TCollection_AsciiString

    for shape in shapes:
        BRepMesh_IncrementalMesh(shape, 0.1, False, 0.35, False)
    writer = RWGltf_CafWriter(TCollection_AsciiString(str(path)), True)
    convert = writer.ChangeCoordinateSystemConverter()
    convert.SetInputLengthUnit(0.001)
    convert.SetInputCoordinateSystem(RWMesh_CoordinateSystem_glTF)
    convert.SetOutputLengthUnit(1.0)
    convert.SetOutputCoordinateSystem(RWMesh_CoordinateSystem_glTF)
    facts = IndexedDataMap_TCollection_AsciiString_TCollection_AsciiString()
    if not writer.Perform(made, facts, Message_ProgressRange()):
        raise RuntimeError(f"the kernel could not write {path.name}")


def run(job: dict[str, Any], tell: Callable[[int, int], None]) -> dict[str, Any]:
    """Write every file of a job; what was made, by file and name. `tell` hears shapes done, of how many."""
    count = len(job["pieces"]) + len(job["assembly"]["bodies"]) + 1
    folder = Path(job["folder"])
    done: dict[str, Any] = {"pieces": {}, "bodies": {}}
    for piece in job["pieces"]:
        shape = solid(piece["body"])
        write_step(document([(piece["body"], shape)], None), folder / f"{piece['file']}.step")
        done["pieces"][piece["file"]] = measures(shape)
        tell(len(done["pieces"]), count)
    shapes = []
    for body in job["assembly"]["bodies"]:
        shape = solid(body)
        shapes.append((body, shape))
        done["bodies"][body["name"]] = measures(shape)
        tell(len(done["pieces"]) + len(shapes), count)
    whole = document(shapes, job["assembly"]["name"])
    write_step(whole, folder / "assembly.step")
    write_glb(whole, [shape for _, shape in shapes], folder / "assembly.glb")
    return done


def main() -> int:
    """Read a job, do it, print what came of it."""
    data = json.load(sys.stdin)
    # The kernel writes to standard output as it goes; what it says is not what we promise.
    import os

    kept = os.dup(1)
    os.dup2(2, 1)
    with os.fdopen(kept, "w", encoding="utf-8", newline="\n") as lines:

        def tell(*shapes: int) -> None:
            lines.write(json.dumps(shapes) + "\n")
            lines.flush()

        lines.write(json.dumps(run(data, tell)) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
