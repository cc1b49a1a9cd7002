"""The report as one HTML page that needs nothing else: to send, to print, to keep.

No script is needed to read it; a small one filters the rows. Every text from the data is escaped.
Rows of a group share its message, so that ten thousand of them stay under three megabytes.
"""

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from lodpipe.check.report import (
    About,
    Entry,
    Group,
    counted,
    groups,
    headline,
    passes,
    shortened,
)
from lodpipe.check.shapes import short_name
from lodpipe.findings import SEVERITIES, VIOLATION
from lodpipe.pages import page, sentence

_MOST_VALUE = 120

_STYLE = """
.verdict{font-size:1.15rem}
section.group{border-top:1px solid var(--line);padding:1.25rem 0}
.mark{font:.8rem/1 system-ui,sans-serif;letter-spacing:.02em;padding:.2em .5em;border:1px solid;
border-radius:2px;white-space:nowrap;margin-right:.4em}
.violation{color:var(--violation)}.warning{color:var(--warning)}.info{color:var(--info)}
table.rows th:first-child{width:30%}table.rows th:last-child{width:25%}
form{display:none;gap:.5rem 1.25rem;flex-wrap:wrap;align-items:end;background:var(--tint);
padding:.85rem 1rem;margin:1.5rem 0;font:.9rem/1.4 system-ui,sans-serif}
.js form{display:flex}
fieldset{border:0;margin:0;padding:0;display:flex;gap:1rem;flex-wrap:wrap}
legend{padding:0 0 .25rem}
label.text{flex:1 1 14rem}
input[type=search]{display:block;width:100%;font:inherit;padding:.4rem .5rem;margin-top:.25rem;
color:var(--ink);background:var(--paper);border:1px solid var(--soft)}
input[type=checkbox]{width:1.15rem;height:1.15rem;vertical-align:-.2rem}
label.box{padding:.25rem 0;white-space:nowrap}
@media (max-width:40rem){
 table.rows thead,table.sum thead{position:absolute;clip-path:inset(50%);height:1px;overflow:hidden}
 table.rows tr{display:block;border-bottom:1px solid var(--line);padding:.5rem 0}
 table.rows td{display:block;border:0;padding:.05rem 0}
 table.sum tr{display:grid;grid-template-columns:auto 1fr;gap:.1rem .6rem;padding:.5rem 0;
 border-bottom:1px solid var(--line)}
 table.sum td{border:0;padding:0}
 table.sum td:last-child{grid-column:1/-1}
}
@media print{form{display:none!important}body{font-size:10pt;background:#fff;color:#000}
section.group{break-inside:auto}h3{break-after:avoid}tr{break-inside:avoid}}
"""

_SCRIPT = """
(function(){
var d=document,f=d.querySelector('form');if(!f)return;
d.documentElement.className='js';
var q=f.querySelector('input[type=search]'),boxes=[].slice.call(f.querySelectorAll('[type=checkbox]')),
out=d.getElementById('shown'),groups=[].slice.call(d.querySelectorAll('section.group')),wait;
function run(){
 var words=q.value.toLowerCase().split(/\\s+/).filter(Boolean),on={},shown=0;
 boxes.forEach(function(b){on[b.value]=b.checked});
 groups.forEach(function(g){
  var head=g.querySelector('.head').textContent.toLowerCase(),any=0;
  if(on[g.dataset.severity])[].forEach.call(g.querySelectorAll('tbody tr'),function(r){
   var t=words.length?head+' '+r.textContent.toLowerCase():'';
   var ok=words.every(function(w){return t.indexOf(w)>=0});
   r.hidden=!ok;any+=ok;
  });
  g.hidden=!any;shown+=any;
 });
 out.textContent=shown.toLocaleString('en')+' shown';
}
f.addEventListener('input',function(){clearTimeout(wait);wait=setTimeout(run,120)});
f.addEventListener('submit',function(e){e.preventDefault();run()});
run();
})();
"""


def as_page(entries: Sequence[Entry], about: About) -> str:
    """Return the report as a self-contained HTML page."""
    found = groups(entries)
    base = _base(entries)
    title = f"Check of {about.title}"
    return page(
        title,
        (
            f"<header><h1>{escape(title)}</h1>\n{_verdict(entries, about)}</header>\n<main>\n",
            _filter(found),
            _summary(found),
            *(_group(number, group, base) for number, group in enumerate(found, 1)),
            _checked(about),
            f"</main>\n<footer class=soft>{_foot(about, base)}</footer>\n",
        ),
        style=_STYLE,
        script=_SCRIPT if found else "",
    )


def _base(entries: Iterable[Entry]) -> str:
    """The host that all addresses share: said once instead of in every row."""
    starts = {"/".join(entry.uri.split("/", 3)[:3]) + "/" for entry in entries if entry.uri}
    return starts.pop() if len(starts) == 1 else ""


def _verdict(entries: Sequence[Entry], about: About) -> str:
    if about.is_empty():
        words, kind = "Nothing was checked.", "violation"
    elif passes(entries, about):
        words, kind = "It can go out.", "info"
    else:
        words, kind = "It should not go out like this.", "violation"
    return (
        f'<p class="verdict {kind}">{words}</p>\n<p>{sentence(headline(entries, about))}.</p>\n'
        f"<p class=soft>A document is stopped by a {escape(about.gate)}"
        f"{'' if about.gate == VIOLATION else ' or worse'}.</p>\n"
    )


def _filter(found: Sequence[Group]) -> str:
    if not found:
        return ""
    present = [s for s in SEVERITIES if any(group.severity == s for group in found)]
    boxes = " ".join(
        f"<label class=box><input type=checkbox value={s} checked> {s}</label>" for s in present
    )
    return (
        "<form role=search><label class=text>Show only rows with these words"
        "<input type=search autocomplete=off spellcheck=false></label>"
        f"<fieldset><legend>and of these kinds</legend>{boxes}</fieldset>"
        "<output id=shown aria-live=polite></output></form>\n"
    )


def _summary(found: Sequence[Group]) -> str:
    if not found:
        return "<h2>What was found</h2><p>Nothing.</p>\n"
    rows = "".join(
        f"<tr><td class=n>{len(group.entries):,}<td>{_mark(group.severity)}"
        f"<td><a href=#g{number}>{sentence(group.message)}</a>\n"
        for number, group in enumerate(found, 1)
    )
    return (
        "<h2>What was found</h2>\n<table class=sum><thead><tr><th class=n scope=col>How many"
        "<th scope=col>Kind<th scope=col>What</thead><tbody>\n"
        f"{rows}</tbody></table>\n"
    )


def _mark(severity: str) -> str:
    return f'<span class="mark {severity}">{severity}</span>'


def _group(number: int, group: Group, base: str) -> str:
    parts = [
        f"<section class=group id=g{number} data-severity={group.severity} aria-labelledby=h{number}>"
        f"<div class=head><h3 id=h{number}>{sentence(group.message)}</h3>",
        f"<p class=soft>{_mark(group.severity)}{counted(len(group.entries), 'result')} in "
        f"{counted(group.documents, 'document')} · {escape(short_name(group.shape))}",
    ]
    if group.path:
        parts.append(f" · <code>{escape(group.path)}</code>")
    if group.rule.startswith(("https://", "http://")):
        parts.append(f' · <a href="{escape(group.rule)}">the rule</a>')
    parts.append("</p>")
    if group.hint:
        parts.append(f"<p>{sentence(group.hint)}.</p>")
    if mapped := group.mapped():
        more = f" and {len(mapped) - 3} more" if len(mapped) > 3 else ""
        parts.append(f"<p class=soft>Read by {escape(', '.join(mapped[:3]))}{more}</p>")
    told = "What" if group.varied else "Value"
    parts.append(
        f"</div>\n<table class=rows><thead><tr><th scope=col>Where<th scope=col>{told}"
        "<th scope=col>Document</thead><tbody>\n"
    )
    parts.extend(_rows(group, base))
    parts.append("</tbody></table></section>\n")
    return "".join(parts)


def _rows(group: Group, base: str) -> Iterator[str]:
    for entry in group.entries:
        value = shortened(entry.value, _MOST_VALUE)
        value = f"<code>{escape(value)}</code>" if value else ""
        if group.varied:
            value = sentence(entry.message)
            value += f" ({sentence(entry.hint)})" if entry.hint and not group.hint else ""
        uri = entry.uri.removeprefix(base) if base else entry.uri
        yield f"<tr><td>{escape(entry.where())}<td>{value}<td>{escape(uri)}\n"


def _checked(about: About) -> str:
    rows = []
    for name in sorted({*about.messages, *about.focus}):
        nodes = about.focus.get(name, 0)
        met = f"{nodes:,}" if nodes else "<strong class=warning>none</strong>"
        rows.append(f"<tr><td class=n>{met}<td>{escape(short_name(name))}\n")
    refereed = (
        f" {counted(about.refereed, 'document')} were checked a second time by another engine."
        if about.refereed
        else ""
    )
    return (
        "<h2>What was checked</h2>\n"
        f"<p>{about.amount()}, each by itself.{refereed} "
        "A shape that met no node has checked nothing.</p>\n"
        "<table><thead><tr><th class=n scope=col>Nodes met<th scope=col>Shape</thead><tbody>\n"
        f"{''.join(rows)}</tbody></table>\n"
    )


def _foot(about: About, base: str) -> str:
    told = [f"<p>{escape(about.tool)}"]
    told += [f"<br>data <code>{escape(about.data)}</code>"]
    told += [f"<br>shapes <code>{escape(about.shapes)}</code></p>"]
    if base:
        told.append(f"<p>Documents begin with <code>{escape(base)}</code>.</p>")
    return "".join(told)
