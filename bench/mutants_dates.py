"""Break the rules of dates by hand, one at a time, and see that a test fails each time.

    python -m bench.mutants_dates [--only N]

Each mutant is a replacement in one module. The package and its tests are copied to a temporary
folder, the replacement is made there and the tests of dates run until the first failure. A mutant
whose text is not found exactly once is an error: the code has moved on and so must the mutant.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = ("edtf", "reading", "life", "answers", "words", "days", "labelled")

MUTANTS = [
    # module, text, replacement
    ("days", "year % 100 != 0 or year % 400 == 0", "year % 100 != 0"),
    ("days", "min(rest // 36_524, 3)", "rest // 36_524"),
    ("days", "if day == month_length(year, month) or day > there", "if day > there"),
    ("days", 'else "+" if year > 9999', 'else "" if year > 9999'),
    ("single", "21: (3, 3), 22: (6, 3)", "21: (6, 3), 22: (3, 3)"),
    ("single", "29: (9, 3), 30: (12, 3)", "29: (3, 3), 30: (12, 3)"),
    ("single", "40: (1, 6), 41: (7, 6)", "40: (1, 6), 41: (6, 6)"),
    ("single", "((?!-0000)-?\\d{4})", "(-?\\d{4})"),
    ("single", "MARKS[mark] * 0b10101)", "MARKS[mark] * 0b101)"),
    ("single", "(year + 1, last - 12) if last > 12", "(year, 12) if last > 12"),
    ("single", "right |= MARKS[after_month]", "right = MARKS[after_month]"),
    ("single", "right |= MARKS[after_year]", "pass"),
    ("single", 'if up != bool(sign) else "9876543210"', 'if up else "9876543210"'),
    ("single", "elif number:  # there is no year -0", "else:"),
    ("single", "length = month_length(number, m)\n        d = days[0]", "length = 31\n        d = days[0]"),
    ("single", "abs(year) < 10_000", "abs(year) < 1_000"),
    ("single", "(-(low + unit - 1), -low)", "(-low, -(low + unit - 1))"),
    ("edtf", "start.earliest > (end.latest if end.masked else end.earliest)",
     "start.earliest > end.earliest"),
    ("edtf", "start.earliest > (end.latest if end.masked else end.earliest)",
     "start.earliest > end.latest"),
    ("edtf", "if not date.in_interval:", "if False:"),
    ("edtf", "        start.latest,\n        end.earliest,", "        end.earliest,\n        start.latest,"),
    ("edtf", "start.marks | end.marks", "start.marks"),
    ("edtf", "min(low.latest for low in firsts)", "max(low.latest for low in firsts)"),
    ("edtf", "max(high.earliest for high in lasts)", "min(high.earliest for high in lasts)"),
    ("edtf", '(not low and (position or not high))', '(not low and not high)'),
    ("edtf", "self.marks & UNCERTAIN != 0", "self.marks & 1 != 0"),
    ("bounds", "not (edtf.form == INTERVAL and position)", "True"),
    ("bounds", "if date.marks & 0b10:", "if date.marks & 0b11:"),
    ("bounds", "if date.digits:", "if False:"),
    ("bounds", "CIRCA_YEARS = 5", "CIRCA_YEARS = 6"),
    ("plans", "if whole <= values[year]:", "if False:"),
    ("plans", "int(values[number]) - 1\n", "int(values[number])\n"),
    ("plans", 'f"{int(values[ordinal]) - 1:02}XX"', 'f"{int(values[ordinal]):02}XX"'),
    ("plans", '"late": (50, 99)}', '"late": (67, 99)}'),
    ("plans", '"early": (0, 5)', '"early": (0, 4)'),
    ("plans", "whole if ordinal < 0 else", "1 if ordinal < 0 else"),
    ("plans", '99 - place:02}" if era == "E"', '99 - place:02}" if False'),
    ("plans", "if one != two:", "if False:"),
    ("plans", 'y < "1753" and', "False and"),
    ("plans", "(int(values[number]) - start) % 100", "(int(values[number])) % 100"),
    ("spans", "return replace(self, mark=self.mark | mark)", "return replace(self, mark=mark)"),
    ("spans", "if any(span.form == ONE_OF for span in spans)", "if False"),
    ("spans", "for low in lows for high in highs", "for low in lows[:1] for high in highs[-1:]"),
    ("points", 'if cursor.match("[SXQHOs1]"):', 'if cursor.match("[YSXQHOs1]"):'),
    ("points", 'if wanted is None or (made.part is not None and wanted == "decade"):',
     "if wanted is None:"),
    ("points", "if not cursor.year_first:\n", "if True:\n"),
    ("points", "over_new_year and not begins and not ends", "False"),
    ("points", "-1 if over_new_year and ends else 0", "0"),
    ("points", "two if day_first else one", "one if day_first else two"),
    ("points", 'ends = ("-0099", "0000")', 'ends = ("-0100", "-0001")'),
    ("items", '(r"T[BR]V?", AFTER)', '(r"T[BR]V?", BEFORE)'),
    ("items", '(r"y", BEFORE)', '(r"y", AFTER)'),
    ("items", "        made.mark = 0\n", ""),
    ("items", 'cursor.take(r"[-–](?=.)"):\n            raise', 'False:\n            raise'),
    ("items", "if cursor.life and made.choice == ONE", "if made.choice == ONE"),
    ("items", "if chosen is None:\n            raise StuckError(_YEAR_MONTH",
     "if False:\n            raise StuckError(_YEAR_MONTH"),
    ("items", 'entry.dash in ("-", "/") and not entry.mark', 'entry.dash in ("-", "/")'),
    ("items", '(inside or letter == "e")', "True"),
    ("items", 'if made.ends[1].choice == OR:', "if False:"),
    ("items", "        return within(None, high)\n    if entry.bound == AFTER",
     "        return within(low, high)\n    if entry.bound == AFTER"),
    ("items", "left.decade is not None:", "True:"),
    ("items", 'before.number[1] == "3" and inside', "True and inside"),
    ("grammar", "elif found.bulk:", "elif False:"),
    ("grammar", "within(main.first, None)", "within(main.first, main.first)"),
    ("grammar", 'inner.replace(",", "&")', "inner"),
    ("grammar", "shape, places = _own_marks(letters, places)", "shape = letters"),
    ("life", 'raise StuckError(ONE_YEAR)', 'return (birth, None), UNKNOWN_END'),
    ("life", '(_completed(birth, cursor), None), OPEN', '(_completed(birth, cursor), None), UNKNOWN_END'),
    ("tokens", 'LAST_YEAR = "2100"', 'LAST_YEAR = "9000"'),
    ("tokens", '"Z" if plain == "0000" else', ""),
    ("reading", 'return _as_edtf(text) or Unread', "return Unread"),
    ("answers", "return None if day is None else iso_day(day)", "return iso_day(day) if day else None"),
    ("answers", "high if earliest is None else earliest", "high"),
]  # fmt: skip


def survives(module: str, text: str, replacement: str) -> bool:
    """Return whether the tests pass with one replacement made."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ignore = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / "lodpipe", folder / "lodpipe", ignore=ignore)
        (folder / "tests/data").mkdir(parents=True)
        shutil.copy(ROOT / "pyproject.toml", folder)
        shutil.copy(ROOT / "tests/conftest.py", folder / "tests")
        shutil.copy(ROOT / "tests/data/dates_labelled.tsv", folder / "tests/data")
        for test in TESTS:
            shutil.copy(ROOT / f"tests/test_dates_{test}.py", folder / "tests")
        path = folder / f"lodpipe/dates/{module}.py"
        source = path.read_text("utf-8")
        if source.count(text) != 1:
            raise SystemExit(f"{module}: {source.count(text)} times in the code: {text!r}")
        path.write_text(source.replace(text, replacement), "utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "tests"],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            check=False,
        )
    if done.returncode not in (0, 1, 2):
        raise SystemExit(done.stdout.decode())
    return done.returncode == 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", type=int, help="number of one mutant, from 1")
    only = parser.parse_args().only
    alive = []
    for number, mutant in enumerate(MUTANTS, 1):
        if only not in (None, number):
            continue
        lives = survives(*mutant)
        print(
            f"{number:3}  {'LIVES' if lives else 'dies '}  {mutant[0]}: {mutant[1]!r}", flush=True
        )
        if lives:
            alive.append(number)
    print(f"{len(MUTANTS)} mutants, {len(alive)} alive: {alive}")
    raise SystemExit(bool(alive))


if __name__ == "__main__":
    main()
