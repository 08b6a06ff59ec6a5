"""Triangulations of plan sections: polygonal regions in, a conforming mesh out.

Between `model` and `analyses`; several analyses solve on the same kind of section. No I/O.
"""

from orthostat.meshing.section import MeshFault, Region, SectionMesh, mesh_section

__all__ = ["MeshFault", "Region", "SectionMesh", "mesh_section"]
