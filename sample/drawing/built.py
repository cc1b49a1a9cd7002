"""Drawn scenes of what was built: sheds, piers and arches, scaffolds, the tunnel."""

import math

from PIL import Image, ImageDraw, ImageFilter

from drawing.land import Scene, figure, gorge, ground, mountain, people, sky, smoke, track


def snow_shed(s: Scene, *, whole: bool = True, stone: bool = False) -> None:
    """A shed over the track at the right: posts, roof, and the dark inside."""
    x0, x1, top, foot = s.w * 0.52, s.w * 0.97, s.h * 0.36, s.h * 0.80
    if whole:
        s.pen.polygon(
            [(x0, top + s.h * 0.13), (x1, top), (x1, foot), (x0, foot - s.h * 0.10)], fill=52
        )
    for n in range(9):
        t = n / 8
        x = x0 + (x1 - x0) * t
        head = top + s.h * (0.13 * (1 - t)) + (0 if whole else s.rng.uniform(0, 0.22) * s.h)
        s.pen.line(
            (x, head, x, foot - s.h * 0.10 * (1 - t)),
            fill=172 if stone else 30,
            width=int(4 + 7 * t) * (2 if stone else 1),
        )
    if whole:
        roof = [
            (x0 - s.w * 0.03, top + s.h * 0.12),
            (x1, top - s.h * 0.05),
            (x1, top + s.h * 0.05),
            (x0 - s.w * 0.02, top + s.h * 0.17),
        ]
        s.pen.polygon(roof, fill=s.tone(120, 232))
        s.pen.line((roof[3], roof[2]), fill=40, width=4)
    else:
        for _ in range(24):
            x, y = s.rng.uniform(x0, x1), s.rng.uniform(foot - s.h * 0.12, foot + s.h * 0.05)
            s.pen.line(
                (x, y, x + s.rng.uniform(-40, 40), y + s.rng.uniform(-14, 10)), fill=26, width=5
            )
        smoke(s, 0.74, 0.5, 160)


def viaduct(s: Scene, piers: int = 6, *, deck: bool = True, scaffold: bool = False) -> None:
    """Piers over the gorge; with a deck and arches when it is finished."""
    gorge(s)
    top, span, thick = s.h * 0.38, s.w * 0.88 / 6, s.w * 0.016
    for n in range(piers):
        x = s.w * 0.06 + span * (n + 0.5)
        depth = s.h * (0.62 + 0.32 * math.sin(math.pi * (n + 0.5) / 6))
        foot = thick * 1.5
        s.pen.polygon(
            [(x - thick, top), (x + thick, top), (x + foot, depth), (x - foot, depth)], fill=196
        )
        s.pen.polygon(
            [(x + thick * 0.3, top), (x + thick, top), (x + foot, depth), (x + foot * 0.4, depth)],
            fill=134,
        )
        for k in range(14):
            y = top + (depth - top) * k / 14
            s.pen.line((x - foot, y, x + foot, y), fill=168, width=2)
        if scaffold or not deck:
            lattice(s, x - s.w * 0.035, top - s.h * 0.05, x + s.w * 0.035, depth)
    if deck:
        wall = Image.new("L", (s.w, s.h), 0)
        pen = ImageDraw.Draw(wall)
        pen.rectangle((0, top - s.h * 0.02, s.w, top + s.h * 0.13), fill=255)
        for n in range(-1, 7):
            x = s.w * 0.06 + span * (n + 0.5)
            pen.ellipse((x + thick, top + s.h * 0.02, x + span - thick, top + s.h * 0.30), fill=0)
        s.image.paste(182, (0, 0), wall)
        s.pen.rectangle((0, top - s.h * 0.035, s.w, top - s.h * 0.005), fill=206)
        s.pen.line((0, top - s.h * 0.005, s.w, top - s.h * 0.005), fill=110, width=4)
        for n in range(60):
            s.pen.line(
                (s.w * n / 60, top - s.h * 0.06, s.w * n / 60, top - s.h * 0.035), fill=70, width=2
            )
        s.pen.line((0, top - s.h * 0.06, s.w, top - s.h * 0.06), fill=60, width=3)


def lattice(s: Scene, x0: float, y0: float, x1: float, y1: float) -> None:
    """Timber scaffolding: uprights, ledgers, braces."""
    rows = max(3, int((y1 - y0) / (s.h * 0.07)))
    for x in (x0, (x0 + x1) / 2, x1):
        s.pen.line((x, y0, x + s.rng.uniform(-3, 3), y1), fill=44, width=3)
    for n in range(rows + 1):
        y = y0 + (y1 - y0) * n / rows
        s.pen.line((x0 - 5, y, x1 + 5, y), fill=50, width=2)
        if n < rows:
            below = y0 + (y1 - y0) * (n + 1) / rows
            s.pen.line((x0, y, x1, below) if n % 2 else (x1, y, x0, below), fill=70, width=2)


def scaffold(s: Scene) -> None:
    """A tower of timber that fills an upright picture."""
    sky(s)
    mountain(s, 0.55, 0.10, 150)
    ground(s, 0.9)
    for n in range(3):
        lattice(
            s,
            s.w * (0.14 + 0.05 * n + 0.22 * n),
            s.h * (0.06 + 0.05 * n),
            s.w * (0.36 + 0.27 * n),
            s.h * 0.95,
        )
    for _ in range(5):
        figure(s, s.rng.uniform(0.2, 0.8) * s.w, s.h * s.rng.choice((0.42, 0.58, 0.95)), s.h * 0.05)


def portal(s: Scene, *, fallen: bool = False) -> None:
    """The mouth of a tunnel in a rock face."""
    sky(s)
    mountain(s, 0.16, 0.06, s.tone(96, 190))
    ground(s, 0.80)
    x0, x1, top, foot = s.w * 0.36, s.w * 0.64, s.h * 0.38, s.h * 0.84
    ring = s.w * 0.035
    s.pen.rectangle((x0 - ring * 1.6, top - ring * 1.9, x1 + ring * 1.6, foot), fill=150)
    s.pen.pieslice((x0 - ring, top - ring, x1 + ring, top + (x1 - x0) + ring), 180, 360, fill=196)
    s.pen.rectangle((x0, top + (x1 - x0) / 2, x1, foot), fill=18)
    s.pen.pieslice((x0, top, x1, top + (x1 - x0)), 180, 360, fill=18)
    for n in range(13):
        a = math.pi + math.pi * n / 12
        cx, cy, r = (x0 + x1) / 2, top + (x1 - x0) / 2, (x1 - x0) / 2
        s.pen.line(
            (
                cx + r * math.cos(a),
                cy + r * math.sin(a),
                cx + (r + ring) * math.cos(a),
                cy + (r + ring) * math.sin(a),
            ),
            fill=90,
            width=3,
        )
    track(s, 0.5, 0.80)
    if fallen:
        for _ in range(90):
            x, y, r = (
                s.rng.gauss(s.w * 0.5, s.w * 0.13),
                s.rng.uniform(0.66, 0.92) * s.h,
                s.rng.uniform(6, 30),
            )
            s.pen.polygon(
                [
                    (x + r * math.cos(a), y + r * 0.7 * math.sin(a))
                    for a in sorted(s.rng.uniform(0, 6.28) for _ in range(6))
                ],
                fill=s.rng.choice((70, 100, 134, 160)),
            )
    people(s, 3, 0.90, 0.15)


def heading(s: Scene) -> None:
    """Inside the tunnel: a flash, men, the dark."""
    s.pen.rectangle((0, 0, s.w, s.h), fill=24)
    light = Image.new("L", (s.w, s.h), 0)
    ImageDraw.Draw(light).ellipse((s.w * 0.22, s.h * 0.12, s.w * 0.80, s.h * 1.05), fill=170)
    s.image.paste(150, (0, 0), light.filter(ImageFilter.GaussianBlur(s.w * 0.09)))
    for _ in range(260):
        x, y = s.rng.gauss(s.w * 0.5, s.w * 0.2), s.rng.uniform(0.1, 0.8) * s.h
        s.pen.line(
            (x, y, x + s.rng.uniform(-20, 20), y + s.rng.uniform(4, 22)),
            fill=s.rng.choice((40, 60, 96)),
            width=3,
        )
    for n in range(4):
        x = s.w * (0.1 + 0.27 * n)
        s.pen.line((x, 0, x + s.w * 0.03, s.h), fill=14, width=16)
    people(s, 5, 0.93, 0.46)
