"""Dimensions as catalogues write them; the texts marked * stand in the open catalogues of the tests."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.mapping.sizes import SizeFault, read_sizes

HW = ("height", "width")
HWD = ("height", "width", "depth")

READ = [
    # text                                  unit  order  what was measured, dimension, millimetres
    ("image: 243 x 335 mm",                 "",   HW,  [("image", "height", 243), ("image", "width", 335)]),            # *
    ("9.875",                               "in", ("width",), [("", "width", 250.8)]),                                  # *
    ("14.2 × 19.5 cm",                      "",   HW,  [("", "height", 142), ("", "width", 195)]),
    ("142 by 195",                          "mm", HW,  [("", "height", 142), ("", "width", 195)]),
    ("H. 9 7/8 in. (25.1 cm), W. 7 in.",    "",   (),  [("", "height", 250.8), ("", "width", 177.8)]),
    ("9½ x 7¼ in",                          "",   HW,  [("", "height", 241.3), ("", "width", 184.2)]),
    ("3/4 in",                              "",   ("depth",), [("", "depth", 19.1)]),
    ("243 mm high, 335 mm wide",            "",   (),  [("", "height", 243), ("", "width", 335)]),
    ("height: 24,3 cm; width: 33,5 cm",     "",   (),  [("", "height", 243), ("", "width", 335)]),
    ("24.3 cm H x 33.5 cm W x 2 cm D",      "",   (),  [("", "height", 243), ("", "width", 335), ("", "depth", 20)]),
    ("diam. 12 cm",                         "",   (),  [("", "diameter", 120)]),
    ("2 m",                                 "",   ("length",), [("", "length", 2000)]),
    ("6 ft",                                "",   ("length",), [("", "length", 1828.8)]),
    ('8" x 10"',                            "",   HW,  [("", "height", 203.2), ("", "width", 254)]),
    ("support: 267 x 267 mm frame: 400 x 380 x 42 mm", "", HWD,
     [("support", "height", 267), ("support", "width", 267), ("frame", "height", 400), ("frame", "width", 380), ("frame", "depth", 42)]),
    ("support: 267 x 267 mm\r\nframe: 433 x 426 mm", "", HW,                                                            # *
     [("support", "height", 267), ("support", "width", 267), ("frame", "height", 433), ("frame", "width", 426)]),
    ("image 14.2 x 19.5 cm, mount 20 x 25 cm", "", HW,
     [("image", "height", 142), ("image", "width", 195), ("mount", "height", 200), ("mount", "width", 250)]),
    ("0 x 335 mm",                          "",   HW,  [("", "width", 335)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "order", "want"), READ)
def test_read(
    text: str, unit: str, order: tuple[str, ...], want: list[tuple[str, str, float]]
) -> None:
    got = read_sizes(text, unit, order)

    assert [(s.what, s.kind, s.value) for s in got] == want
    assert [type(s.value) for s in got] == [type(value) for _, _, value in want]


def test_each_part_keeps_its_words() -> None:
    got = read_sizes("image: 14.2 x 19.5 cm; mount: 20 x 25 cm", order=HW)

    assert [s.display for s in got] == ["image: 14.2 x 19.5 cm"] * 2 + ["mount: 20 x 25 cm"] * 2


def test_what_is_measured_where_the_text_does_not_say() -> None:
    got = read_sizes("20 x 25 cm, frame: 30 x 35 cm", order=HW, what="sheet")

    assert [s.what for s in got] == ["sheet", "sheet", "frame", "frame"]


REFUSED = [
    # text              unit  order  why, and what to do
    ("243 x 335",       "",   HW,  "`243 x 335` names no unit", "declare `unit`"),
    ("243 x 335 mm",    "",   (),  "`243 x 335 mm` does not say which dimension is which", "declare `order`"),
    ("1 x 2 x 3 mm",    "",   HW,  "`1 x 2 x 3 mm` has 3 numbers, and the order names 2", "declare a longer `order`"),
    ("quarto",          "mm", HW,  "`quarto` cannot be read as dimensions: `quarto`", ""),
    ("",                "mm", HW,  "`` holds no dimensions", ""),
    ("0 mm",            "mm", HW,  "`0 mm` holds no dimensions", ""),
    ("unconfirmed: 185 x 265 mm", "", HW, "`unconfirmed: 185 x 265 mm` cannot be read as dimensions: `unconfirmed`", ""),  # *
    ("H. 24 x 33 cm",   "",   (),  "`H. 24 x 33 cm` names some of its dimensions only", ""),
    ("1/0 in",          "",   HW,  "`1/0` divides by zero", ""),
    ("243 x 335 px",    "",   HW,  "`243 x 335 px` cannot be read as dimensions: `px`", ""),
    ("24 & 33 cm",      "",   HW,  "`24 & 33 cm` cannot be read as dimensions", ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "order", "message", "hint"), REFUSED)
def test_refused(text: str, unit: str, order: tuple[str, ...], message: str, hint: str) -> None:
    with pytest.raises(SizeFault) as caught:
        read_sizes(text, unit, order)

    assert (caught.value.message, caught.value.hint) == (message, hint)


@given(st.integers(1, 9_999), st.integers(1, 9_999), st.sampled_from(["mm", "cm", "in"]))
def test_a_size_written_is_read_back(height: int, width: int, unit: str) -> None:
    scale = {"mm": 1, "cm": 10, "in": 25.4}[unit]
    got = read_sizes(f"{height} x {width} {unit}", order=HW)

    assert [s.value for s in got] == [
        pytest.approx(height * scale, abs=0.051),
        pytest.approx(width * scale, abs=0.051),
    ]


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        assert read_sizes(text, "mm", HWD)
    except SizeFault as fault:
        assert fault.message
