"""Static image services: every file that the rules of the Image API give, and not a pixel too many.

The addresses are worked out here from the text of https://iiif.io/api/image/3.0/ alone.
"""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import orjson
import pytest
import pyvips
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lodpipe.archive import Release
from lodpipe.errors import ManyErrors
from lodpipe.export.folder import Folder, Written
from lodpipe.export.pictures import MEMORY, write_pictures
from lodpipe.project import Project, load
from lodpipe.publish import iiif, pictures
from lodpipe.publish.iiif import Source, tiles
from lodpipe.records import Tree

SAMPLE = Path(__file__).parent.parent / "sample"
BASE = "https://collections.example.org/iiif/image/album-1-p12"


def addresses(info: Tree) -> dict[str, tuple[int, int]]:
    """Every address that a viewer may make of an info.json, with the size of its answer.

    Tiles: the Python code of https://iiif.io/api/image/3.0/#a-implementation-notes, integer
    arithmetic throughout; sizes: section 5.3; the whole picture: section 4.7, canonical form.
    """
    width, height = info["width"], info["height"]
    found = {"full/max": (width, height)}
    for size in info.get("sizes", ()):
        found[f"full/{size['width']},{size['height']}"] = size["width"], size["height"]
    for tile in info["tiles"]:
        tw, th = tile["width"], tile["height"]
        for s in tile["scaleFactors"]:
            for n in range(-(-width // (tw * s))):
                for m in range(-(-height // (th * s))):
                    xr, yr = n * tw * s, m * th * s
                    wr, hr = min(tw * s, width - xr), min(th * s, height - yr)
                    ws = tw if xr + tw * s <= width else (width - xr + s - 1) // s
                    hs = th if yr + th * s <= height else (height - yr + s - 1) // s
                    found[f"{xr},{yr},{wr},{hr}/{ws},{hs}"] = ws, hs
                    if (wr, hr) == (width, height):  # what viewers ask for instead
                        found["full/max" if s == 1 else f"full/{ws},{hs}"] = ws, hs
    return {f"/{name}/0/default.jpg": size for name, size in found.items()}


side = st.integers(1, 3000)


@settings(max_examples=60)
@example(1025, 1025)
@given(side, side)
def test_every_address_that_the_specification_gives_is_made_and_no_other(
    width: int, height: int
) -> None:
    wanted = addresses(tiles.information(BASE, width, height))
    made = [(name, area[2:]) for name, _, area in iiif.files(width, height)]
    assert dict(made) == wanted
    assert len(made) == len(wanted), "a file is made twice"


def test_the_description_of_a_service() -> None:
    assert tiles.information(BASE, 1620, 1200) == {
        "@context": "http://iiif.io/api/image/3/context.json",
        "id": BASE,
        "type": "ImageService3",
        "protocol": "http://iiif.io/api/image",
        "profile": "level0",
        "width": 1620,
        "height": 1200,
        "sizes": [
            {"width": 102, "height": 75},
            {"width": 203, "height": 150},
            {"width": 405, "height": 300},
            {"width": 810, "height": 600},
        ],
        "tiles": [{"width": 512, "height": 512, "scaleFactors": [1, 2, 4, 8, 16]}],
    }
    assert "sizes" not in tiles.information(BASE, 200, 90)


# --- pixels


def save(path: Path, image: pyvips.Image, **options: object) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    image.write_to_file(str(path), **options)
    return path


def plain(width: int, height: int, colour: tuple[int, ...] = (200, 60, 20)) -> pyvips.Image:
    made = pyvips.Image.black(width, height, bands=len(colour)) + list(colour)
    return made.cast("uchar").copy(interpretation="srgb" if len(colour) >= 3 else "b-w")


def decoded(body: bytes) -> pyvips.Image:
    return pyvips.Image.new_from_buffer(body, "")


def made(folder: Path, source: Source) -> dict[str, bytes]:
    return dict(pictures.service(source, folder, BASE))


def test_each_file_has_its_size_and_its_part_of_the_picture(tmp_path: Path) -> None:
    """The red channel counts the columns, the green one the rows."""
    width, height = 1301, 777
    across = pyvips.Image.xyz(width, height).linear([255 / width, 255 / height], [0, 0])
    image = across.bandjoin(0).cast("uchar").copy(interpretation="srgb")
    save(tmp_path / "p.tif", image)
    found = made(tmp_path, Source("p.tif", (width, height)))
    info = orjson.loads(found.pop("/info.json"))
    sizes = addresses(info)
    assert found.keys() == sizes.keys()
    for name, body in found.items():
        tile = decoded(body)
        assert (tile.width, tile.height) == sizes[name], name
        region = name.split("/")[1]
        x, y, w, h = (0, 0, width, height) if region == "full" else map(int, region.split(","))
        shown = [tile.extract_band(band).avg() for band in (0, 1)]
        assert shown == pytest.approx(
            [255 * (x + w / 2) / width, 255 * (y + h / 2) / height], abs=2
        ), name


def test_the_same_file_gives_the_same_bytes(tmp_path: Path) -> None:
    noise = pyvips.Image.gaussnoise(700, 400, seed=4).cast("uchar")
    save(tmp_path / "p.png", noise)
    source = Source("p.png", (700, 400), (10, 10, 600, 300, 20, 350), ((0, 0, 50, 50),))
    assert made(tmp_path, source) == made(tmp_path, source)


def test_nothing_but_pixels_goes_out(tmp_path: Path) -> None:
    image = plain(300, 200).copy()
    image.set_type(pyvips.GValue.gstr_type, "exif-ifd0-Artist", "quovex (quovex, ASCII, 7)")
    image.set_type(pyvips.GValue.blob_type, "xmp-data", b"<x>quovex</x>")
    path = save(tmp_path / "quovex.jpg", image)
    assert b"quovex" in path.read_bytes()
    for name, body in made(tmp_path, Source("quovex.jpg", (300, 200))).items():
        assert b"quovex" not in body, name
        if name != "/info.json":
            assert b"Exif" not in body and b"ICC_PROFILE" not in body, name


def test_a_picture_stands_upright_and_regions_count_on_it_so(tmp_path: Path) -> None:
    image = plain(300, 200).draw_rect([0, 255, 0], 0, 0, 100, 100, fill=True).copy()
    image.set_type(pyvips.GValue.gint_type, "orientation", 6)  # a quarter turn clockwise
    save(tmp_path / "p.tif", image)
    found = made(tmp_path, Source("p.tif", (200, 300), (100, 0, 100, 100)))
    corner = decoded(found["/full/max/0/default.jpg"])
    assert [corner.extract_band(band).avg() for band in range(3)] == pytest.approx(
        [0, 255, 0], abs=6
    )


@pytest.mark.parametrize(
    ("image", "bands", "value"),
    [
        (plain(60, 40, (120,)), 1, [120]),
        (plain(60, 40, (200, 60, 20, 0)), 3, [255, 255, 255]),
        (
            (pyvips.Image.black(60, 40) + 30_000).cast("ushort").copy(interpretation="grey16"),
            1,
            [117],
        ),
    ],
    ids=["grey", "see-through", "sixteen bits"],
)
def test_other_kinds_of_pixels(
    tmp_path: Path, image: pyvips.Image, bands: int, value: list[float]
) -> None:
    save(tmp_path / "p.tif", image)
    shown = decoded(made(tmp_path, Source("p.tif", (60, 40)))["/full/max/0/default.jpg"])
    assert shown.bands == bands
    assert [shown.extract_band(band).avg() for band in range(bands)] == pytest.approx(value, abs=2)


def test_around_a_print_that_was_cut_by_hand_is_white(tmp_path: Path) -> None:
    save(tmp_path / "p.tif", plain(400, 300))
    corners = (100, 50, 300, 50, 200, 250)
    found = made(tmp_path, Source("p.tif", (400, 300), corners))
    cut = decoded(found["/full/max/0/default.jpg"])
    assert (cut.width, cut.height) == (200, 200)
    assert cut(2, 190) == pytest.approx([255, 255, 255], abs=4)
    assert cut(197, 190) == pytest.approx([255, 255, 255], abs=4)
    assert cut(100, 60) == pytest.approx([200, 60, 20], abs=6)
    assert cut.extract_band(2).avg() == pytest.approx((255 + 20) / 2, abs=4)  # half of the box


def pixels_like(image: pyvips.Image, colour: tuple[int, int, int]) -> float:
    """Share of the pixels that are nearly of a colour."""
    apart = sum((image.extract_band(n) - value).abs() for n, value in enumerate(colour))
    return float((apart < 90).avg()) / 255


MARK = (10, 230, 30)


def test_no_pixel_of_what_is_covered_is_in_any_file(tmp_path: Path) -> None:
    """A marked print on a page, in the whole page, its tiles, and what is cut from beside it."""
    page = plain(1620, 1200).draw_rect(list(MARK), 300, 260, 700, 500, fill=True)
    save(tmp_path / "p.png", page)
    size, covered = (1620, 1200), ((280, 240, 740, 540),)
    for region in ((), (100, 100, 900, 900), (200, 200, 1100, 300, 900, 1000)):
        for painted in (covered, ()):
            found = made(tmp_path, Source("p.png", size, region, painted))
            hits = [
                name
                for name, body in found.items()
                if name.endswith(".jpg") and pixels_like(decoded(body), MARK) > 0
            ]
            assert bool(hits) == (painted == ()), hits


@pytest.mark.parametrize(
    ("body", "size", "message", "hint"),
    [
        (None, (60, 40), "there is no file `p.tif`", "put it back, or run again"),
        (
            b"no picture",
            (60, 40),
            "`p.tif` cannot be read or cut: ",
            "look whether the file is whole",
        ),
        (
            b"",
            (60, 41),
            "`p.tif` has 60 x 40 pixels; the release was made with 60 x 41",
            "run again, so that regions are held against the file that is there",
        ),
    ],
)
def test_a_file_that_is_not_that_of_the_release(
    tmp_path: Path, body: bytes | None, size: tuple[int, int], message: str, hint: str
) -> None:
    if body:
        (tmp_path / "p.tif").write_bytes(body)
    elif body is not None:
        save(tmp_path / "p.tif", plain(60, 40))
    with pytest.raises(pictures.PictureFault) as caught:
        made(tmp_path, Source("p.tif", size))
    assert caught.value.message.startswith(message)
    assert caught.value.hint == hint


# --- the export


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The services that are made, by their id."""
    done: list[str] = []
    whole = pictures.service

    def service(source: Source, folder: Path, base: str) -> Iterator[tuple[str, bytes]]:
        done.append(base.rpartition("/")[2])
        return whole(source, folder, base)

    monkeypatch.setattr(pictures, "service", service)
    return done


@pytest.fixture
def project(tmp_path: Path) -> Project:
    """The demo's settings over an empty folder with three pictures."""
    for name, colour in (("one", (200, 60, 20)), ("two", (20, 60, 200)), ("three", MARK)):
        save(tmp_path / f"{name}.png", plain(640, 480, colour))
    (tmp_path / "archive").mkdir()
    return msgspec.structs.replace(load(SAMPLE), folder=tmp_path)


def exported(project: Project, **found: Source) -> Written:
    release = Release(1, "2026-01-31T10:00:00Z", "2026-01-31T10:00:00Z", {}, "", "", {})
    target = Folder(project.folder / "export", release)
    services = [(f"{project.site.base}iiif/image/{key}", source) for key, source in found.items()]
    write_pictures(services, project, target, lambda steps: None)
    return target.finish()


ONE, TWO = Source("one.png", (640, 480)), Source("two.png", (640, 480))


def test_a_picture_that_lies_there_is_not_made_again(project: Project, counted: list[str]) -> None:
    first = exported(project, one=ONE, two=TWO)
    assert (counted, first.same) == (["one", "two"], 0)
    counted.clear()
    again = exported(project, one=ONE, two=TWO)
    assert (counted, again.written, again.removed) == ([], [], [])
    assert again.same == len(first.written)


def another_file(project: Project) -> dict[str, Source]:
    shutil.copy(project.folder / "three.png", project.folder / "one.png")
    return {"one": ONE, "two": TWO}


def something_withheld(project: Project) -> dict[str, Source]:
    return {"one": replace(ONE, covered=((5, 5, 50, 50),)), "two": TWO}


def another_region(project: Project) -> dict[str, Source]:
    return {"one": replace(ONE, region=(0, 0, 640, 480)), "two": TWO}


def a_tile_that_somebody_changed(project: Project) -> dict[str, Source]:
    tile = project.folder / "export/iiif/image/one/0,0,512,480/512,480/0/default.jpg"
    tile.write_bytes(tile.read_bytes() + b" ")
    return {"one": ONE, "two": TWO}


def a_tile_that_is_gone(project: Project) -> dict[str, Source]:
    (project.folder / "export/iiif/image/one/full/max/0/default.jpg").unlink()
    return {"one": ONE, "two": TWO}


def another_folder_of_the_same_name(project: Project) -> dict[str, Source]:
    export = project.folder / "export/iiif/image"
    shutil.rmtree(export / "one")
    shutil.copytree(export / "two", export / "one")
    return {"one": ONE, "two": TWO}


CHANGES = (
    another_file,
    something_withheld,
    another_region,
    a_tile_that_somebody_changed,
    a_tile_that_is_gone,
    another_folder_of_the_same_name,
)


@pytest.mark.parametrize("change", CHANGES)
def test_only_what_changed_is_made_again(
    project: Project, counted: list[str], change: Callable[[Project], dict[str, Source]]
) -> None:
    exported(project, one=ONE, two=TWO)
    sources = change(project)
    counted.clear()
    exported(project, **sources)
    assert counted == ["one"]
    whole = dict(
        pictures.service(sources["one"], project.folder, project.site.base + "iiif/image/one")
    )
    for end, body in whole.items():
        name = f"export/iiif/image/one{end}"
        assert (project.folder / name).read_bytes() == body, name


def test_what_is_remembered_names_nothing(project: Project) -> None:
    exported(project, one=ONE)
    memory = project.archive.parent / MEMORY
    assert len(memory.read_bytes()) == len('{"":""}') + 2 * 64
    memory.write_text("no JSON")
    exported(project, one=ONE)  # made anew, and remembered again
    assert len(orjson.loads(memory.read_bytes())) == 1


def test_all_files_that_fail_are_named_and_nothing_is_touched(project: Project) -> None:
    exported(project, one=ONE, two=TWO)
    before = sorted((project.folder / "export").rglob("*"))
    (project.folder / "one.png").unlink()
    save(project.folder / "two.png", plain(640, 481))
    with pytest.raises(ManyErrors) as caught:
        exported(project, one=ONE, part=replace(ONE, region=(0, 0, 9, 9)), two=TWO)
    assert [fault.message for fault in caught.value.errors] == [
        "there is no file `one.png`",
        "`two.png` has 640 x 481 pixels; the release was made with 640 x 480",
    ]
    assert sorted((project.folder / "export").rglob("*")) == before
