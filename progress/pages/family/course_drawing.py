"""The picture of a child's course: a stepped line drawn on the server, no script needed.

Only geometry is made here; the words stand beside it. The drawing is stretched to its place, so
it holds no text.
"""

from dataclasses import dataclass

from progress.usecases.families.see_course import Course, CoursePoint

WIDTH, HEIGHT = 300, 100  # units of the drawing
TOP_ROOM = 8  # so that the line's own thickness is not cut off
LEAST_STEPS = 4  # one skill alone must not look like a mountain
MOST_LINES = 5


@dataclass(frozen=True)
class CourseDrawing:
    """A course ready to draw.

    ``line`` and ``area`` are SVG paths, ``rules`` the heights of level lines in drawing units,
    ``top`` the number of skills at the highest level line.
    """

    points: tuple[CoursePoint, ...]
    line: str
    area: str
    rules: tuple[float, ...]
    top: int

    @property
    def first(self) -> CoursePoint:
        """Where the line begins."""
        return self.points[0]

    @property
    def now(self) -> CoursePoint:
        """Where it stands today."""
        return self.points[-1]


def draw_course(course: Course) -> CourseDrawing | None:
    """Draw a course as steps: level through a month, up at its end. None before there is one."""
    points = course.points
    if not points:
        return None
    apart = -(-max(points[-1].skills, LEAST_STEPS) // MOST_LINES)
    top = -(-max(points[-1].skills, LEAST_STEPS) // apart) * apart
    started, days = points[0].day, (points[-1].day - points[0].day).days
    line = f"M0 {_height(points[0].skills, top)}"
    for point in points[1:]:
        across = round(WIDTH * (point.day - started).days / days, 1)
        line += f"H{across:g}V{_height(point.skills, top)}"
    rules = tuple(_height(level, top) for level in range(0, top + 1, apart))
    return CourseDrawing(points, line, f"{line}V{HEIGHT}H0Z", rules, top)


def _height(skills: int, top: int) -> float:
    return round(HEIGHT - (HEIGHT - TOP_ROOM) * skills / top, 1)
