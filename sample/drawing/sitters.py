"""Drawn scenes of people near by: in the studio, at a table. No likeness of anybody."""

from PIL import Image, ImageDraw, ImageFilter

from drawing.land import Scene, mountain, ridge


def studio(s: Scene, count: int = 1, *, woman: bool = False, camera: bool = False) -> None:
    """A portrait: painted backdrop, carpet, a chair, one or two sitters to the knee."""
    for y in range(s.h):
        s.pen.line((0, y, s.w, y), fill=int(196 - 30 * abs(y / s.h - 0.4)))
    s.pen.rectangle((0, s.h * 0.86, s.w, s.h), fill=120)
    for n in range(12):
        s.pen.line((s.w * n / 12, s.h * 0.86, s.w * (n - 2) / 12, s.h), fill=100, width=2)
    shade = Image.new("L", (s.w, s.h), 0)
    ImageDraw.Draw(shade).rectangle((s.w * 0.7, 0, s.w, s.h * 0.8), fill=70)
    s.image.paste(90, (0, 0), shade.filter(ImageFilter.GaussianBlur(s.w * 0.06)))
    s.pen.rectangle((s.w * 0.12, s.h * 0.55, s.w * 0.17, s.h * 0.95), fill=54)
    s.pen.rectangle((s.w * 0.10, s.h * 0.52, s.w * 0.36, s.h * 0.57), fill=60)
    for n in range(count):
        x = s.w * (0.5 if count == 1 else 0.34 + 0.36 * n)
        sitter(s, x, s.h * (0.99 + 0.02 * n), s.h * s.rng.uniform(0.78, 0.86), dress=woman)
    if camera:
        for spread in (-0.12, 0.0, 0.12):
            s.pen.line(
                (s.w * 0.80, s.h * 0.62, s.w * (0.80 + spread), s.h * 0.99), fill=40, width=6
            )
        s.pen.rectangle((s.w * 0.70, s.h * 0.49, s.w * 0.92, s.h * 0.63), fill=70)
        s.pen.ellipse((s.w * 0.665, s.h * 0.53, s.w * 0.735, s.h * 0.59), fill=28)


def sitter(s: Scene, x: float, foot: float, tall: float, *, dress: bool = False) -> None:
    """One person: long coat or dress, collar, face, hair or hat. No likeness of anybody."""
    coat = s.rng.randint(34, 66)
    hem = tall * (0.30 if dress else 0.17)
    shoulder = tall * 0.17
    s.pen.polygon(
        [
            (x - hem, foot),
            (x - shoulder * 0.75, foot - tall * 0.45),
            (x - shoulder, foot - tall * 0.74),
            (x - tall * 0.05, foot - tall * 0.80),
            (x + tall * 0.05, foot - tall * 0.80),
            (x + shoulder, foot - tall * 0.74),
            (x + shoulder * 0.75, foot - tall * 0.45),
            (x + hem, foot),
        ],
        fill=coat,
    )
    for side in (-1, 1):
        arm = [
            (x + side * shoulder * 0.95, foot - tall * 0.73),
            (x + side * shoulder * 1.25, foot - tall * 0.50),
            (x + side * shoulder * 0.55, foot - tall * 0.38),
        ]
        s.pen.line(arm, fill=max(20, coat - 10), width=int(tall * 0.075), joint="curve")
        hx, hy = arm[2]
        s.pen.ellipse(
            (hx - tall * 0.03, hy - tall * 0.025, hx + tall * 0.03, hy + tall * 0.03), fill=182
        )
    s.pen.polygon(
        [
            (x - tall * 0.045, foot - tall * 0.80),
            (x + tall * 0.045, foot - tall * 0.80),
            (x, foot - tall * 0.66),
        ],
        fill=220,
    )
    face(s, x, foot - tall * 0.89, tall, dress=dress)


def face(s: Scene, x: float, head_y: float, tall: float, *, dress: bool) -> None:
    """Hair, face, beard or hat."""
    s.pen.ellipse(
        (x - tall * 0.085, head_y - tall * 0.105, x + tall * 0.085, head_y + tall * 0.03), fill=50
    )
    s.pen.ellipse(
        (x - tall * 0.067, head_y - tall * 0.075, x + tall * 0.067, head_y + tall * 0.095), fill=188
    )
    s.pen.ellipse(
        (x + tall * 0.012, head_y - tall * 0.05, x + tall * 0.066, head_y + tall * 0.08), fill=170
    )
    if dress:
        s.pen.ellipse(
            (x - tall * 0.05, head_y - tall * 0.16, x + tall * 0.05, head_y - tall * 0.07), fill=50
        )
    for side in (-1, 1):
        s.pen.ellipse(
            (x + side * tall * 0.028 - 2, head_y - 2, x + side * tall * 0.028 + 2, head_y + 2),
            fill=60,
        )
    s.pen.line(
        (x - tall * 0.02, head_y + tall * 0.055, x + tall * 0.02, head_y + tall * 0.055),
        fill=110,
        width=2,
    )
    beard, hat = s.rng.random() < 0.6, s.rng.random() < 0.35
    if not dress and beard:
        s.pen.chord(
            (x - tall * 0.05, head_y + tall * 0.01, x + tall * 0.05, head_y + tall * 0.12),
            0,
            180,
            fill=70,
        )
    if not dress and hat:
        s.pen.rectangle(
            (x - tall * 0.11, head_y - tall * 0.085, x + tall * 0.11, head_y - tall * 0.065),
            fill=30,
        )
        s.pen.rectangle(
            (x - tall * 0.07, head_y - tall * 0.16, x + tall * 0.07, head_y - tall * 0.07), fill=30
        )


def camp_table(s: Scene) -> None:
    """Two men at a table before the posts of a shed."""
    s.snow = True
    ridge(s)
    for n in range(7):
        x = s.w * (0.06 + 0.145 * n)
        s.pen.line((x, s.h * 0.30, x + 3, s.h * 0.64), fill=46, width=5)
    for x, tall in ((0.28, 0.56), (0.74, 0.60)):
        sitter(s, s.w * x, s.h * 0.93, s.h * tall)
    s.pen.rectangle((s.w * 0.14, s.h * 0.74, s.w * 0.90, s.h * 0.785), fill=150)
    for x in (0.18, 0.86):
        s.pen.rectangle((s.w * x, s.h * 0.785, s.w * (x + 0.02), s.h * 0.97), fill=60)
    s.pen.rectangle((s.w * 0.46, s.h * 0.70, s.w * 0.60, s.h * 0.745), fill=226)


def table(s: Scene) -> None:
    """A composite: figures cut from other prints, of unequal size, round one long table."""
    for y in range(s.h):
        s.pen.line((0, y, s.w, y), fill=150 + int(40 * y / s.h))
    mountain(s, 0.36, 0.10, 176)
    for n in range(11):
        x = s.w * (0.07 + 0.086 * n)
        tall = s.h * s.rng.uniform(0.36, 0.58)
        foot = s.h * (0.80 + s.rng.uniform(-0.03, 0.03))
        edge = tall * 0.21
        s.pen.polygon(
            [
                (x - edge, foot),
                (x - edge * 0.9, foot - tall * 0.8),
                (x - edge * 0.45, foot - tall * 1.03),
                (x + edge * 0.45, foot - tall * 1.03),
                (x + edge * 0.95, foot - tall * 0.8),
                (x + edge, foot),
            ],
            fill=s.rng.randint(200, 232),
        )
        sitter(s, x, foot, tall, dress=n in (4, 9))
    s.pen.polygon(
        [(s.w * 0.06, s.h * 0.70), (s.w * 0.94, s.h * 0.70), (s.w, s.h * 0.84), (0, s.h * 0.84)],
        fill=226,
    )
    s.pen.rectangle((0, s.h * 0.84, s.w, s.h), fill=96)
    for n in range(14):
        x = s.w * (0.08 + 0.063 * n)
        s.pen.ellipse((x - 11, s.h * 0.745, x + 11, s.h * 0.775), fill=190, outline=120)
