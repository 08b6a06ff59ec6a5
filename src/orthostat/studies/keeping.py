"""Learnt study models kept between runs, in the user's own folder for such files.

A file is named by a digest of all that the model depends on: the designs it was learnt among, the program
that learnt it, and the libraries it used. Its content is plain arrays with a digest of their own. Whatever
does not fit is passed over and learnt again; nothing in the file is ever run.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, fields
from functools import cache
from hashlib import blake2b
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np

import orthostat
from orthostat.analyses import stiffness
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.study import Ranges, Span, StudyDesign, StudyModel
from orthostat.analyses.stiffness.study.give import Give
from orthostat.analyses.stiffness.study.model import SectionBasis, Trial

PORTS = tuple(field.name for field in fields(Ports))
KEPT = 24
"""Models kept; the longest unused go first."""


def cache_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Where the system wants files that can be made again."""
    if platform == "win32":
        base = environment.get("LOCALAPPDATA")
        return Path(base) / "orthostat" / "Cache" if base else Path.home() / "AppData/Local/orthostat/Cache"
    if platform == "darwin":
        return Path.home() / "Library" / "Caches" / "orthostat"
    base = environment.get("XDG_CACHE_HOME")
    return (Path(base) if base and Path(base).is_absolute() else Path.home() / ".cache") / "orthostat"


def key_of(designs: Sequence[StudyDesign]) -> str:
    """A digest of all that a model learnt among these designs depends on."""
    made = blake2b(digest_size=20)
    for part in (orthostat.__version__, metadata.version("numpy"), metadata.version("scipy"), _program()):
        made.update(part.encode() + b"\0")
    for design in designs:
        made.update(repr(design).encode("utf-8") + b"\0")
    return made.hexdigest()


@cache
def _program() -> str:
    """A digest of the analysis' own source, so that a changed program never takes an old one's model."""
    made = blake2b(digest_size=20)
    root = Path(stiffness.__file__).parent
    for file in sorted(root.rglob("*.py")):
        made.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes())
    return made.hexdigest()


def kept(folder: Path, key: str) -> StudyModel | None:
    """The model kept under a key; `None` where there is none or its file is not whole."""
    file = folder / f"study-{key}.npz"
    try:
        with file.open("rb") as stream, np.load(stream, allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
        if arrays.pop("digest").tobytes() != _digest(key, arrays):
            return None
        model = _model(arrays)
        os.utime(file)
    except (OSError, ValueError, KeyError, EOFError, TypeError, zipfile.BadZipFile, zlib.error):
        return None
    return model


def keep(folder: Path, key: str, model: StudyModel) -> bool:
    """Keep a model; false where the folder can't be written, which costs no more than learning again."""
    arrays = _arrays(model)
    digest = np.frombuffer(_digest(key, arrays), dtype=np.uint8)
    part: Path | None = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folder, prefix=".study-", suffix=".part")
        part = Path(name)
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, digest=digest, **arrays)
        part.replace(folder / f"study-{key}.npz")
        _forget(folder)
    except OSError:
        if part is not None:
            with suppress(OSError):
                part.unlink(missing_ok=True)
        return False
    return True


def _forget(folder: Path) -> None:
    files = sorted(folder.glob("study-*.npz"), key=lambda file: file.stat().st_mtime, reverse=True)
    for file in files[KEPT:]:
        file.unlink(missing_ok=True)


def _digest(key: str, arrays: Mapping[str, Any]) -> bytes:
    made = blake2b(key.encode(), digest_size=32)
    for name in sorted(arrays):
        array = np.ascontiguousarray(arrays[name])
        made.update(f"{name}{array.dtype}{array.shape}".encode() + array.tobytes())
    return made.digest()


def _arrays(model: StudyModel) -> dict[str, Any]:
    made: dict[str, Any] = {
        "ranges": np.frombuffer(json.dumps(asdict(model.ranges)).encode(), dtype=np.uint8),
        "within": model.basis.within,
        "along": model.basis.along,
        "hollow": np.array(model.basis.hollow),
        "learnt": np.array(model.learnt),
        "tried": np.array([trial.number for trial in model.trials]),
    }
    for trial in model.trials:
        for whose, ports in (("exact", trial.exact), ("found", trial.found)):
            for field in PORTS:
                made[f"trial {trial.number} {whose} {field}"] = getattr(ports, field)
    if model.give is not None:
        made |= {"give powers": model.give.powers, "give together": model.give.together}
    for role, (within, along) in model.basis.of_role.items():
        made[f"role {role} within"], made[f"role {role} along"] = within, along
    return made


def _model(arrays: Mapping[str, Any]) -> StudyModel:
    told = json.loads(arrays["ranges"].tobytes())
    ranges = Ranges(**{name: _range(value) for name, value in told.items()})
    roles = [name.split()[1] for name in arrays if name.startswith("role ") and name.endswith(" within")]
    of_role = {role: (arrays[f"role {role} within"], arrays[f"role {role} along"]) for role in roles}
    basis = SectionBasis(arrays["within"], arrays["along"], of_role, bool(arrays["hollow"]))
    trials = tuple(
        Trial(number, *(_ports(arrays, f"trial {number} {whose}") for whose in ("exact", "found")))
        for number in arrays["tried"].tolist()
    )
    give = Give(arrays["give powers"], arrays["give together"]) if "give powers" in arrays else None
    return StudyModel(ranges, basis, give, trials, int(arrays["learnt"]))


def _ports(arrays: Mapping[str, Any], name: str) -> Ports:
    return Ports(*(arrays[f"{name} {field}"] for field in PORTS))


def _range(value: Any) -> Any:
    if isinstance(value, dict):
        return Span(**value)
    return tuple(value) if isinstance(value, list) else value
