"""What every object of the document shares: strict, frozen, no unknown field, numbers in limits."""

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

LARGEST_MM = 3000.0
SMALLEST_SIZE_MM = 0.1
LONGEST_TEXT = 20_000

Size = Annotated[float, Field(ge=SMALLEST_SIZE_MM, le=LARGEST_MM, allow_inf_nan=False)]
"""A size in mm."""

Distance = Annotated[float, Field(ge=0, le=LARGEST_MM, allow_inf_nan=False)]
"""An allowance, clearance, trim or coordinate in mm."""

SpacerThickness = Annotated[float, Field(ge=SMALLEST_SIZE_MM, le=50, allow_inf_nan=False)]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
MoisturePercent = Annotated[float, Field(ge=0, le=200, allow_inf_nan=False)]
Temperature = Annotated[float, Field(ge=-60, le=150, allow_inf_nan=False)]
Force = Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]
Angle = Annotated[float, Field(ge=-360, le=360, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, le=1_000_000_000, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, le=1_000_000_000, allow_inf_nan=False)]

Text = Annotated[str, StringConstraints(max_length=LONGEST_TEXT)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=LONGEST_TEXT)]
Id = Annotated[str, StringConstraints(min_length=1, max_length=200)]


class Doc(BaseModel):
    """An object of the document. `extra` is kept and never read."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    extra: dict[str, Any] | None = None
