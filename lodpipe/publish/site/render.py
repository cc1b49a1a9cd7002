"""Pages laid out: templates, each compiled once; every value is escaped."""

from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined

from lodpipe.publish.site.frame import Page

TEMPLATES = files(__package__) / "templates"
STYLE = "site.css"


@cache
def _templates() -> Environment:
    made = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        loader=FunctionLoader(lambda name: (TEMPLATES / name).read_text(encoding="utf-8")),
    )
    made.globals["style"] = STYLE
    return made


def render(page: Page) -> bytes:
    """Return a page as HTML."""
    return _templates().get_template(page.template).render(page.context).encode()


def style() -> bytes:
    """Return the style sheet of all pages."""
    return (TEMPLATES / STYLE).read_bytes()
