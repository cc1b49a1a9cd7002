"""Draws the pages of the demo album from its own catalogue and layout: `python -m drawing` in `sample/`.

Needs Pillow. Same input, same pictures: the only chance is a generator seeded with the number of
the item. Nothing is copied from any picture; captions are strokes, not words.
"""

import csv
import math
import random
from pathlib import Path

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageOps

from drawing import built, land, sitters, works
from drawing.land import Scene

HERE = Path(__file__).parent.parent
PER_MM = 3
PAGE, FOLD_OUT = (1620, 1200), (2700, 1200)
QUALITY = 78

ALBUMEN = ((44, 28, 22), (150, 110, 82), (240, 222, 186))
FADED = ((84, 62, 46), (176, 142, 106), (238, 222, 184))
WAX = ((50, 26, 14), (164, 98, 56), (244, 214, 168))
INK = ((40, 38, 36), (138, 132, 122), (236, 229, 210))
PENCIL = ((86, 82, 76), (160, 152, 138), (232, 222, 198))


def read(name: str) -> list[dict[str, str]]:
    """Rows of one of the project's own tables."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def grain(size: tuple[int, int], rng: random.Random, blur: float) -> Image.Image:
    """Even noise around mid grey."""
    small = Image.frombytes("L", size, rng.randbytes(size[0] * size[1]))
    return small.filter(ImageFilter.GaussianBlur(blur))


def paper(size: tuple[int, int], seed: str) -> Image.Image:
    """A page: warm paper, darker towards the edges, a few brown specks, a gutter at the left."""
    rng = random.Random("paper " + seed)
    base = Image.new("RGB", size, (226, 213, 184))
    fibres = ImageOps.colorize(grain(size, rng, 2.2), (196, 180, 146), (250, 240, 216))
    page = Image.blend(base, fibres, 0.30)
    edge = Image.new("L", size, 0)
    ImageDraw.Draw(edge).rectangle((70, 60, size[0] - 70, size[1] - 60), fill=255)
    edge = ImageOps.invert(edge.filter(ImageFilter.GaussianBlur(70)))
    page.paste((170, 146, 106), (0, 0), edge.point(lambda value: value * 2 // 5))
    pen = ImageDraw.Draw(page, "RGBA")
    for _ in range(90):
        x, y, r = rng.uniform(0, size[0]), rng.uniform(0, size[1]), rng.uniform(0.8, 3.4)
        pen.ellipse((x - r, y - r, x + r, y + r), fill=(140, 100, 56, rng.randint(20, 80)))
    for x in range(60):
        pen.line((x, 0, x, size[1]), fill=(90, 70, 44, int(110 * (1 - x / 60) ** 2)))
    return page


def toned(grey: Image.Image, tones: tuple[tuple[int, ...], ...], seed: str) -> Image.Image:
    """A grey drawing as a print: soft, with grain, fading at the edges, in the tones of its process."""
    rng = random.Random("tone " + seed)
    soft = ImageOps.autocontrast(grey.filter(ImageFilter.GaussianBlur(0.9)), cutoff=(0.2, 0.2))
    soft = Image.blend(soft, grain(grey.size, rng, 0.9), 0.07)
    dark, middle, light = tones
    print_ = ImageOps.colorize(soft, dark, light, mid=middle)
    fade = Image.new("L", grey.size, 255)
    margin = max(6, min(grey.size) // 16)
    ImageDraw.Draw(fade).rectangle(
        (margin, margin, grey.width - margin, grey.height - margin), fill=0
    )
    fade = fade.filter(ImageFilter.GaussianBlur(margin))
    print_.paste(light, (0, 0), fade.point(lambda value: value // 4))
    return print_


def scene(item: dict[str, str], size: tuple[int, int], shift: float = 0.0) -> Image.Image:
    """The drawing of an item in grey, at twice its size and then reduced."""
    subjects = [word.strip() for word in item["Subjects"].split(";")]
    number = item["Number"]
    seed = {"0111": "0101", "0104": "0101", "0083": "0082", "0122": "0121", "0124": "0070"}.get(
        number, number
    )
    s = Scene(size[0] * 2, size[1] * 2, seed, snow="snow" in subjects)
    s.rng.random()
    special = {
        "0078": lambda: built.viaduct(s, 1, deck=False),
        "0082": lambda: built.viaduct(s, 2, deck=False),
        "0079": lambda: built.viaduct(s, 2, deck=False, scaffold=True),
        "0083": lambda: built.viaduct(s, 6),
        "0091": lambda: built.portal(s, fallen=True),
        "0102": lambda: sitters.camp_table(s),
        "0112": lambda: works.bridge(s, broken=True),
        "0080": lambda: sitters.studio(s, woman=True),
        "0086": lambda: sitters.studio(s, woman=True, camera=True),
        "0117": lambda: sitters.studio(s, 2, woman=True),
        "0115": lambda: shed(s, stone=True),
        "0126": lambda: shed(s, stone=True),
        "0110": lambda: shed(s, whole=False),
        "0114": lambda: shed(s, stone=True),
        "0106": lambda: (shed(s), works.sledge(s)),
        "0108": lambda: (shed(s), roofers(s)),
        "0101": lambda: (land.cutting(s), built.snow_shed(s), works.sledge(s)),
        "0111": lambda: (land.cutting(s), built.snow_shed(s), works.sledge(s)),
        "0104": lambda: (land.cutting(s), built.snow_shed(s)),
        "0100": lambda: (land.ridge(s), works.sledge(s, count=3)),
    }
    first = next((word for word in subjects if word in works.SCENES), "ridge")
    special.get(number, lambda: works.SCENES[first](s))()
    if (
        number not in special
        and "party" in subjects
        and first not in ("tunnel", "table", "train", "bridge")
    ):
        land.people(s, 7, 0.93, 0.17)
    if shift:
        s.image = ImageChops.offset(s.image, int(shift * s.w), 0)
    return s.image.resize(size, Image.Resampling.LANCZOS)


def shed(s: Scene, *, whole: bool = True, stone: bool = False) -> None:
    """The ridge, the track, and a shed."""
    land.ridge(s)
    land.track(s, 0.44, 0.74)
    built.snow_shed(s, whole=whole, stone=stone)


def roofers(s: Scene) -> None:
    """Men with shovels on the roof of the shed."""
    for n in range(6):
        x, y = s.w * (0.54 + 0.075 * n), s.h * (0.495 - 0.021 * n)
        land.figure(s, x, y, s.h * (0.10 + 0.01 * n), 34)
        s.pen.line((x, y - s.h * 0.06, x + s.w * 0.03, y + s.h * 0.005), fill=40, width=4)


def millimetres(item: dict[str, str], what: str) -> tuple[int, int] | None:
    """Width and height, in pixels, of one part of `Size`."""
    for part in item["Size"].split(";"):
        name, _, numbers = part.strip().partition(": ")
        if name == what:
            height, width = numbers.removesuffix(" mm").split(" x ")
            return int(width) * PER_MM, int(height) * PER_MM
    return None


def picture(item: dict[str, str]) -> Image.Image:
    """An item as it lies on the page: print, card with its mount, sheet with its margin."""
    kind, number = item["Kind"], item["Number"]
    if kind == "stereo card":
        return stereo(item)
    mount, image = millimetres(item, "mount"), millimetres(item, "image")
    if mount and image:
        card = Image.new("RGB", mount, (233, 221, 192))
        pen = ImageDraw.Draw(card)
        pen.rectangle((1, 1, mount[0] - 2, mount[1] - 2), outline=(178, 140, 90), width=2)
        left, top = (mount[0] - image[0]) // 2, (mount[0] - image[0]) // 2
        card.paste(toned(scene(item, image), ALBUMEN, number), (left, top))
        if item["Lettering"]:
            strokes(
                pen,
                mount[0] * 0.2,
                mount[1] - 13,
                mount[0] * 0.6,
                4,
                random.Random(number),
                (120, 84, 50),
            )
        return card
    if kind in ("lithograph", "drawing"):
        return sheet(item)
    assert image
    tones = WAX if number == "0110" else FADED if int(number) % 5 == 0 else ALBUMEN
    return toned(scene(item, image), tones, number)


def stereo(item: dict[str, str]) -> Image.Image:
    """A card with two halves under arched tops, the right one taken a little to the side."""
    size = millimetres(item, "mount")
    assert size
    colour = random.Random(item["Number"]).choice(
        ((216, 186, 116), (208, 196, 168), (196, 176, 140))
    )
    card = Image.new("RGB", size, colour)
    half = (234, 228)
    for number, left in enumerate((21, size[0] - 21 - half[0])):
        print_ = toned(scene(item, half, shift=-0.02 * number), ALBUMEN, item["Number"])
        mask = Image.new("L", (half[0] * 2, half[1] * 2), 0)
        ImageDraw.Draw(mask).rounded_rectangle(
            (0, 0, half[0] * 2, half[1] * 2 + 120), 120, fill=255
        )
        card.paste(print_, (left, 18), mask.resize(half, Image.Resampling.LANCZOS))
    return card


def sheet(item: dict[str, str]) -> Image.Image:
    """A drawing or a lithograph: the picture within the margin of its sheet."""
    size = millimetres(item, "sheet")
    assert size
    pencil = item["Process"] == "pencil"
    page = Image.new("RGB", size, (236, 229, 208) if not pencil else (224, 212, 180))
    inner = (size[0] - 60, size[1] - 84)
    drawn = scene(item, inner)
    if item["Kind"] == "lithograph":
        drawn = hatched(drawn)
    elif "map" not in item["Subjects"]:
        drawn = ImageOps.invert(drawn.filter(ImageFilter.FIND_EDGES)).filter(
            ImageFilter.GaussianBlur(0.6)
        )
    page.paste(toned(drawn, PENCIL if pencil else INK, item["Number"]), (30, 26))
    if item["Lettering"]:
        pen, rng = ImageDraw.Draw(page), random.Random(item["Number"])
        strokes(pen, size[0] * 0.30, size[1] - 36, size[0] * 0.4, 7, rng, (60, 56, 52))
        strokes(pen, size[0] * 0.40, size[1] - 18, size[0] * 0.2, 4, rng, (90, 86, 80))
    return page


def hatched(grey: Image.Image) -> Image.Image:
    """A grey picture as lines of crayon on stone."""
    lines = Image.new("L", grey.size, 255)
    pen = ImageDraw.Draw(lines)
    for n in range(-grey.height, grey.width, 5):
        pen.line((n, 0, n + grey.height, grey.height), fill=150, width=2)
    shaded = ImageChops.multiply(ImageOps.autocontrast(grey), lines)
    return Image.blend(shaded, ImageOps.posterize(ImageOps.autocontrast(grey), 3), 0.55)


def strokes(
    pen: ImageDraw.ImageDraw,
    x: float,
    y: float,
    width: float,
    size: float,
    rng: random.Random,
    ink: tuple[int, ...],
) -> None:
    """A line of handwriting that says nothing: words of slanting loops, some tall, some hanging."""
    at = x
    while at < x + width:
        letters = rng.randint(2, 7)
        word: list[tuple[float, float]] = []
        for n in range(letters):
            tall = 1.5 if rng.random() < (0.5 if n == 0 else 0.22) else rng.uniform(0.5, 0.7)
            drop = 0.9 if rng.random() < 0.12 else 0.0
            wide = size * rng.uniform(0.42, 0.62)
            for k in range(13):
                a = 2 * math.pi * k / 12
                rise = (1 - math.cos(a)) / 2
                up = rise * tall - (drop * max(0.0, math.sin(a - 2.6)))
                lean = 0.34 * up * size
                word.append((at + wide * k / 12 + lean + 0.20 * wide * math.sin(a), y - up * size))
            at += wide * 0.92
        pen.line(word, fill=ink, width=max(1, round(size / 6.5)), joint="curve")
        at += size * 0.75


def paste(page: Image.Image, item: dict[str, str], region: list[int]) -> None:
    """Put a picture in its place: in a box, or cut to a polygon, with the shadow of its edge."""
    made = picture(item)
    if len(region) == 4:
        left, top = region[:2]
        mask = Image.new("L", made.size, 255)
    else:
        xs, ys = region[0::2], region[1::2]
        left, top = min(xs), min(ys)
        if len(xs) == 4:
            angle = math.degrees(math.atan2(ys[1] - ys[0], xs[1] - xs[0]))
            made = made.rotate(
                -angle, Image.Resampling.BICUBIC, expand=True, fillcolor=(224, 212, 180)
            )
        size = (max(xs) - left, max(ys) - top)
        made = ImageOps.fit(made, size)
        mask = Image.new("L", (size[0] * 2, size[1] * 2), 0)
        corners = [((x - left) * 2, (y - top) * 2) for x, y in zip(xs, ys, strict=True)]
        ImageDraw.Draw(mask).polygon(corners, fill=255)
        mask = mask.resize(size, Image.Resampling.LANCZOS)
    shadow = Image.new("L", page.size, 0)
    shadow.paste(mask, (left + 4, top + 5))
    page.paste(
        (120, 98, 66),
        (0, 0),
        shadow.filter(ImageFilter.GaussianBlur(5)).point(lambda value: value * 3 // 5),
    )
    page.paste(made, (left, top), mask)
    if item["Caption"]:
        rng = random.Random("caption " + item["Number"])
        bottom = top + made.height
        width = min(made.width * 0.7, 20 + 7 * len(item["Caption"]))
        strokes(
            ImageDraw.Draw(page),
            left + made.width / 2 - width / 2,
            bottom + 30,
            width,
            13,
            rng,
            (74, 56, 40),
        )


def cover() -> Image.Image:
    """Half leather: a spine, corners, marbled boards, a stamped frame."""
    rng = random.Random("cover")
    width, height = PAGE[0] + 60, PAGE[1] + 60
    board = ImageOps.colorize(grain((width, height), rng, 9), (58, 66, 60), (120, 122, 100))
    veins = ImageOps.autocontrast(grain((width, height), rng, 14)).point(
        lambda v: 255 if 120 < v < 132 else 0
    )
    board.paste(
        (150, 120, 76), (0, 0), veins.filter(ImageFilter.GaussianBlur(1.2)).point(lambda v: v // 2)
    )
    leather = ImageOps.colorize(
        ImageOps.autocontrast(grain((width, height), rng, 1.4)), (62, 34, 22), (104, 62, 40)
    )
    mask = Image.new("L", (width, height), 0)
    pen = ImageDraw.Draw(mask)
    pen.rectangle((0, 0, 250, height), fill=255)
    pen.polygon([(width, 0), (width - 210, 0), (width, 210)], fill=255)
    pen.polygon([(width, height), (width - 210, height), (width, height - 210)], fill=255)
    board.paste(leather, (0, 0), mask)
    pen = ImageDraw.Draw(board)
    gold = (196, 158, 84)
    for inset in (0, 9):
        pen.line((262 + inset, 0, 262 + inset, height), fill=gold, width=3)
        pen.rectangle((560 - inset, 420 - inset, 1320 + inset, 720 + inset), outline=gold, width=3)
    pen.rectangle((566, 426, 1314, 714), fill=(74, 42, 28))
    for n in range(3):
        strokes(pen, 680 + 40 * n, 520 + 62 * n, 500 - 90 * n, 26 - 6 * n, rng, gold)
    pen.line((620, 690, 1260, 690), fill=gold, width=2)
    return board


def verso() -> Image.Image:
    """The back of a card: a printed cartouche, and a signature in ink."""
    card = paper((189 * 2, 312 * 2), "0069 verso")
    pen, rng = ImageDraw.Draw(card), random.Random("0069 verso")
    pen.rounded_rectangle((70, 150, 308, 330), 60, outline=(150, 100, 60), width=3)
    strokes(pen, 112, 225, 150, 12, rng, (140, 90, 54))
    strokes(pen, 140, 265, 100, 9, rng, (140, 90, 54))
    strokes(pen, 90, 470, 200, 24, rng, (46, 40, 58))
    return card


def raking(sheet: Image.Image) -> Image.Image:
    """The same sheet with the light from the left: its grain, and the ridges of two old folds."""
    grey = ImageOps.grayscale(sheet)
    relief = ImageChops.add(
        grey.filter(ImageFilter.EMBOSS), grain(grey.size, random.Random("raking"), 1.1), 2.4, -20
    )
    pen = ImageDraw.Draw(relief)
    for at in (grey.width // 3, 2 * grey.width // 3):
        pen.line((at - 2, 0, at - 2, grey.height), fill=225, width=3)
        pen.line((at + 2, 0, at + 2, grey.height), fill=70, width=3)
    light = Image.linear_gradient("L").rotate(90).resize(grey.size)
    shaded = ImageChops.multiply(relief, light.point(lambda value: 110 + value * 145 // 255))
    return Image.blend(ImageOps.colorize(shaded, (26, 22, 18), (252, 240, 212)), sheet, 0.25)


def main() -> None:
    """Draw every page of layout.csv, and the pictures that lie beside the pages."""
    items = {f"object/item-{row['Number']}": row for row in read("catalogue/items.csv")}
    layout = read("evidence/layout.csv")
    out = HERE / "images"
    out.mkdir(exist_ok=True)
    pages = [row for row in layout if row["side"] in ("recto", "fold-out")]
    for row in pages:
        name = row["thing"].removeprefix("object/")
        page = paper(FOLD_OUT if row["side"] == "fold-out" else PAGE, name)
        if row["side"] == "fold-out":
            ImageDraw.Draw(page).line((PAGE[0], 0, PAGE[0], PAGE[1]), fill=(186, 168, 132), width=3)
        for placed in layout:
            if placed["on"] == row["thing"]:
                region = [int(number) for number in placed["region"].split(",")]
                paste(page, items[placed["thing"]], region)
        page.save(out / f"{name}.jpg", quality=QUALITY, optimize=True)
    cover().save(out / "album-1-cover.jpg", quality=QUALITY, optimize=True)
    loose = picture(items["object/item-0104"])
    loose.save(out / "item-0104.jpg", quality=86, optimize=True)
    raking(loose).save(out / "item-0104-raking.jpg", quality=QUALITY, optimize=True)
    verso().save(out / "item-0069-verso.jpg", quality=QUALITY, optimize=True)


if __name__ == "__main__":
    main()
