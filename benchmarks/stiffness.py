"""What stiffness costs: quick answers, the study model, and the full model beside CalculiX on the same mesh.

`python -m benchmarks.stiffness` takes some minutes; `--large` adds the mesh of 150,000 unknowns, `--quick`
leaves CalculiX out.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

# Small dense work is many times slower where two pools of threads fight for the same cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np
import scipy.sparse as sp

import bars
import calculix
import columns
from benchmarks.study_errors import FAMILIES as INVENTED
from benchmarks.study_errors import MILLING
from benchmarks.study_errors import drawn as invented
from orthostat.analyses.stiffness import CutForce, JointSprings
from orthostat.analyses.stiffness.assembly import mass_matrix, stiffness_matrix
from orthostat.analyses.stiffness.build import Elastic, Part, elastic, layered, levels_of, rings_of
from orthostat.analyses.stiffness.column_inputs import body_inputs, body_turn, place_of
from orthostat.analyses.stiffness.factor import factorised
from orthostat.analyses.stiffness.inputs import FULL, BodyInputs
from orthostat.analyses.stiffness.lobes import limits
from orthostat.analyses.stiffness.modes import lowest_modes
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.section import mesh_section
from orthostat.analyses.stiffness.study import Ranges, StudyDesign, StudyModel, answer, learn, learn_among
from orthostat.analyses.stiffness.study.design import body_of
from orthostat.analyses.stiffness.study.drawing import drawn
from orthostat.analyses.stiffness.study.learning import LEARNT
from orthostat.analyses.stiffness.sweep import Swept, sweep
from orthostat.base.dimensions import Metre, PascalPerMetre, Ratio
from orthostat.document.editing import Edit
from orthostat.document.folder import TextFolder
from orthostat.evaluation import OpenShop
from orthostat.model.bodies import Role

WANTED = {
    "quick_seconds": 0.2,
    "study_seconds": 0.005,
    "full_ratio": 6.0,
    "large_ratio": 8.0,
    "factor_share": 0.6,
}
SIZES = {"full": 0.0211, "large": 0.0141}
"""Edges of the mesh [m] that give about 45,000 and 150,000 unknowns."""


def demo() -> BodyInputs:
    """The filled test column on its joint, one load at each station and one milling cut."""
    column = columns.square_filled()
    turn = body_turn(column)
    places = [place_of(column, station, turn, loaded=True) for station in column.stations]
    cuts = tuple(
        CutForce("skim", "skim", k, place.point(0.0, 0.3, 0.06), place.across, place.out, 600.0, 300.0)
        for k, place in enumerate(places)
    )
    joint = JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.4e11), loss_factor=Ratio(0.03))
    return body_inputs(column, joint=joint, cuts=cuts, millings=(MILLING,))


def filled_square() -> list[Part]:
    """The body of the comparison: plates around a fill, clamped."""
    outer, inner = bars.rectangle(0.3, 0.3), bars.rectangle(0.25, 0.25)
    aluminium = bars.material(70e9, 0.33, 2700.0, "aluminium")
    fill = bars.material(28e9, 0.25, 2300.0, "fill")
    return [
        bars.prism(outer, 0.5, aluminium, hole=inner, name="plates", role=Role.PLATE),
        bars.prism(inner, 0.5, fill, name="fill", role=Role.FILL),
    ]


def meshed(size: float, *, clamped: bool) -> tuple[Swept, Elastic]:
    """Numbering and properties at one mesh size."""
    parts = filled_square()
    mesh = mesh_section(rings_of(parts), size=Metre(size), gap=Metre(1e-4 * size))
    layers = layered(parts, mesh, levels_of(parts, Metre(1e-6)))
    return sweep(mesh, layers, size=2.0 * size, clamped=clamped), elastic(parts, layers)


def ours(size: float) -> tuple[np.ndarray[Any, Any], int, float]:
    """Ten frequencies and one static solution; unknowns; seconds of the factorisation alone."""
    swept, properties = meshed(size, clamped=True)
    stiffness = stiffness_matrix(swept, properties)
    mass = sp.csr_array(sp.kron(mass_matrix(swept, properties.density), sp.eye_array(3)))
    start = time.perf_counter()
    factor = factorised(stiffness)
    seconds = time.perf_counter() - start
    factor.solve(mass @ np.ones(swept.unknowns))
    pairs = lowest_modes(stiffness, mass, factor, 10, verify=False)
    return np.sqrt(pairs.squares) / (2.0 * np.pi), swept.unknowns, seconds


def theirs(size: float, folder: Path) -> tuple[np.ndarray[Any, Any], float]:
    """The same by CalculiX on all cores, and its seconds; writing its input is not counted."""
    swept, properties = meshed(size, clamped=False)
    threads = os.cpu_count() or 1
    deck = calculix.deck(swept, properties, modes=10, static=True)
    found, seconds = timed(lambda: calculix.run(deck, folder, threads=threads))
    return found.frequencies, seconds


def timed(work: Callable[[], Any]) -> tuple[Any, float]:
    """What the work gives, and its seconds."""
    start = time.perf_counter()
    made = work()
    return made, time.perf_counter() - start


def beside_calculix(name: str) -> dict[str, float]:
    """Times, their ratio, the largest difference of a frequency and the memory of each process [GB].

    Ours is run before and after CalculiX, which takes long enough for the machine's load to change; the ratio
    of processor times hangs less on what else runs.
    """
    size = SIZES[name]
    began = time.process_time()
    (frequencies, unknowns, factor), before = timed(lambda: ours(size))
    processor = time.process_time() - began
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    with tempfile.TemporaryDirectory() as folder:
        already = _of_children()
        reference, theirs_seconds = theirs(size, Path(folder))
        theirs_processor = _of_children() - already
    other = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6
    seconds = 0.5 * (before + timed(lambda: ours(size))[1])
    return {
        "unknowns": unknowns,
        "seconds": seconds,
        "factorisation_seconds": factor,
        "calculix_seconds": theirs_seconds,
        "ratio": theirs_seconds / seconds,
        "ratio_of_processor_times": theirs_processor / processor,
        "largest_difference": float(np.abs(frequencies[:10] / reference[:10] - 1.0).max()),
        "memory_gb": own,
        "calculix_memory_gb": other,
    }


def _of_children() -> float:
    """Processor time of the processes that were waited for [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def factor_share(name: str) -> dict[str, float]:
    """Rate of the factorisation over the rate of a matrix product, both on the same number of cores, in
    double and in single precision, which large matrices are factorised in.
    """
    import rslab

    cores = int(os.environ.get("OMP_NUM_THREADS", os.cpu_count() or 1))
    swept, properties = meshed(SIZES[name], clamped=True)
    matrix = sp.csc_matrix(stiffness_matrix(swept, properties))
    order = rslab.analyze(matrix, path="ldlt", ordering="metis", threads=cores)
    made: dict[str, float] = {"unknowns": swept.unknowns, "cores": cores}
    for kind in ("float64", "float32"):
        data = matrix.data.astype(kind)
        found = max(order.factor(data).diagnostics()["rates"]["factor_gflops"] for _ in range(2))
        a = np.random.default_rng(1).standard_normal((2000, 2000)).astype(kind)
        rate = 2.0 * 2000**3 / min(timed(partial(np.matmul, a, a))[1] for _ in range(5)) / 1e9
        made |= {
            f"factor_gflops_{kind}": found,
            f"product_gflops_{kind}": rate,
            f"share_{kind}": found / rate,
        }
    return made


def quick(repeats: int = 9) -> dict[str, float]:
    """Movement, ten modes and limit depth of the demo column, warm, against a dense eigenproblem."""
    inputs = demo()
    solve_body(inputs)
    dense = np.random.default_rng(1).standard_normal((400, 400))
    dense = dense + dense.T
    own, reference = [], []
    for k in range(1, repeats + 1):
        other = _on_another_joint(inputs, k)
        own.append(timed(partial(solve_body, other))[1])
        reference.append(timed(lambda: np.linalg.eigh(dense))[1])
    recut = replace(inputs, cuts=tuple(replace(cut, in_plane=700.0) for cut in inputs.cuts))
    return {
        "unknowns": solve_body(inputs).unknowns,
        "seconds": statistics.median(own),
        "seconds_when_only_cuts_change": timed(lambda: solve_body(recut))[1],
        "eigenproblem_of_400_seconds": statistics.median(reference),
        "ratio": statistics.median(own) / statistics.median(reference),
    }


def keys(repeats: int = 5) -> dict[str, dict[str, float]]:
    """Processor time [s] of every question of stiffness by the quick model after an edit of the height, for
    the columns of the example shops: what the page asks at a key, without loads and hold-down. Beside it,
    what the body's answers take where the mesh is known.
    """
    return {path.stem: _key(path, repeats) for path in sorted(Path("examples").glob("*/columns/*.toml"))}


def _key(path: Path, repeats: int) -> dict[str, float]:
    folder = path.parent.parent
    shop = OpenShop(TextFolder(folder, (folder / "shop.toml").read_text(encoding="utf-8"), ()))
    text = path.read_text(encoding="utf-8")
    height = float(tomllib.loads(text)["height"])
    seconds = []
    for k in range(repeats + 1):
        edits = (Edit("set", ("height",), height * (1.0 + 0.0005 * k)),)
        evaluation = shop.column_as(path.stem, shop.folder.column_of(path.stem, text, edits)).evaluate()
        body = evaluation.stiffness.inputs.body
        began = time.process_time()
        evaluation.findings(only="stiffness", screened=True)
        seconds.append(time.process_time() - began)
    body = replace(body, sliding=evaluation.stiffness.governing_quick.inputs.sliding)
    same_mesh = [processor(partial(solve_body, _on_another_joint(body, k))) for k in range(1, repeats + 1)]
    return {
        "unknowns": evaluation.stiffness.governing_quick.unknowns,
        "seconds": statistics.median(seconds[1:]),
        "seconds_same_mesh": statistics.median(same_mesh),
    }


def _on_another_joint(body: BodyInputs, number: int) -> BodyInputs:
    """The body with another contact stiffness, so that neither its answers nor its factors are known."""
    joint = body.joint
    if joint is None:
        raise ValueError(f"{body.name} stands on no joint")
    return replace(body, joint=replace(joint, normal=PascalPerMetre(joint.normal * (1.0 + 1e-4 * number))))


FAMILIES = {
    "four_sides_full": (4, ("solid", "filled", "cored"), (True, False)),
    "four_sides_hollow": (4, ("hollow",), (True,)),
    "six_sides_full": (6, ("solid", "filled", "cored"), (True, False)),
}


def study(columns_learnt: int, columns_tried: int = 20) -> dict[str, dict[str, float]]:
    """Each family learnt, then columns not seen: time a design, the quick and full model in the same run, and
    the first frequency over theirs.
    """
    return {
        name: _family(Ranges(sides, kinds, bases=bases), columns_learnt, columns_tried)
        for name, (sides, kinds, bases) in FAMILIES.items()
    }


def _family(ranges: Ranges, learnt: int, tried: int) -> dict[str, float]:
    """Processor time of everything that a study asks of a design: movement, ten modes, limit depth; fresh, as
    no two sections are alike, and in a sweep over eight heights of each.
    """
    model, training = timed(lambda: learn(ranges, columns=learnt, tried=tried))
    generator = np.random.default_rng(5)
    designs = [drawn(ranges, generator) for _ in range(tried)]
    for design in designs[:3]:
        _asked(model, design)
    fresh = [processor(partial(_asked, model, drawn(ranges, generator))) for _ in range(60)]
    heights = [
        processor(partial(_asked, model, replace(design, height=Metre(design.height * (1.0 + 0.002 * k)))))
        for design in designs
        for k in range(9)
        if k and not ranges.outside(replace(design, height=Metre(design.height * 1.02)))
    ]
    python = statistics.median(processor(squares) for _ in range(20))
    chosen = designs[: min(5, tried)]
    quick = [timed(partial(solve_body, body_of(design))) for design in chosen]
    full = [timed(partial(solve_body, replace(body_of(design), fineness=FULL))) for design in chosen]
    answers = [timed(partial(answer, model, design)) for design in chosen for _ in range(3)]
    seconds = statistics.median(time for _, time in answers)
    firsts = [answer(model, design).frequencies[0] for design in chosen]
    return {
        "unknowns": answers[0][0].unknowns,
        "training_seconds": training,
        "fresh_seconds": statistics.fmean(fresh),
        "sweep_seconds": statistics.fmean(heights),
        "fresh_over_squares": statistics.fmean(fresh) / python,
        "sweep_over_squares": statistics.fmean(heights) / python,
        "quick_over_study": statistics.median(time for _, time in quick) / seconds,
        "full_over_study": statistics.median(time for _, time in full) / seconds,
        "first_frequency_off_median": model.median_first,
        "first_frequency_off_worst": model.worst_first,
        "first_over_full_worst": float(
            np.abs(np.array(firsts) / [solved.first.frequency for solved, _ in full] - 1.0).max()
        ),
    }


def grid(walls: int = 7, heights: int = 9) -> dict[str, dict[str, float]]:
    """Processor time a design of a study over wall and height, learnt among its own designs and asked at
    walls that it was not taught: ten modes, damping and compliance; and with limit depths.
    """
    found = {}
    for name in ("square, filled, lid, overhanging base", "square, hollow, lid, overhanging base"):
        column = invented(INVENTED[name], np.random.default_rng(1))
        designs = [
            replace(column, walls=(Metre(wall),) * len(column.walls), height=Metre(height))
            for wall in np.linspace(0.015, 0.03, walls)
            for height in np.linspace(0.5, 0.7, heights)
        ]
        model = learn_among(designs)
        _asked(model, designs[0])
        spent = []
        for work, thinner in ((partial(answer, modes=10), 0.9999), (_asked, 0.9998)):
            asked = [
                replace(each, walls=tuple(Metre(thinner * wall) for wall in each.walls)) for each in designs
            ]
            inside = [each for each in asked if not model.ranges.outside(each)]
            spent.append(statistics.fmean(processor(partial(work, model, each)) for each in inside))
        found[name] = {"designs": len(inside), "seconds": spent[0], "with_limit_depths_seconds": spent[1]}
    return found


def _asked(model: StudyModel, design: StudyDesign) -> None:
    """Ten modes, movement, and the limit depth of a cutter at every station."""
    ports = answer(model, design, modes=10).ports
    damped = replace(ports, loss=np.full(len(ports.squares), 0.02))
    centres = [ports.centre(k) for k in range(len(design.places))]
    for k, at in enumerate(centres):
        ports.static(k, at)
    cuts = [
        CutForce("cut", "cut", k, at, place.across, place.out, 600.0, 300.0)
        for k, (at, place) in enumerate(zip(centres, design.places, strict=True))
    ]
    limits(damped, [(cut, MILLING) for cut in cuts])


def processor(work: Callable[[], object]) -> float:
    """Processor time of the work [s]."""
    began = time.process_time()
    work()
    return time.process_time() - began


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(k * k for k in range(100_000))


def main(arguments: list[str]) -> int:
    """Measure and print."""
    names = ("full", "large") if "--large" in arguments else ("full",)
    found: dict[str, object] = {
        "wanted": WANTED,
        "quick": quick(),
        "keys": keys(),
        "study_over_a_grid": grid(),
        "study": study(24 if "--quick" in arguments else LEARNT),
    }
    found["factor"] = {name: factor_share(name) for name in names}
    if calculix.executable() is not None and "--quick" not in arguments:
        found |= {name: beside_calculix(name) for name in names}
    print(json.dumps(found, indent=2))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
