"""The build book and the files that go with it: an evaluation in, a folder of files out.

PDF, STEP, GLB, DXF, CSV and XLSX, each made from the model and the chapters; a leaf knows no finding
by name. The same design gives the same bytes.
"""

from orthostat.book.writing import Written, write_all

__all__ = ["Written", "write_all"]
