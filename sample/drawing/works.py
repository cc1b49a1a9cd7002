"""Drawn scenes of the line at work: water and bridges, trains, sledges, plans; and all by name."""

import math
from collections.abc import Callable

from drawing import built, land, sitters
from drawing.land import Scene, figure, ground, mountain, people, ridge, sky, smoke, track


def water(s: Scene, level: float) -> None:
    """Still water that repeats the sky."""
    for y in range(int(s.h * level), s.h):
        s.pen.line((0, y, s.w, y), fill=min(250, 176 + s.rng.randint(-9, 12)))
    for _ in range(60):
        x, y = s.rng.uniform(0, s.w), s.rng.uniform(level + 0.02, 1) * s.h
        s.pen.line((x, y, x + s.rng.uniform(20, 120), y), fill=s.rng.choice((150, 210)), width=2)


def bridge(s: Scene, *, broken: bool = False) -> None:
    """A timber bridge on trestles over water."""
    sky(s)
    mountain(s, 0.36, 0.12, 168)
    mountain(s, 0.52, 0.07, 120)
    water(s, 0.66)
    deck = s.h * 0.50
    for n in range(9):
        if broken and 3 <= n <= 5:
            continue
        x = s.w * (0.04 + 0.115 * n)
        built.lattice(s, x, deck, x + s.w * 0.035, s.h * 0.78)
    ends = ((0.0, 0.36), (0.68, 1.0)) if broken else ((0.0, 1.0),)
    for left, right in ends:
        s.pen.rectangle((s.w * left, deck - s.h * 0.03, s.w * right, deck + s.h * 0.01), fill=56)
        for n in range(int(left * 30), int(right * 30)):
            s.pen.line(
                (s.w * n / 30, deck - s.h * 0.085, s.w * n / 30, deck - s.h * 0.03),
                fill=60,
                width=3,
            )
        s.pen.line(
            (s.w * left, deck - s.h * 0.08, s.w * right, deck - s.h * 0.08), fill=60, width=3
        )
    if broken:
        for _ in range(30):
            x, y = s.rng.uniform(0.34, 0.72) * s.w, s.rng.uniform(0.66, 0.9) * s.h
            s.pen.line(
                (x, y, x + s.rng.uniform(-70, 70), y + s.rng.uniform(-26, 26)), fill=50, width=6
            )
    ground(s, 0.92)
    people(s, 2, 0.97, 0.17)


def river(s: Scene) -> None:
    """A ford between stones."""
    ridge(s)
    s.pen.polygon(
        [(s.w * 0.42, s.h * 0.62), (s.w * 0.52, s.h * 0.62), (s.w * 0.9, s.h), (s.w * 0.1, s.h)],
        fill=200,
    )
    for _ in range(80):
        y = s.rng.uniform(0.64, 1) * s.h
        half = (y / s.h - 0.6) * s.w
        x = s.w * 0.48 + s.rng.uniform(-half, half)
        s.pen.line((x, y, x + 18, y), fill=150, width=2)
        if s.rng.random() < 0.3:
            s.pen.ellipse((x, y, x + 16, y + 9), fill=84)


def engine(s: Scene, x: float, foot: float, size: float) -> None:
    """A small tank engine: boiler, chimney, cab, wheels."""
    length = size * 2.6
    s.pen.rectangle((x, foot - size * 0.95, x + length * 0.68, foot - size * 0.35), fill=42)
    s.pen.line((x, foot - size * 0.86, x + length * 0.68, foot - size * 0.86), fill=110, width=4)
    s.pen.rectangle(
        (x + length * 0.64, foot - size * 1.42, x + length, foot - size * 0.35), fill=34
    )
    s.pen.rectangle(
        (x + length * 0.72, foot - size * 1.25, x + length * 0.9, foot - size * 0.95), fill=170
    )
    s.pen.polygon(
        [
            (x + size * 0.14, foot - size * 0.95),
            (x + size * 0.36, foot - size * 0.95),
            (x + size * 0.42, foot - size * 1.62),
            (x + size * 0.08, foot - size * 1.62),
        ],
        fill=30,
    )
    s.pen.pieslice(
        (x + length * 0.34, foot - size * 1.2, x + length * 0.5, foot - size * 0.7),
        180,
        360,
        fill=90,
    )
    s.pen.rectangle(
        (x - size * 0.1, foot - size * 0.38, x + length * 1.03, foot - size * 0.26), fill=26
    )
    for n in range(4):
        cx, r = x + length * (0.12 + 0.25 * n), size * 0.25
        s.pen.ellipse((cx - r, foot - 2 * r, cx + r, foot), outline=22, width=6, fill=80)
        s.pen.ellipse((cx - r * 0.2, foot - 1.2 * r, cx + r * 0.2, foot - 0.8 * r), fill=22)
    smoke(s, (x + size * 0.3) / s.w, (foot - size * 1.7) / s.h, 226 if not s.snow else 150)


def train(s: Scene, *, cars: int = 4) -> None:
    """A train that crosses the picture."""
    ridge(s)
    foot, size = s.h * 0.80, s.h * 0.17
    s.pen.line((0, foot + 3, s.w, foot + 3), fill=30, width=5)
    for n in range(cars):
        x = s.w * 0.08 + size * 2.6 + s.w * 0.03 + n * size * 2.0
        s.pen.rectangle((x, foot - size * 1.1, x + size * 1.85, foot - size * 0.2), fill=70)
        for k in range(4):
            s.pen.rectangle(
                (
                    x + size * (0.15 + 0.43 * k),
                    foot - size * 0.9,
                    x + size * (0.42 + 0.43 * k),
                    foot - size * 0.55,
                ),
                fill=186,
            )
        for k in (0.35, 1.45):
            s.pen.ellipse((x + size * k - 12, foot - 24, x + size * k + 12, foot), fill=26)
    engine(s, s.w * 0.08, foot, size)
    people(s, 6, 0.95, 0.15)


def engine_alone(s: Scene) -> None:
    """An engine before a shed wall, as a maker's photograph shows it."""
    sky(s)
    ground(s, 0.78)
    s.pen.rectangle((s.w * 0.1, s.h * 0.16, s.w * 0.95, s.h * 0.76), fill=s.tone(150, 176))
    for n in range(9):
        s.pen.line(
            (s.w * (0.1 + 0.1 * n), s.h * 0.16, s.w * (0.1 + 0.1 * n), s.h * 0.76),
            fill=126,
            width=3,
        )
    s.pen.line((0, s.h * 0.825, s.w, s.h * 0.825), fill=30, width=6)
    engine(s, s.w * 0.22, s.h * 0.82, min(s.h * 0.34, s.w * 0.23))


def station(s: Scene) -> None:
    """A low building, a platform, a lamp."""
    ridge(s)
    s.pen.rectangle((s.w * 0.16, s.h * 0.52, s.w * 0.74, s.h * 0.78), fill=182)
    s.pen.polygon(
        [
            (s.w * 0.12, s.h * 0.53),
            (s.w * 0.24, s.h * 0.38),
            (s.w * 0.66, s.h * 0.38),
            (s.w * 0.78, s.h * 0.53),
        ],
        fill=88,
    )
    for n in range(5):
        x = s.w * (0.20 + 0.11 * n)
        s.pen.rectangle((x, s.h * 0.59, x + s.w * 0.045, s.h * 0.70), fill=54)
    s.pen.rectangle((s.w * 0.05, s.h * 0.77, s.w, s.h * 0.81), fill=132)
    s.pen.line((s.w * 0.86, s.h * 0.46, s.w * 0.86, s.h * 0.78), fill=36, width=5)
    s.pen.ellipse((s.w * 0.845, s.h * 0.42, s.w * 0.875, s.h * 0.48), fill=220, outline=40)
    for side in (0.87, 0.91):
        s.pen.line((0, s.h * side, s.w, s.h * (side + 0.03)), fill=44, width=4)
    people(s, 3, 0.80, 0.13)


def sledge(s: Scene, *, count: int = 1) -> None:
    """Sledges with loads, drawn by mules through the snow."""
    for n in range(count):
        x, y = s.w * (0.16 + 0.26 * n), s.h * (0.86 - 0.05 * n)
        size = s.h * (0.12 - 0.018 * n)
        s.pen.rectangle((x, y - size * 0.9, x + size * 1.7, y - size * 0.25), fill=66)
        s.pen.line(
            (x - size * 0.3, y - size * 0.15, x + size * 2.0, y - size * 0.05), fill=30, width=5
        )
        mule(s, x + size * 3.1, y, size)
        figure(s, x + size * 4.6, y + 3, size * 1.3, 40)


def mule(s: Scene, x: float, foot: float, size: float) -> None:
    """A loaded mule."""
    s.pen.ellipse((x - size * 0.7, foot - size * 1.0, x + size * 0.5, foot - size * 0.42), fill=48)
    s.pen.polygon(
        [
            (x + size * 0.3, foot - size * 0.8),
            (x + size * 0.75, foot - size * 1.25),
            (x + size * 0.98, foot - size * 1.05),
            (x + size * 0.5, foot - size * 0.55),
        ],
        fill=48,
    )
    s.pen.line(
        (x + size * 0.74, foot - size * 1.2, x + size * 0.70, foot - size * 1.45), fill=40, width=4
    )
    for leg in (-0.5, -0.25, 0.15, 0.36):
        s.pen.line(
            (x + size * leg, foot - size * 0.55, x + size * (leg + 0.03), foot),
            fill=44,
            width=max(2, int(size * 0.1)),
        )
    s.pen.rectangle(
        (x - size * 0.45, foot - size * 1.2, x + size * 0.25, foot - size * 0.8), fill=92
    )


def pack_train(s: Scene) -> None:
    """A line of mules over the moor."""
    ridge(s)
    for n in range(6):
        mule(s, s.w * (0.12 + 0.15 * n), s.h * (0.90 - 0.022 * n), s.h * (0.15 - 0.009 * n))
    figure(s, s.w * 0.05, s.h * 0.92, s.h * 0.2)


def pasture(s: Scene, *, herd: bool = False) -> None:
    """Soft slopes with a fold of stones."""
    sky(s)
    mountain(s, 0.34, 0.10, 184)
    mountain(s, 0.52, 0.05, 152)
    ground(s, 0.66)
    for n in range(46):
        a = 2 * math.pi * n / 46
        x, y = s.w * (0.64 + 0.15 * math.cos(a)), s.h * (0.74 + 0.06 * math.sin(a))
        s.pen.ellipse((x - 7, y - 5, x + 8, y + 6), fill=s.rng.choice((150, 176, 120)))
    for _ in range(60 if herd else 18):
        x, y = s.rng.uniform(0.05, 0.95) * s.w, s.rng.uniform(0.70, 0.95) * s.h
        size = s.h * 0.022 * (y / s.h)
        s.pen.ellipse((x - size, y - size, x + size, y), fill=s.rng.choice((206, 186, 60)))
        s.pen.ellipse((x + size * 0.6, y - size * 1.3, x + size * 1.4, y - size * 0.5), fill=70)
    if herd:
        track(s, 0.2, 0.66)


def memorial(s: Scene) -> None:
    """A stone in the grass."""
    s.pen.rectangle((0, 0, s.w, s.h), fill=190)
    mountain(s, 0.34, 0.08, 150)
    ground(s, 0.62)
    s.pen.polygon(
        [
            (s.w * 0.30, s.h * 0.84),
            (s.w * 0.33, s.h * 0.30),
            (s.w * 0.48, s.h * 0.20),
            (s.w * 0.66, s.h * 0.31),
            (s.w * 0.70, s.h * 0.84),
        ],
        fill=176,
    )
    s.pen.polygon(
        [
            (s.w * 0.60, s.h * 0.28),
            (s.w * 0.66, s.h * 0.31),
            (s.w * 0.70, s.h * 0.84),
            (s.w * 0.62, s.h * 0.84),
        ],
        fill=120,
    )
    for n in range(5):
        s.pen.line(
            (
                s.w * 0.38,
                s.h * (0.42 + 0.06 * n),
                s.w * (0.56 - 0.02 * (n % 3)),
                s.h * (0.42 + 0.06 * n),
            ),
            fill=110,
            width=3,
        )
    for _ in range(20):
        x, y = s.rng.uniform(0.28, 0.72) * s.w, s.rng.uniform(0.82, 0.9) * s.h
        s.pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=226)


def works(s: Scene) -> None:
    """A bank of spoil, barrows, planks."""
    ridge(s)
    s.pen.polygon(
        [
            (0, s.h * 0.84),
            (s.w * 0.30, s.h * 0.50),
            (s.w * 0.66, s.h * 0.56),
            (s.w, s.h * 0.90),
            (s.w, s.h),
            (0, s.h),
        ],
        fill=130,
    )
    for _ in range(400):
        x = s.rng.uniform(0, s.w)
        y = s.rng.uniform(0.62, 0.98) * s.h
        s.pen.ellipse(
            (x, y, x + s.rng.uniform(3, 14), y + s.rng.uniform(2, 8)),
            fill=s.rng.choice((90, 110, 160, 180)),
        )
    s.pen.line((s.w * 0.1, s.h * 0.78, s.w * 0.5, s.h * 0.56), fill=50, width=8)
    people(s, 4, 0.78, 0.16)


def plan(s: Scene) -> None:
    """A plan in ink: contour lines, the line itself, a scale, a north arrow."""
    s.pen.rectangle((0, 0, s.w, s.h), fill=238)
    s.pen.rectangle((s.w * 0.03, s.h * 0.05, s.w * 0.97, s.h * 0.95), outline=90, width=3)
    for n in range(9):
        cx, cy = s.w * s.rng.uniform(0.2, 0.85), s.h * s.rng.uniform(0.2, 0.8)
        for ring in range(5):
            r = (ring + 1) * s.h * 0.045
            points = [
                (
                    cx + r * (1 + 0.18 * math.sin(3 * a + n)) * math.cos(a),
                    cy + 0.7 * r * (1 + 0.15 * math.cos(2 * a + n)) * math.sin(a),
                )
                for a in (2 * math.pi * k / 40 for k in range(41))
            ]
            s.pen.line(points, fill=186, width=2)
    line = [
        (
            s.w * (0.08 + 0.84 * k / 40),
            s.h * (0.82 - 0.6 * k / 40 + 0.10 * math.sin(k / 3.2 + s.rng.random() * 0.05)),
        )
        for k in range(41)
    ]
    s.pen.line(line, fill=40, width=5, joint="curve")
    for k in range(1, 40, 2):
        x, y = line[k]
        s.pen.line((x - 6, y - 9, x + 6, y + 9), fill=40, width=2)
    s.pen.rectangle((s.w * 0.10, s.h * 0.885, s.w * 0.34, s.h * 0.90), outline=60, width=2)
    s.pen.rectangle((s.w * 0.10, s.h * 0.885, s.w * 0.18, s.h * 0.90), fill=60)
    x, y = s.w * 0.90, s.h * 0.16
    s.pen.line((x, y + s.h * 0.1, x, y - s.h * 0.05), fill=60, width=3)
    s.pen.polygon([(x, y - s.h * 0.07), (x - 8, y - s.h * 0.03), (x + 8, y - s.h * 0.03)], fill=60)


def panorama(s: Scene) -> None:
    """A long view in three prints, the joins visible."""
    ridge(s)
    water_line = int(s.h * 0.66)
    s.pen.ellipse((s.w * 0.38, water_line, s.w * 0.62, s.h * 0.76), fill=206)
    for n in range(12):
        s.pen.line(
            (
                s.w * (0.03 + 0.03 * n),
                s.h * (0.93 - 0.015 * n),
                s.w * (0.06 + 0.03 * n),
                s.h * (0.92 - 0.015 * n),
            ),
            fill=40,
            width=4,
        )
    for third in (1, 2):
        x = s.w * third / 3
        s.pen.line((x, 0, x + 3, s.h), fill=150, width=3)
        s.pen.line((x + 4, 0, x + 7, s.h), fill=236, width=2)


def gathering(s: Scene) -> None:
    """What this picture shows is not for us to draw: an empty slope."""
    pasture(s)


SCENES: dict[str, Callable[[Scene], None]] = {
    "map": plan,
    "cutting": land.cutting,
    "tunnel portal": built.portal,
    "tunnel": built.heading,
    "viaduct": built.viaduct,
    "gorge": land.gorge,
    "scaffold": built.scaffold,
    "camp": land.camp,
    "van": lambda s: land.camp(s, tents=3, van=True),
    "portrait": sitters.studio,
    "camp table": sitters.camp_table,
    "bridge": bridge,
    "river": river,
    "train": train,
    "engine": engine_alone,
    "station": station,
    "pack train": pack_train,
    "pasture": pasture,
    "herd": lambda s: pasture(s, herd=True),
    "gathering": gathering,
    "memorial": memorial,
    "works": works,
    "table": sitters.table,
    "panorama": panorama,
    "ridge": ridge,
}
