"""The profile as SVG and DXF: real size, right units, true to 0.01 mm, whatever it is called."""

import io
import re
import xml.etree.ElementTree as ET
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from exports_pieces import NASTY_NAMES, every_kind, goblet, small_pieces, worked
from hypothesis import given, settings

from server.craft.form.curves import Curve
from server.exports.dxf import profile_dxf
from server.exports.profile_svg import MARGIN_MM, profile_svg

SVG = "{http://www.w3.org/2000/svg}"
WITHIN_MM = 0.01


def _dxf(document: dict[str, Any]) -> Any:
    drawing = ezdxf.read(io.StringIO(profile_dxf(worked(document)).decode()))
    assert not drawing.audit().has_errors
    return drawing


def _path_points(d: str) -> np.ndarray:
    """Points of a path of M, L, C and Z: Béziers evaluated by de Casteljau's construction."""
    points: list[np.ndarray] = []
    for command, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        at = np.array([float(n) for n in numbers.split()]).reshape(-1, 2)
        if command in "ML":
            points.append(at[0])
        elif command == "C":
            control = np.stack([points[-1], *at])
            for t in np.linspace(0, 1, 200)[1:]:
                level = control
                while len(level) > 1:
                    level = level[:-1] * (1 - t) + level[1:] * t
                points.append(level[0])
    return np.array(points)


def _far(line: np.ndarray, curve: Curve, up: float) -> float:
    """Greatest distance between a drawn line and the curve, both ways, mm."""
    true = curve.polyline(400) + np.array([0.0, up])
    return float(shapely.hausdorff_distance(shapely.LineString(line), shapely.LineString(true)))


def test_svg_says_its_size_in_millimetres() -> None:
    root = ET.fromstring(profile_svg(worked(goblet())))
    width, height = root.get("width", ""), root.get("height", "")
    assert width.endswith("mm")
    assert height.endswith("mm")
    box = [float(n) for n in root.get("viewBox", "").split()]
    assert box == [0, 0, float(width[:-2]), float(height[:-2])]
    # Bowl and stem are 185 mm high.
    assert float(height[:-2]) == pytest.approx(185 + 2 * MARGIN_MM)


def test_svg_curves_are_the_curves() -> None:
    planned = worked(goblet())
    root = ET.fromstring(profile_svg(planned))
    groups = root.findall(f"{SVG}g")
    bowl = planned.work.by_part["bowl"]
    for name, curve in (("outside", bowl.outside), ("inside", bowl.inside)):
        path = next(p for p in groups[0].iter(f"{SVG}path") if p.get("class") == name)
        points = _path_points(path.get("d", ""))
        line = np.stack([points[:, 0] - MARGIN_MM, 185 + MARGIN_MM - points[:, 1]], axis=1)
        assert curve is not None
        assert _far(line, curve, 90.0) < 0.001


def test_dxf_is_in_millimetres_with_a_layer_for_each_kind_of_line() -> None:
    drawing = _dxf(goblet())
    assert drawing.header["$INSUNITS"] == 4
    assert drawing.header["$MEASUREMENT"] == 1
    layers = {layer.dxf.name for layer in drawing.layers}
    assert {"OUTSIDE", "INSIDE", "RINGS", "JOINTS", "AXIS", "NAMES"} <= layers
    used = [entity.dxf.layer for entity in drawing.modelspace()]
    assert (used.count("OUTSIDE"), used.count("INSIDE"), used.count("RINGS")) == (2, 1, 5)
    assert "0" not in used


def test_dxf_curves_are_within_a_hundredth() -> None:
    planned = worked(goblet())
    drawing = _dxf(goblet())
    bowl = planned.work.by_part["bowl"]
    for layer, curve in (("OUTSIDE", bowl.outside), ("INSIDE", bowl.inside)):
        lines = [np.array(e.get_points("xy")) for e in drawing.modelspace() if e.dxf.layer == layer]
        far = min(_far(line, curve, 90.0) for line in lines)
        assert far < WITHIN_MM


def test_dxf_extents_are_the_pieces() -> None:
    points = np.concatenate(
        [np.array(e.get_points("xy")) for e in _dxf(goblet()).modelspace().query("LWPOLYLINE")]
    )
    assert points.min(axis=0).tolist() == pytest.approx([0, 0])
    # 50 mm of rim and 3 mm of turning allowance, 185 mm high.
    assert points.max(axis=0).tolist() == pytest.approx([53, 185])


def test_a_floor_of_its_own_is_drawn() -> None:
    document = goblet()
    document["parts"][0]["floor_mm"] = 50
    planned = worked(document)
    floors = [e for e in _dxf(document).modelspace() if e.dxf.layer == "FLOOR"]
    assert len(floors) == 1
    (x0, y0), (x1, y1) = floors[0].get_points("xy")
    assert (x0, y0, y1) == pytest.approx((0, 140, 140))
    assert x1 == pytest.approx(max(planned.work.by_part["bowl"].inside.radii_at(50)))  # type: ignore[union-attr]
    assert 'class="floor"' in profile_svg(planned)


@settings(max_examples=15, deadline=None)
@given(small_pieces())
def test_random_profiles_can_be_read(document: dict[str, Any]) -> None:
    ET.fromstring(profile_svg(worked(document)))
    assert len(_dxf(document).modelspace()) >= 3


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    document = every_kind()
    document["name"] = document["parts"][0]["name"] = name
    document["parts"][0]["rings"][0]["id"] = name[:200]
    planned = worked(document)
    text = profile_svg(planned)
    root = ET.fromstring(text)
    assert {element.tag for element in root.iter()} == {
        f"{SVG}{tag}" for tag in ("svg", "title", "style", "g", "path", "text")
    }
    assert len(text) < 20_000
    drawing = _dxf(document)
    texts = [entity.dxf.text for entity in drawing.modelspace().query("TEXT")]
    assert len(texts) == 9
    assert not any(set(words) & set("%^\\\n\r\x00") for words in texts)
