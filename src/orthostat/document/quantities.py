"""Field types for quantities: text with a unit in, the SI value beside the text as typed out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import pi, radians
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from orthostat.base.showing import show
from orthostat.base.units import KINDS, UnitFault, example, parse, resolve

_FARTHEST = 1000.0
"""No length of a shop is longer [m]; what is, was typed in the wrong unit or by a slip of the finger."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A quantity as typed: SI value, kind, text, and the currency code of money."""

    si: Any
    """A float; the field's kind fixes its unit type, which a type checker can't see."""
    kind: str
    text: str
    unit: str = ""
    currency: str | None = None


@dataclass(frozen=True, slots=True)
class Of:
    """Pydantic metadata: a quantity of one of `kinds`, optionally bounded (SI, exclusive `above`)."""

    kinds: tuple[str, ...]
    above: float | None = None
    least: float | None = None
    most: float | None = None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        unitless = all(not resolve(KINDS[kind].si).dimension for kind in self.kinds)
        text = " or ".join(self.kinds)
        return {
            "type": ["number", "string"] if unitless else ["string", "number"],
            "description": f"{text}, such as {example(self.kinds[0])!r}",
            "x-kind": list(self.kinds),
        }

    def _read(self, raw: Any, info: core_schema.ValidationInfo) -> Typed:
        if isinstance(raw, Typed):
            return raw
        if isinstance(raw, bool) or not isinstance(raw, str | int | float):
            raise _fault(f"a quantity is text such as `{example(self.kinds[0])}`")
        defaults: Mapping[str, str] = (info.context or {}).get("units", {})
        text = raw if isinstance(raw, str) else repr(raw)
        # A bare number fits several kinds; only a written unit says which is meant.
        default = defaults.get(self.kinds[0]) if len(self.kinds) == 1 else None
        return _read(self, text, default)

    def read_text(self, text: str, default: str | None) -> Typed:
        """What a text says, a bare number being in `default`; raises where it is no such quantity."""
        typed = self._read_text(text, default)
        self._check_bounds(typed)
        return typed

    def _read_text(self, text: str, default: str | None) -> Typed:
        faults = []
        for kind in self.kinds:
            try:
                read = parse(text, kind, default)
            except UnitFault as fault:
                faults.append(str(fault))
            else:
                return Typed(read.si, kind, text, read.unit, read.currency)
        if len(self.kinds) > 1:
            shown = " or ".join(f"`{example(kind)}`" for kind in self.kinds)
            raise _fault(f"{faults[0].split(';')[0]}; write for instance {shown}")
        raise _fault(faults[0])

    def _check_bounds(self, typed: Typed) -> None:
        if typed.kind == "length" and abs(typed.si) > _FARTHEST:
            raise _fault("is far too large for anything in a shop")
        if self.above is not None and not typed.si > self.above:
            raise _fault(
                "must be more than zero" if self.above == 0.0 else f"must be more than {self.above:g}"
            )
        if self.least is not None and typed.si < self.least:
            least = f"must be at least {show(self.least, typed.kind)}"
            raise _fault("must not be negative" if self.least == 0.0 else least)
        if self.most is not None and typed.si > self.most:
            raise _fault(f"must be at most {show(self.most, typed.kind)}")


@lru_cache(maxsize=8192)
def _read(of: Of, text: str, default: str | None) -> Typed:
    """As `Of.read_text`; kept, as all but one quantity of a document stay from key to key."""
    return of.read_text(text, default)


def _fault(message: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{message}", {"message": message})


if TYPE_CHECKING:
    Length: TypeAlias = Typed
    Size: TypeAlias = Typed
    Thickness: TypeAlias = Typed
    Angle: TypeAlias = Typed
    EnteringAngle: TypeAlias = Typed
    PointAngle: TypeAlias = Typed
    HelixAngle: TypeAlias = Typed
    Mass: TypeAlias = Typed
    Density: TypeAlias = Typed
    Force: TypeAlias = Typed
    Moment: TypeAlias = Typed
    Stress: TypeAlias = Typed
    Time: TypeAlias = Typed
    Inertia: TypeAlias = Typed
    Acceleration: TypeAlias = Typed
    AngularAcceleration: TypeAlias = Typed
    RotationSpeed: TypeAlias = Typed
    Power: TypeAlias = Typed
    Stiffness: TypeAlias = Typed
    TiltStiffness: TypeAlias = Typed
    Frequency: TypeAlias = Typed
    Ratio: TypeAlias = Typed
    PositiveRatio: TypeAlias = Typed
    PoissonsRatio: TypeAlias = Typed
    Share: TypeAlias = Typed
    Temperature: TypeAlias = Typed
    TemperatureDifference: TypeAlias = Typed
    Expansion: TypeAlias = Typed
    Conductivity: TypeAlias = Typed
    SpecificHeat: TypeAlias = Typed
    SpecificEnergy: TypeAlias = Typed
    MolarEnergy: TypeAlias = Typed
    HeatTransfer: TypeAlias = Typed
    Volume: TypeAlias = Typed
    MassRate: TypeAlias = Typed
    Money: TypeAlias = Typed
    MoneyRate: TypeAlias = Typed
    Price: TypeAlias = Typed
    CuttingSpeed: TypeAlias = Typed
    Feed: TypeAlias = Typed
else:

    def _of(*kinds: str, **bounds: float) -> Any:
        return Annotated[Typed, Of(kinds, **bounds)]

    Length = _of("length")
    Size = _of("length", above=0.0)
    Thickness = _of("length", least=0.0)
    Angle = _of("angle")
    EnteringAngle = _of("angle", above=0.0, most=radians(170.0))
    PointAngle = _of("angle", above=0.0, most=pi)
    HelixAngle = _of("angle", least=radians(-80.0), most=radians(80.0))
    Mass = _of("mass", above=0.0)
    Density = _of("density", above=0.0)
    Force = _of("force", least=0.0)
    Moment = _of("moment", least=0.0)
    Stress = _of("pressure", above=0.0)
    Time = _of("time", least=0.0)
    Inertia = _of("moment of inertia", above=0.0)
    Acceleration = _of("acceleration", above=0.0)
    AngularAcceleration = _of("angular acceleration", above=0.0)
    RotationSpeed = _of("rotation speed", above=0.0)
    Power = _of("power", above=0.0)
    Stiffness = _of("stiffness", above=0.0)
    TiltStiffness = _of("tilt stiffness", above=0.0)
    Frequency = _of("frequency", above=0.0)
    Ratio = _of("ratio", least=0.0)
    PositiveRatio = _of("ratio", above=0.0)
    PoissonsRatio = _of("ratio", above=0.0, most=0.499)
    Share = _of("share", least=0.0, most=1.0)
    Temperature = _of("temperature", above=0.0)
    TemperatureDifference = _of("temperature difference")
    Expansion = _of("expansion")
    Conductivity = _of("conductivity", above=0.0)
    SpecificHeat = _of("specific heat", above=0.0)
    SpecificEnergy = _of("specific energy", above=0.0)
    MolarEnergy = _of("molar energy", above=0.0)
    HeatTransfer = _of("heat transfer", above=0.0)
    Volume = _of("volume", above=0.0)
    MassRate = _of("mass rate", above=0.0)
    Money = _of("money", least=0.0)
    MoneyRate = _of("money rate", least=0.0)
    Price = _of(
        "price per mass",
        "price per piece",
        "price per kit",
        "price per bag",
        "price per length",
        "price per area",
        "price per volume",
        "money",
        least=0.0,
    )
    CuttingSpeed = _of("speed", "rotation speed", above=0.0)
    Feed = _of("feed per tooth", "feed per turn", "feed rate", above=0.0)
