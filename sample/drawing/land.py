"""Drawn scenes for the pages of the demo album: ridges, snow, viaducts, camps, people.

Each scene is drawn in grey on a canvas of its own; `__main__` tones it and pastes it on a page.
All of it is invented and drawn here; nothing is copied from a picture.
"""

import math
import random
from itertools import pairwise

from PIL import Image, ImageDraw, ImageFilter

Rng = random.Random
Paint = ImageDraw.ImageDraw


class Scene:
    """A grey canvas with a pen, its size, and the one source of chance for this picture."""

    def __init__(self, width: int, height: int, seed: str, *, snow: bool = False) -> None:
        self.w, self.h, self.snow = width, height, snow
        self.rng = random.Random(seed)
        self.image = Image.new("L", (width, height), 226)
        self.pen = ImageDraw.Draw(self.image)

    def tone(self, dark: int, light: int) -> int:
        """A grey for summer or for snow."""
        return light if self.snow else dark


def sky(s: Scene) -> None:
    """An even sky that is paler at the horizon, as plates of the time show it."""
    for y in range(s.h):
        s.pen.line((0, y, s.w, y), fill=int(206 + 26 * min(1.0, y / (0.55 * s.h))))


def outline(s: Scene, level: float, rough: float, steps: int = 64) -> list[tuple[float, float]]:
    """A mountain line by halving: points from left to right around a level (share of the height)."""
    heights = [s.rng.uniform(-1, 1) * rough, s.rng.uniform(-1, 1) * rough]
    spread = rough
    while len(heights) < steps:
        finer = []
        for left, right in pairwise(heights):
            finer += [left, (left + right) / 2 + s.rng.uniform(-1, 1) * spread * 0.6]
        heights = [*finer, heights[-1]]
        spread *= 0.56
    step = s.w / (len(heights) - 1)
    return [(n * step, s.h * (level + height)) for n, height in enumerate(heights)]


def mountain(s: Scene, level: float, rough: float, shade: int) -> list[tuple[float, float]]:
    """One range of hills down to the lower edge, with flecks of rock or snow."""
    line = outline(s, level, rough)
    s.pen.polygon([*line, (s.w, s.h), (0, s.h)], fill=shade)
    for _ in range(int(s.w * 0.5)):
        x, y = s.rng.choice(line)
        y += abs(s.rng.gauss(0, s.h * 0.09))
        x += s.rng.gauss(0, s.w * 0.02)
        length = s.rng.uniform(0.005, 0.03) * s.w
        delta = s.rng.choice((-16, -10, 12)) if not s.snow else s.rng.choice((-22, 10, 14))
        s.pen.line((x, y, x + length, y + length * 0.8), fill=max(20, min(250, shade + delta)))
    return line


def ridge(s: Scene) -> None:
    """Three ranges, the far one pale."""
    sky(s)
    mountain(s, 0.36, 0.15, s.tone(178, 214))
    mountain(s, 0.50, 0.11, s.tone(142, 200))
    mountain(s, 0.68, 0.07, s.tone(96, 188))
    ground(s, 0.84)


def ground(s: Scene, level: float) -> None:
    """The foreground with stones and tufts."""
    line = outline(s, level, 0.012)
    shade = s.tone(74, 206)
    s.pen.polygon([*line, (s.w, s.h), (0, s.h)], fill=shade)
    for _ in range(int(s.w * 0.9)):
        x, y = s.rng.uniform(0, s.w), s.rng.uniform(level + 0.02, 1) * s.h
        size = s.rng.uniform(0.5, 3.2) * (y / s.h)
        tint = max(24, min(246, shade + s.rng.choice((-26, -14, 18, 26))))
        s.pen.ellipse((x, y, x + size * 3, y + size), fill=tint)


def figure(
    s: Scene, x: float, foot: float, height: float, shade: int = 38, *, hat: bool = True
) -> None:
    """A standing person seen from far: coat, head, hat; a shadow to the right."""
    width, head = height * 0.27, height * 0.075
    s.pen.ellipse(
        (x - width * 0.3, foot - height * 0.03, x + width * 1.4, foot + height * 0.03),
        fill=max(20, shade + 26),
    )
    s.pen.polygon(
        [
            (x - width * 0.30, foot),
            (x - width * 0.46, foot - height * 0.52),
            (x - width * 0.40, foot - height * 0.80),
            (x + width * 0.40, foot - height * 0.80),
            (x + width * 0.46, foot - height * 0.52),
            (x + width * 0.30, foot),
        ],
        fill=shade,
    )
    s.pen.ellipse((x - head, foot - height * 0.97, x + head, foot - height * 0.79), fill=shade + 96)
    if hat:
        s.pen.rectangle(
            (x - head * 1.7, foot - height * 0.95, x + head * 1.7, foot - height * 0.92),
            fill=shade - 10,
        )
        s.pen.rectangle(
            (x - head, foot - height * 1.03, x + head, foot - height * 0.92), fill=shade - 10
        )


def people(s: Scene, count: int, foot: float, height: float) -> None:
    """A row of people, the tall and the small mixed."""
    for n in range(count):
        x = s.w * (0.16 + 0.68 * (n + 0.5) / count) + s.rng.uniform(-0.015, 0.015) * s.w
        tall = height * s.rng.uniform(0.88, 1.08)
        figure(
            s,
            x,
            s.h * (foot + s.rng.uniform(-0.012, 0.02)),
            s.h * tall,
            s.rng.randint(26, 54),
            hat=s.rng.random() < 0.8,
        )


def track(s: Scene, x: float = 0.5, horizon: float = 0.55, *, shade: int = 48) -> None:
    """Two rails and their sleepers that run to a point."""
    far_x, far_y = s.w * x, s.h * horizon
    for n in range(1, 26):
        t = (n / 25) ** 2.2
        y = far_y + (s.h - far_y) * t
        half = s.w * (0.004 + 0.17 * t)
        s.pen.line(
            (far_x - half * 1.3, y, far_x + half * 1.3, y),
            fill=s.tone(58, 150),
            width=max(1, int(9 * t)),
        )
    for side in (-1, 1):
        s.pen.line(
            (far_x + side * s.w * 0.004, far_y, far_x + side * s.w * 0.17, s.h), fill=shade, width=4
        )


def cutting(s: Scene) -> None:
    """A cutting through rock towards the pass, seen along the track."""
    sky(s)
    mountain(s, 0.34, 0.12, s.tone(164, 210))
    left = [
        (0, s.h * 0.16),
        (s.w * 0.20, s.h * 0.30),
        (s.w * 0.38, s.h * 0.50),
        (s.w * 0.47, s.h * 0.60),
        (s.w * 0.30, s.h),
        (0, s.h),
    ]
    right = [
        (s.w, s.h * 0.10),
        (s.w * 0.78, s.h * 0.28),
        (s.w * 0.63, s.h * 0.48),
        (s.w * 0.53, s.h * 0.60),
        (s.w * 0.72, s.h),
        (s.w, s.h),
    ]
    ground(s, 0.60)
    for bank, shade in ((left, s.tone(84, 186)), (right, s.tone(66, 170))):
        s.pen.polygon(bank, fill=shade)
        xs, ys = [p[0] for p in bank], [p[1] for p in bank]
        for _ in range(900):
            x, y = s.rng.uniform(min(xs), max(xs)), s.rng.uniform(min(ys) + s.h * 0.08, max(ys))
            if s.image.getpixel((min(s.w - 1, int(x)), min(s.h - 1, int(y)))) == shade:
                slope = -0.5 if bank is right else 0.5
                length = s.rng.uniform(0.01, 0.045) * s.w
                s.pen.line(
                    (x, y, x + length, y + slope * length + 3),
                    fill=max(20, min(250, shade + s.rng.choice((-34, -20, 24)))),
                    width=2,
                )
    track(s, 0.5, 0.60)


def smoke(s: Scene, x: float, y: float, shade: int) -> None:
    """Drifting smoke, soft at the edges."""
    cloud = Image.new("L", (s.w, s.h), 0)
    pen = ImageDraw.Draw(cloud)
    at_x, at_y, size = s.w * x, s.h * y, s.h * 0.03
    for _ in range(14):
        pen.ellipse((at_x - size, at_y - size, at_x + size, at_y + size), fill=120)
        at_x += s.rng.uniform(0.2, 1.0) * size
        at_y -= size * 0.75
        size *= 1.1
    s.image.paste(shade, (0, 0), cloud.filter(ImageFilter.GaussianBlur(s.h * 0.012)))


def gorge(s: Scene) -> None:
    """Two steep walls and a river between them."""
    sky(s)
    mountain(s, 0.30, 0.10, s.tone(168, 214))
    s.pen.polygon(
        [
            (0, s.h * 0.24),
            (s.w * 0.26, s.h * 0.40),
            (s.w * 0.44, s.h * 0.86),
            (s.w * 0.40, s.h),
            (0, s.h),
        ],
        fill=82,
    )
    s.pen.polygon(
        [
            (s.w, s.h * 0.20),
            (s.w * 0.72, s.h * 0.38),
            (s.w * 0.56, s.h * 0.84),
            (s.w * 0.60, s.h),
            (s.w, s.h),
        ],
        fill=62,
    )
    for _ in range(2600):
        x, y = s.rng.uniform(0, s.w), s.rng.uniform(0.24, 1) * s.h
        here = s.image.getpixel((int(x) % s.w, min(s.h - 1, int(y))))
        if 30 <= here <= 118:
            lean = 0.5 if x < s.w / 2 else -0.5
            length = s.rng.uniform(8, 46)
            shade = 74 + s.rng.choice((-40, -26, 16, 34))
            s.pen.line(
                (x, y, x + lean * length, y + length), fill=shade, width=s.rng.choice((2, 3, 5))
            )
    s.pen.polygon(
        [(s.w * 0.47, s.h * 0.72), (s.w * 0.53, s.h * 0.72), (s.w * 0.60, s.h), (s.w * 0.40, s.h)],
        fill=206,
    )
    for n in range(26):
        y = s.h * (0.74 + 0.26 * n / 26)
        half = s.w * (0.03 + 0.07 * n / 26)
        x = s.w * 0.5 + s.rng.uniform(-half, half)
        s.pen.line((x, y, x + half * 0.5, y), fill=168, width=2)


def camp(s: Scene, *, tents: int = 7, van: bool = False) -> None:
    """Tents on the moor."""
    ridge(s)
    for n in range(tents):
        depth = (n + 1) / tents
        x = s.w * s.rng.uniform(0.08, 0.9)
        y, size = s.h * (0.70 + 0.18 * depth), s.h * (0.06 + 0.09 * depth)
        s.pen.polygon([(x, y - size), (x + size * 0.9, y), (x - size * 0.9, y)], fill=218)
        s.pen.polygon(
            [
                (x, y - size),
                (x + size * 0.9, y),
                (x + size * 1.5, y - size * 0.2),
                (x + size * 0.5, y - size * 1.05),
            ],
            fill=172,
        )
        s.pen.polygon([(x, y - size * 0.7), (x + size * 0.14, y), (x - size * 0.14, y)], fill=44)
    if van:
        x, y = s.w * 0.42, s.h * 0.62
        s.pen.rectangle((x, y, x + s.w * 0.24, y + s.h * 0.22), fill=60)
        s.pen.arc(
            (x - 4, y - s.h * 0.07, x + s.w * 0.24 + 4, y + s.h * 0.07), 180, 360, fill=200, width=8
        )
        s.pen.rectangle((x + s.w * 0.03, y + s.h * 0.05, x + s.w * 0.09, y + s.h * 0.13), fill=150)
        for wheel in (0.05, 0.19):
            cx, cy, r = x + s.w * wheel, y + s.h * 0.23, s.h * 0.065
            s.pen.ellipse((cx - r, cy - r, cx + r, cy + r), outline=26, width=5)
            for k in range(4):
                a = k * math.pi / 4
                s.pen.line(
                    (
                        cx - r * math.cos(a),
                        cy - r * math.sin(a),
                        cx + r * math.cos(a),
                        cy + r * math.sin(a),
                    ),
                    fill=30,
                    width=2,
                )
    people(s, 2, 0.93, 0.2)
