"""A profile as one HTML page: to look at with a colleague before the mapping is written."""

from collections.abc import Iterator
from html import escape

from lodpipe.pages import page, sentence
from lodpipe.profile.results import ColumnProfile, Profile

_STYLE = """
td.name{width:24%}td.name code{background:none;padding:0}
.looks{margin:0}.samples{color:var(--soft);margin:.1rem 0 0;max-width:none}
.bar{display:inline-block;width:4rem;height:.5rem;background:var(--tint);border:1px solid var(--line);
margin-left:.5rem;vertical-align:middle}.bar i{display:block;height:100%;background:var(--soft)}
ul.odd{list-style:none;padding:0}ul.odd li{border-top:1px solid var(--line);padding:.75rem 0}
@media (max-width:40rem){thead{position:absolute;clip-path:inset(50%);height:1px;overflow:hidden}
tr{display:block;border-bottom:1px solid var(--line);padding:.6rem 0}
td,td.name{display:block;width:auto;border:0;padding:.05rem 0;text-align:left!important}
td.filled::before{content:"filled "}td.different::after{content:" different"}}
@media print{body{font-size:10pt;background:#fff;color:#000}tr,li{break-inside:avoid}}
"""


def as_page(profile: Profile) -> str:
    """Return the profile as a self-contained HTML page."""
    title = f"What is in {profile.file}"
    return page(
        title,
        (
            f"<header><h1>{escape(title)}</h1>\n",
            f"<p>{profile.records:,} records, {len(profile.columns)} columns.{_asides(profile)}</p>",
            "</header>\n<main>\n",
            *_cautions(profile),
            *_columns(profile),
            *_parallels(profile),
            "</main>\n",
        ),
        style=_STYLE,
    )


def _asides(profile: Profile) -> str:
    told = []
    if profile.unreadable:
        told.append(f"Records that cannot be read: {profile.unreadable:,}.")
    if profile.repeated:
        told.append(f"Records that repeat an earlier one: {profile.repeated:,}.")
    told += [f"Read with {name} `{value}`." for name, value in profile.options.items()]
    return "".join(f" {sentence(words)}" for words in told)


def _cautions(profile: Profile) -> Iterator[str]:
    if not profile.cautions:
        return
    yield "<h2>Look at these before you map</h2>\n<ul class=odd>\n"
    for kind in dict.fromkeys(one.kind for one in profile.cautions):
        same = [one for one in profile.cautions if one.kind == kind]
        worst = max(same, key=lambda one: one.count)
        columns = ", ".join(f"<code>{escape(one.column)}</code> {one.count:,}" for one in same)
        place = f" <span class=soft>{escape(str(worst.place))}</span>" if worst.place else ""
        shown = f"<br>Such as <code>{escape(worst.value)}</code>{place}" if worst.value else place
        yield (
            f"<li><strong>{sentence(worst.message)}</strong><br>{columns}{shown}"
            f"<br><span class=soft>{sentence(worst.hint)}</span></li>\n"
        )
    yield "</ul>\n"


def _columns(profile: Profile) -> Iterator[str]:
    yield "<h2>Columns</h2>\n<table><thead><tr><th>Column<th class=n>Filled<th class=n>Different"
    yield "<th>Looks like</thead><tbody>\n"
    for column in profile.columns:
        yield _column(column, profile.records)
    yield "</tbody></table>\n"


def _column(column: ColumnProfile, records: int) -> str:
    share = column.records / records
    looks = ", ".join(look.words for look in column.looks) or "text"
    samples = " · ".join(
        f"{escape(value)}{f' ×{count:,}' if count > 1 else ''}" for value, count in column.samples
    )
    more = "+" if column.more else ""
    return (
        f"<tr><td class=name><code>{escape(column.name)}</code>"
        f'<td class="n filled">{share * 100:.0f} %'
        f"<span class=bar><i style=width:{share:.0%}></i></span>"
        f'<td class="n different">{column.distinct:,}{more}'
        f"<td><p class=looks>{escape(looks)}</p><p class=samples>{samples}</p>\n"
    )


def _parallels(profile: Profile) -> Iterator[str]:
    for sign, names in profile.parallels:
        shown = escape(sign.strip()) or "line ends"
        columns = ", ".join(f"<code>{escape(name)}</code>" for name in names)
        yield f"<h2>Parts that belong together</h2>\n<p>Parted by <code>{shown}</code>: {columns}</p>\n"
