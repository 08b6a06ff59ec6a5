"""Files read back by other programs: solids by the CAD kernel, drawings, spreadsheet and book."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import openpyxl
import pypdfium2
import pytest

import orthostat
from orthostat.base.progress import Progress
from orthostat.book import Written, dxf, pdf, write_all
from orthostat.book.exchange import piece_file, plain
from orthostat.book.typeset import Typesetter, preamble
from orthostat.evaluation import OpenColumn
from orthostat.presentation.blocks import Chapter, Column, Paragraph, Table
from orthostat.presentation.chapters import chapter_names, chapters_of

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BENCH = {"drawings", "assembly", "orders", "cost"}

READER = """
import sys, json
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_DocumentTool
from OCP.collections import Sequence_TDF_Label
from orthostat.book.kernel import measures
made = {}
for path in sys.argv[1:]:
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.ReadFile(path)
    reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    labels = Sequence_TDF_Label()
    tool.GetFreeShapes(labels)
    found = []
    for i in range(1, labels.Length() + 1):
        parts = Sequence_TDF_Label()
        if tool.IsAssembly_s(labels.Value(i)):
            tool.GetComponents_s(labels.Value(i), parts)
        listed = [parts.Value(k) for k in range(1, parts.Length() + 1)] or [labels.Value(i)]
        for label in listed:
            name = TDataStd_Name()
            label.FindAttribute(TDataStd_Name.GetID_s(), name)
            shape = tool.GetShape_s(label)
            explorer, solids = TopExp_Explorer(shape, TopAbs_SOLID), 0
            while explorer.More():
                solids += 1
                explorer.Next()
            found.append({"name": name.Get().ToExtString(), "solids": solids, **measures(shape)})
    made[path] = found
import os
print("\\n@@" + json.dumps(made))
"""


@dataclass
class Build:
    column: OpenColumn
    evaluation: Any
    written: Written
    told: list[tuple[str, float]]


@pytest.fixture(scope="module")
def tern(tmp_path_factory: pytest.TempPathFactory) -> Build:
    """The three-sided steel column with everything written."""
    folder = tmp_path_factory.mktemp("build")
    column = orthostat.open_shop(EXAMPLES / "copperfield").column("tern")
    evaluation = column.evaluate()
    told: list[tuple[str, float]] = []
    progress = Progress(lambda doing, share: told.append((doing, share)))
    written = write_all(evaluation, column.revision, column.system, folder, progress)
    return Build(column, evaluation, written, told)


def read_back(paths: list[Path]) -> dict[str, Any]:
    import json

    root = Path(__file__).resolve().parents[2] / "src"
    done = subprocess.run(
        [sys.executable, "-c", READER, *map(str, paths)],
        capture_output=True, encoding="utf-8", check=True, env={**os.environ, "PYTHONPATH": str(root)},
    )  # fmt: skip
    made: dict[str, Any] = json.loads(done.stdout.split("@@")[-1])
    return made


def test_nothing_was_left_out(tern: Build) -> None:
    assert tern.written.notes == []
    names = {path.name for path in tern.written.files}
    assert {
        "build-book.pdf",
        "assembly.step",
        "assembly.glb",
        "bill.csv",
        "bill.xlsx",
        "01-base-plate.dxf",
    } <= names
    assert all(path.stat().st_size > 0 for path in tern.written.files)


def test_solids_read_back_are_the_ones_we_weigh(tern: Build) -> None:
    """Volume and centre of every body to 1e-6, its box and its name, through the file."""
    folder = tern.written.folder
    (bodies,) = read_back([folder / "assembly.step"]).values()
    by_name = {body["name"]: body for body in bodies}
    pieces = {piece.body.name: piece for piece in tern.evaluation.solids.own}
    assert set(by_name) == set(pieces)
    for name, piece in pieces.items():
        body = by_name[name]
        assert body["volume"] * 1e-9 == pytest.approx(piece.volume, rel=1e-6), name
        assert body["solids"] == 1, name
        box = piece.extents
        wanted = [1e3 * v for v in (box.x_low, box.y_low, box.z_low, box.x_high, box.y_high, box.z_high)]
        assert body["box"] == pytest.approx(wanted, abs=2e-3), name  # a round's box is a little generous
        if piece.moments is not None:
            centre = [1e3 * c for c in piece.moments.centre]
            assert body["centre"] == pytest.approx(centre, abs=1e-4), name


def test_the_file_of_a_piece_stands_on_its_datum(tern: Build) -> None:
    for part in tern.evaluation.pieces.drawn:
        (bodies,) = read_back([tern.written.folder / f"{piece_file(part)}.step"]).values()
        view = part.views[0]
        low, high = bodies[0]["box"][:3], bodies[0]["box"][3:]
        assert low[0] == pytest.approx(0.0, abs=1e-4)
        assert low[1] == pytest.approx(0.0, abs=1e-4)
        assert high[0] - low[0] == pytest.approx(1e3 * view.width, abs=1e-3)
        assert high[2] == pytest.approx(0.0, abs=1e-4)


def _plainly(entities: Any) -> list[Any]:
    """Entities without their library's types, which do not say what each kind has."""
    return list(entities)


def test_a_fresh_process_writes_the_same_solids(tern: Build, tmp_path: Path) -> None:
    from orthostat.book import step

    step.write(tern.evaluation, tmp_path)
    for path in sorted(tmp_path.iterdir()):
        assert path.read_bytes() == (tern.written.folder / path.name).read_bytes(), path.name


def test_the_glb_is_whole(tern: Build) -> None:
    data = (tern.written.folder / "assembly.glb").read_bytes()
    assert data[:4] == b"glTF"
    assert int.from_bytes(data[8:12], "little") == len(data)


def test_the_glb_holds_the_bodies_we_weigh(tern: Build) -> None:
    """Another library's meshes are closed, stand where the bodies stand and hold their volumes.

    The kernel keeps triangles within 0.1 mm of the surface, so a volume may be off by the surface times that.
    """
    import trimesh

    deflection = 1e-4
    scene: Any = trimesh.load_scene(tern.written.folder / "assembly.glb")
    faces: dict[str, list[Any]] = {}
    for node in scene.graph.nodes_geometry:
        turn, geometry = scene.graph[node]
        mesh = scene.geometry[geometry].copy()
        mesh.apply_transform(turn)
        faces.setdefault(re.sub(r"_[0-9a-f]{6}$", "", node), []).append(mesh)
    pieces = {piece.body.name: piece for piece in tern.evaluation.solids.own}
    assert set(faces) == set(pieces)
    for name, piece in pieces.items():
        whole: Any = trimesh.util.concatenate(faces[name])
        whole.merge_vertices(digits_vertex=7)
        assert whole.is_watertight, name
        assert whole.volume == pytest.approx(piece.volume, abs=deflection * whole.area), name
        box = piece.extents
        low, high = (box.x_low, box.y_low, box.z_low), (box.x_high, box.y_high, box.z_high)
        assert whole.bounds[0] == pytest.approx(low, abs=deflection), name
        assert whole.bounds[1] == pytest.approx(high, abs=deflection), name


@pytest.mark.parametrize(
    ("shop", "name"), [("saltmarsh", "harbour"), ("saltmarsh", "groyne"), ("copperfield", "tern")]
)
def test_drawings_read_back(shop: str, name: str, tmp_path: Path) -> None:
    """Audit clean, outline closed, circles where the hole table says, every dimension's text its length."""
    column = orthostat.open_shop(EXAMPLES / shop).column(name)
    unit = 0.0254 if column.system == "inch" else 1e-3
    for part in column.evaluate().pieces.drawn:
        paths = dxf.write(part, column.system, tmp_path)
        shown = [i for i, holes in enumerate(part.features) if holes or i == 0]
        assert len(paths) == len(shown)
        for path, index in zip(paths, shown, strict=True):
            drawing = ezdxf.filemanagement.readfile(path)
            assert not drawing.audit().has_errors
            assert drawing.header["$INSUNITS"] == (1 if column.system == "inch" else 4)
            space = drawing.modelspace()
            outlines = list(space.query('LWPOLYLINE[layer=="outline"]'))
            assert len(outlines) == 1
            assert outlines[0].closed
            view = part.views[index]
            circles = {
                (
                    round(c.dxf.center.x * unit, 6),
                    round(c.dxf.center.y * unit, 6),
                    round(2 * c.dxf.radius * unit, 6),
                )
                for c in space.query('CIRCLE[layer=="holes"]')
            }
            wanted = {
                (round(h.at[0], 6), round(h.at[1], 6), round(h.diameter, 6))
                for h in part.features[index]
                if h.diameter is not None and not h.hidden
            }
            assert circles == wanted
            recesses = {
                round(2.0 * c.dxf.radius * unit, 6) for c in space.query('CIRCLE[layer=="counterbores"]')
            }
            assert recesses == {
                round(h.purpose.recess, 6) for h in part.features[index] if h.purpose.recess is not None
            }
            right = max(p[0] for p in view.outline[0])
            for label in _plainly(space.query('TEXT[layer=="labels"]')):
                wide = 0.9 * label.dxf.height * len(label.dxf.text) * unit
                assert label.dxf.insert.x * unit + wide < right + 1e-9, label.dxf.text
            # A dash of the hidden lines is a hundredth of the piece or more.
            assert 0.5 * drawing.header["$LTSCALE"] * unit > 0.01 * max(view.width, view.height)
            texts = []
            for dimension in _plainly(space.query("DIMENSION")):
                block = drawing.blocks.get(dimension.dxf.geometry)
                (text,) = (entity for entity in _plainly(block) if entity.dxftype() == "MTEXT")
                shown_length = float(re.sub(r"\\[A-Za-z][^;]*;|[{}]", "", text.text))
                assert shown_length == pytest.approx(dimension.get_measurement(), abs=5e-4)
                texts.append(shown_length * unit)
            assert sorted(texts) == pytest.approx(sorted((view.width, view.height)), abs=1e-5)
        for path in paths:
            path.unlink()


def test_drawings_are_the_same_bytes_again(tern: Build) -> None:
    part = tern.evaluation.pieces.drawn[0]
    first = dxf.text(part.views[0], part.features[0], "inch")
    assert dxf.text(part.views[0], part.features[0], "inch") == first


def test_drawings_are_the_same_bytes_in_every_process(tmp_path: Path) -> None:
    code = (
        "import sys, orthostat; from pathlib import Path; from orthostat.book import dxf;"
        f"column = orthostat.open_shop({str(EXAMPLES / 'copperfield')!r}).column('tern');"
        "dxf.write(column.evaluate().pieces.drawn[0], column.system, Path(sys.argv[1]))"
    )
    made = []
    for seed in ("1", "2", "4"):  # what stands in a set comes out in another order each time
        folder = tmp_path / seed
        folder.mkdir()
        subprocess.run(
            [sys.executable, "-c", code, str(folder)],
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(EXAMPLES.parent / "src")},
        )
        made.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert made[0]
    assert made[0] == made[1] == made[2]


def test_hole_tables_say_what_the_drawing_says(tern: Build) -> None:
    part = next(p for p in tern.evaluation.pieces.drawn if p.count == 3)
    path = tern.written.folder / f"{piece_file(part)}-from-outside-holes.csv"
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    assert len(rows) == len(part.features[0]) == 6
    for row, hole in zip(rows, part.features[0], strict=True):
        assert float(row["x [in]"]) * 0.0254 == pytest.approx(hole.at[0], abs=1e-7)
        assert float(row["y [in]"]) * 0.0254 == pytest.approx(hole.at[1], abs=1e-7)


def test_the_spreadsheet_multiplies_and_sums(tern: Build) -> None:
    """Every cost cell is a live formula whose stored value is quantity × price × rate; the total sums them."""
    path = tern.written.folder / "bill.xlsx"
    formulas = openpyxl.load_workbook(path)["Orders"]
    values = openpyxl.load_workbook(path, data_only=True)["Orders"]
    total = 0.0
    rows = formulas.max_row
    for row in range(2, rows):
        assert str(formulas.cell(row, 8).value).startswith("=")
        product = values.cell(row, 3).value * values.cell(row, 5).value * values.cell(row, 7).value
        assert values.cell(row, 8).value == pytest.approx(product)
        total += product
    assert formulas.cell(rows, 8).value == f"=SUM(H2:H{rows - 1})"
    assert values.cell(rows, 8).value == pytest.approx(total)


def test_the_spreadsheet_is_the_same_bytes_again(tern: Build, tmp_path: Path) -> None:
    from orthostat.book import sheets

    sheets.write_spreadsheet(tern.evaluation, "inch", tmp_path / "bill.xlsx")
    assert (tmp_path / "bill.xlsx").read_bytes() == (tern.written.folder / "bill.xlsx").read_bytes()


def pages(path: Path) -> list[Any]:
    return list(pypdfium2.PdfDocument(path))


def test_the_book_shows_every_piece_and_no_text_runs_off(tern: Build) -> None:
    book = pages(tern.written.folder / "build-book.pdf")
    assert book[0].get_size() == pytest.approx((612.0, 792.0), abs=1.0)  # letter, as the shop works in inches
    whole = ""
    for page in book:
        width, height = page.get_size()
        text = page.get_textpage()
        whole += text.get_text_range() + "\n"
        for index in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(index)
            assert left >= 0.0
            assert bottom >= 0.0
            assert right <= width - 20.0, text.get_text_bounded(left, bottom, right, top)
            assert top <= height
    for part in tern.evaluation.pieces.drawn:
        count = "" if part.count == 1 else f", {part.count} alike"
        assert len(re.findall(re.escape(f"{part.number}. {part.name}{count}") + r"\s*\n", whole)) >= 1
    for chapter in ("Drawings of the pieces", "Putting it together", "Cut list and orders", "Sources"):
        assert chapter in whole


def test_no_words_lie_over_one_another(tern: Build) -> None:
    """Boxes of characters on a page: none covers another's middle."""
    for number, page in enumerate(pages(tern.written.folder / "build-book.pdf"), 1):
        text = page.get_textpage()
        boxes = [(text.get_charbox(i), text.get_text_range(i, 1)) for i in range(text.count_chars())]
        cells: dict[tuple[int, int], str] = {}
        for (left, bottom, right, top), letter in boxes:
            if right - left < 0.5 or top - bottom < 0.5 or not letter.strip():
                continue
            key = (round(left + right), round(bottom + top))  # half a point
            assert key not in cells, f"page {number}: {letter!r} lies on {cells[key]!r}"
            cells[key] = letter


def test_every_step_of_the_writing_is_told(tern: Build) -> None:
    shares = [share for _, share in tern.told]
    assert shares == sorted(shares)
    words = [doing for doing, _ in tern.told]
    drawn = [each for each in words if each.startswith("drawing ")]
    assert len(drawn) == len(tern.evaluation.pieces.drawn)
    shapes = [each for each in words if "shape " in each]
    whole = int(shapes[-1].rsplit(" ", 1)[1])
    assert len(shapes) == whole - 1  # the last is the assembly, which ends the kernel's work
    chapters = [each for each in words if "chapter " in each]
    assert len(chapters) == len(chapter_names())
    assert words[-1].endswith("typesetting")


def test_the_paper_is_asked_for_or_follows_the_units(tern: Build) -> None:
    book = pypdfium2.PdfDocument(tern.written.folder / "build-book.pdf")
    assert book[0].get_size() == pytest.approx((612.0, 792.0))  # letter [pt]
    other = pdf.book(tern.evaluation, tern.column.revision, tern.column.system, paper="a4").data
    assert pypdfium2.PdfDocument(other)[0].get_size() == pytest.approx((595.28, 841.89), abs=0.01)


def test_fonts_are_in_the_book_and_the_same_design_gives_the_same_bytes(tern: Build) -> None:
    first = (tern.written.folder / "build-book.pdf").read_bytes()
    assert pdf.book(tern.evaluation, tern.column.revision, tern.column.system).data == first
    assert b"IBMPlexSans" in first
    assert b"/CreationDate" not in first


def short_book(*chapters: Chapter) -> str:
    made = Typesetter("metric")
    made.raw(preamble("name", "revision", "a4"))
    for chapter in chapters:
        made.chapter(chapter)
    data = pdf.compiled(made)
    return "\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data))


@pytest.mark.parametrize(
    "name",
    [
        '#let x = "quoted" \\ $ @ <b> *bold* _x_ [a](b)',
        "Zażółć gęślą jaźń",
        "Straße № 5",
        "x" * 400,
        "a\nb\tc\x00d",
    ],
)
def test_any_name_is_set_as_it_is(name: str) -> None:
    table = Table(name, (Column("what"), Column("n", numeric=True)), ((name, "1"),), name)
    said = short_book(Chapter("c", name, (Paragraph(name), table)))
    shown = re.sub(r"\s|\u200b|\ufffe|\x02|-", "", said)
    wanted = re.sub(r"\s|\x00|-", "", name)
    assert wanted[:40] in shown


@pytest.mark.parametrize(
    ("name", "lacking"),
    [("港の柱 M8", "港の柱"), ("Стойка Πύργος Łódź ½ µ № Ø", ""), ("عمود", "عمود"), ("ㅤẞßə", "ㅤ")],
)
def test_letters_that_the_fonts_lack_are_told(name: str, lacking: str) -> None:
    made = Typesetter("metric")
    made.raw(preamble(name, "revision", "a4"))
    made.chapter(Chapter("c", name, (Paragraph(name),)))
    assert pdf.foreign_letters(made) == lacking
    assert pdf.compiled(made).startswith(b"%PDF")


def test_two_hundred_holes_make_a_clean_book(tmp_path: Path) -> None:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(
        (EXAMPLES / "copperfield" / "shop.toml").read_text("utf-8"), encoding="utf-8"
    )
    text = (EXAMPLES / "copperfield" / "columns" / "tern.toml").read_text("utf-8")
    text = text.replace(
        "grid = { across = 2, up = 3, pitch = [3, 4], middle = [0, 10] }",
        'grid = { across = 10, up = 20, pitch = ["3/4", "3/4"], middle = [0, 9] }',
    )
    (tmp_path / "columns" / "full.toml").write_text(text.split("[[stations]]")[0], encoding="utf-8")
    column = orthostat.open_shop(tmp_path).column("full")
    evaluation = column.evaluate()
    said = short_book(*(c for c in chapters_of(evaluation, column.system) if c.slug in BENCH))
    assert "A200" in said
    assert "no stations" not in said


def test_file_names_travel() -> None:
    assert plain("Ärmel 3/4 × 2: links") == "rmel-3-4-2-links"
    assert plain("柱") == "piece"
    assert len(plain("x" * 300)) == 48
