"""Drawings against general-purpose geometry (shapely) and against the numbers that they draw."""

import re
from math import pi, radians, tan

import pytest
from shapely import LineString, Point, Polygon
from shapely.affinity import scale

from api.drawings.belt_drive import draw_belt_drive, draw_belt_line
from api.drawings.picture import Picture, draw_circle
from kb.lookups.belt_drive import BeltDrive, BeltRun
from kb.mechanics.drive_range import Belt, Drive, Pulley, RestLimit, find_range

# The drive of the worked example in kb.mechanics.drive_range.
ENGINE = Pulley(28.0, 48.5, 14.0, 48.5, 28.85, 17.75)
CLUTCH = Pulley(28.0, 59.5, 22.0, 59.5, 29.7, 15.25)
DRIVE = Drive(260.0, ENGINE, CLUTCH)
NEEDED = Belt(788.0, 17.0, 28.0, 8.5, 2.0)


def run(belt: Belt) -> BeltRun:
    return BeltRun(belt, find_range(DRIVE, belt))


def draw(asked: Belt | None) -> dict[str, Picture]:
    found = BeltDrive(DRIVE, run(NEEDED), run(asked) if asked else None, "measured in the shop")
    return {picture.key: picture for picture in draw_belt_drive(found)}


def read_points(path: str) -> list[tuple[float, float]]:
    """Corners of a path of straight lines."""
    numbers = [float(number) for number in re.findall(r"-?[0-9.]+", path)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def find_stroke(picture: Picture, style: str) -> str:
    return next(stroke.path for stroke in picture.strokes if stroke.style == style)


def test_six_pictures_each_with_title_description_and_numbers():
    pictures = draw(Belt(788.0, 16.5, 28.0, 8.5, 2.0))
    assert len(pictures) == 6
    for picture in pictures.values():
        assert picture.title
        assert "to scale" in picture.description
        assert re.search(r"[0-9]", picture.caption)


@pytest.mark.parametrize(("end", "name"), [("low", "rest"), ("high", "full-shift")])
@pytest.mark.parametrize("pulley", ["drive", "driven"])
def test_belt_is_drawn_at_its_radius_with_its_width_and_thickness(pulley: str, end: str, name: str):
    asked = Belt(788.0, 16.5, 28.0, 8.5, 2.0)
    picture = draw(asked)[f"section-{pulley}-{name}"]
    corners = read_points(find_stroke(picture, "belt asked"))
    pitch_radius = getattr(find_range(DRIVE, asked), f"{pulley}_radius_{end}_mm")
    heights = sorted({-y for _, y in corners})
    assert heights == pytest.approx([pitch_radius + 2.0 - 8.5, pitch_radius + 2.0], abs=0.011)
    assert max(x for x, _ in corners) - min(x for x, _ in corners) == pytest.approx(16.5, abs=0.011)


def test_belt_with_the_groove_angle_touches_both_flanks_and_cuts_neither():
    picture = draw(Belt(788.0, 16.5, 28.0, 8.5, 2.0))["section-drive-full-shift"]
    belt = Polygon(read_points(find_stroke(picture, "belt asked")))
    for style in ("flank", "flank moving asked"):
        flank = Polygon(read_points(find_stroke(picture, style)))
        assert flank.distance(belt) == pytest.approx(0.0, abs=0.02)
        assert flank.intersection(belt).area < 0.2


def test_flanks_lean_by_half_the_included_angle():
    corners = read_points(find_stroke(draw(None)["section-drive-rest"], "flank"))
    (x_inner, y_inner), (x_outer, y_outer) = corners[:2]
    assert abs(x_outer - x_inner) / abs(y_outer - y_inner) == pytest.approx(tan(radians(14.0)), abs=0.001)


def test_open_pulley_under_a_belt_on_its_boss_stays_at_its_open_gap():
    narrow = Belt(760.0, 14.0, 28.0, 8.5, 2.0)
    assert find_range(DRIVE, narrow).has_boss_contact
    assert find_range(DRIVE, narrow).rest_limit is RestLimit.DRIVE_OPEN
    corners = read_points(find_stroke(draw(narrow)["section-drive-rest"], "flank moving asked"))
    # The flank's face at the radius where the gap is read, which is the rim in this drive.
    assert corners[1] == pytest.approx((28.85, -48.5), abs=0.011)


def sample_path(path: str) -> list[tuple[float, float]]:
    """Points of a belt line: its two straight pieces, and its arcs rebuilt as parts of circles by shapely."""
    return read_points(re.sub(r"A[^A-Z]*?(-?[0-9.]+ -?[0-9.]+)(?=[A-Z])", r"L\1", path))


@pytest.mark.parametrize(("front", "rear"), [(20.0, 50.0), (40.0, 30.0), (35.0, 35.0)])
def test_belt_line_is_the_hull_of_both_circles(front: float, rear: float):
    hull = (
        Point(0, 0).buffer(front, quad_segs=720).union(Point(260, 0).buffer(rear, quad_segs=720)).convex_hull
    )
    corners = sample_path(draw_belt_line(260.0, front, driven_radius_mm=rear))[:4]
    for corner in corners:
        assert hull.exterior.distance(Point(corner)) < 0.02
    upper = LineString(corners[:2])
    for at in (0.25, 0.5, 0.75):
        assert hull.exterior.distance(upper.interpolate(at, normalized=True)) < 0.02


@pytest.mark.parametrize(
    ("front", "rear", "flags"), [(20.0, 50.0, ("1", "0")), (50.0, 20.0, ("0", "1"))], ids=["rest", "shift"]
)
def test_the_larger_pulley_is_wrapped_by_the_long_arc(front: float, rear: float, flags: tuple[str, str]):
    path = draw_belt_line(260.0, front, driven_radius_mm=rear)
    assert tuple(re.findall(r"A[0-9.]+ [0-9.]+ 0 ([01]) 1", path)) == flags


def test_circle_is_two_half_arcs():
    # Scaling a unit circle is a check on nothing but the radius that shapely itself knows.
    assert scale(Point(0, 0).buffer(1, quad_segs=720), 5, 5).area == pytest.approx(25 * pi, rel=1e-5)
    from api.drawings.picture import Point as At

    assert draw_circle(At(10, 2), 5) == "M5 2A5 5 0 1 1 15 2A5 5 0 1 1 5 2Z"


def test_belt_that_cannot_be_mounted_is_said_and_not_drawn():
    pictures = draw(Belt(700.0, 17.0, 28.0, 8.5, 2.0))
    for picture in pictures.values():
        assert "cannot be mounted" in picture.caption
        assert not any("asked" in stroke.style for stroke in picture.strokes)
        assert any("need" in stroke.style for stroke in picture.strokes)


def test_everything_drawn_lies_inside_the_picture():
    for asked in (None, Belt(788.0, 16.5, 28.0, 8.5, 2.0), Belt(803.0, 19.0, 30.0, 9.5, 2.0)):
        for picture in draw(asked).values():
            for stroke in picture.strokes:
                if stroke.style.startswith(("flank", "belt", "boss", "tick")):
                    for x, y in read_points(stroke.path):
                        assert picture.corner.x <= x <= picture.corner.x + picture.width_mm, stroke
                        assert picture.corner.y <= y <= picture.corner.y + picture.height_mm, stroke
