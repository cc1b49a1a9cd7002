"""Pages that are made from the code when the documentation is built: one for each finding."""

import textwrap

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from lodpipe.findings import CODES, SEVERITIES

_STOPS = {
    "violation": "The document is not released as it is now; what was released before stays.",
    "warning": 'The document is released, unless `gate = "warning"` stands in `[check]`.',
    "info": "Nothing is held back.",
}

_PLACE = " The line with `-->` names the place."
_WAY = (
    " `lodpipe explain` with the key of the record shows the whole way from there to what is"
    " published."
)
_HANGING = {"subsequent_indent": "    ", "break_long_words": False, "break_on_hyphens": False}


def page_of(code: str) -> str:
    """Return the page of one code, in Markdown."""
    known = CODES[code]
    cure = known.cure or "the message says it itself"
    back = (_PLACE if known.place else "") + (_WAY if known.place.startswith("catalogue/") else "")
    seen = [f"{known.severity}[{code}]: {known.message}"]
    seen += [f"  --> {known.place}"] if known.place else []
    seen += [f"  hint: {known.cure}"] if known.cure else []
    return "\n".join(
        [
            f"# {code}",
            "",
            f"**{_sentence(known.title)}.** {_sentence(known.meaning)}",
            "",
            "## What it looks like",
            "",
            "```text",
            *(line for long in seen for line in textwrap.wrap(long, 76, **_HANGING)),
            "```",
            "",
            "## What to do",
            "",
            f"{_sentence(cure)}.{back}",
            "",
            "## What follows",
            "",
            f"Usually {_article(known.severity)}. {_STOPS[known.severity]}",
            "",
            "[All findings](index.md)",
            "",
        ]
    )


def index() -> str:
    """Return the page that lists all codes, worst first."""
    lines = ["# Findings", ""]
    lines.append(
        "What a run or a check tells, by its code: `warning[date]` is explained under `date`."
    )
    for severity in SEVERITIES:
        lines += ["", f"## Usually {_article(severity)}", "", "| code | what it is |", "|---|---|"]
        lines += [
            f"| [{code}]({code}.md) | {known.title} |"
            for code, known in sorted(CODES.items())
            if known.severity == severity
        ]
    return "\n".join(lines) + "\n"


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the pages that nobody writes by hand."""
    files.append(File.generated(config, "findings/index.md", content=index()))
    for code in CODES:
        files.append(File.generated(config, f"findings/{code}.md", content=page_of(code)))
    return files


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"
