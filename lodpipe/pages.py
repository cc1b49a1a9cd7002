"""The frame of the reports that are one HTML page: to send, to print, to keep.

A page needs nothing but itself, no network, no script to be read; light and dark, wide and narrow.
"""

import re
from collections.abc import Iterable
from html import escape

STYLE = """
:root{--paper:#fcfbf8;--ink:#23211d;--soft:#5f5a51;--line:#d9d4c8;--tint:#f1eee6;
--violation:#8c1d18;--warning:#7a4a00;--info:#1f4f7a;--link:#1f4f7a}
@media (prefers-color-scheme:dark){:root{--paper:#1b1a18;--ink:#e9e5dc;--soft:#b3ac9f;
--line:#3d3a35;--tint:#262420;--violation:#ff9c93;--warning:#f0bd6b;--info:#9cc7ef;--link:#9cc7ef}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.55 Georgia,'Times New Roman',serif}
main,header,footer{max-width:64rem;margin:0 auto;padding:0 1.25rem}
h1{font-size:1.6rem;line-height:1.25;margin:2rem 0 .5rem;font-weight:normal}
h2{font-size:1.25rem;margin:2.5rem 0 .75rem;font-weight:normal}
h3{font-size:1.05rem;margin:0 0 .25rem;line-height:1.4}
p{margin:.25rem 0 .75rem;max-width:46rem}
a{color:var(--link)}a code,h3 code{color:inherit}
.soft,.soft a{color:var(--soft);font-size:.9rem}
table{border-collapse:collapse;width:100%;font:.85rem/1.45 system-ui,sans-serif}
th{text-align:left;font-weight:600;color:var(--soft)}
th,td{padding:.3rem .75rem .3rem 0;vertical-align:top;border-bottom:1px solid var(--line);
overflow-wrap:anywhere}
td.n,th.n{text-align:right;padding-right:1.5rem;white-space:nowrap}
code{overflow-wrap:anywhere;font:.85em ui-monospace,Consolas,monospace;background:var(--tint);padding:.05em .3em}
:focus-visible{outline:3px solid var(--link);outline-offset:2px}
[hidden]{display:none!important}
footer{border-top:1px solid var(--line);margin-top:3rem;padding-top:1rem;padding-bottom:2rem}
"""

_TICKED = re.compile(r"`([^`]+)`")


def page(title: str, parts: Iterable[str], *, style: str = "", script: str = "") -> str:
    """Return a whole page.

    Args:
        title: as text. `parts`: HTML, every value in it escaped already.
        style: CSS after the common one. `script`: a script at the end; the page reads without it.
    """
    return "".join(
        (
            "<!doctype html>\n<html lang=en>\n<meta charset=utf-8>\n",
            '<meta name=viewport content="width=device-width,initial-scale=1">\n',
            '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; ',
            "style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n",
            f"<title>{escape(title)}</title>\n<style>{STYLE}{style}</style>\n",
            *parts,
            f"<script>{script}</script>\n" if script else "",
            "</html>\n",
        )
    )


def sentence(message: str) -> str:
    """Return a message as HTML: with a capital, and what stands in backticks as code.

    >>> sentence("write `no` & go on")
    'Write <code>no</code> &amp; go on'
    """
    return _TICKED.sub(r"<code>\1</code>", escape(message[:1].upper() + message[1:]))
