"""Pages that are made from the code when the documentation is built: one for each finding."""

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from lodpipe.findings import CODES, SEVERITIES

_STOPS = {
    "violation": "The document is not released as it is now; what was released before stays.",
    "warning": 'The document is released, unless `gate = "warning"` stands in `[check]`.',
    "info": "Nothing is held back.",
}


def page_of(code: str) -> str:
    """Return the page of one code, in Markdown."""
    known = CODES[code]
    return (
        f"# {code}\n\n**{_sentence(known.title)}.**\n\n{_sentence(known.meaning)}\n\n"
        f"Usually {_article(known.severity)}. {_STOPS[known.severity]}\n\n[All findings](index.md)\n"
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
