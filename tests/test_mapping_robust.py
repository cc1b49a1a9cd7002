"""Whatever a source holds, a mapping answers with documents and findings, never with a crash."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from mapping_help import BASE, CONTEXT, Told, compiled, js, row

from lodpipe.findings import CODES

EVERYTHING = """
reads:
  key: no
  empty: ["-"]
  fields:
    no: no
    pattern: {from: a, pattern: "(?P<x>.)(?P<y>[0-9]*)"}
    made: {from: [/b/c, a], as: date, compare: [a, /b/c]}
    life: {from: b, as: date, kind: life}
    size: {from: a, as: size, unit: cm, order: [height, width]}
    number: {from: a, as: number}
    year: {from: b, as: year}
    url: {from: a, as: url}
    split: {from: a, split: ";"}
    deep: $..c
    kind: {choose: [{when: {pattern: {matches: "^a"}}, is: "k/{number}"}, {when: {number: [1, 2]}, is: "{pattern}"}]}
    each: {each: /b, choose: {uri: [{when: {c: present}, is: "x/{c}"}, {is: "{^no}"}]}}
    walk: {walk: /b, children: c}
    row: {together: {p: a, q: b}, split: ","}
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{pattern.x} {pattern.y} {deep} {size}"
    classified_as: [{lookup: kinds, from: pattern}, {term: photograph}]
    dimension: [{size: size}, {type: Dimension, value: "{number}"}]
    part_of: {ref: "object/{kind}-{year}", type: HumanMadeObject}
    equivalent: {id: "{url}", type: Type}
    produced_by:
      type: Production
      part:
        - {role: exposure, timespan: {timespan: made}}
        - {role: printing, timespan: {timespan: made.printed}, carried_out_by: {each: each, node: {ref: "{+uri}", type: Person}}}
        - {role: drawing, timespan: {timespan: year}, referred_to_by: {each: split, node: {type: LinguisticObject, content: "{.}"}}}
        - {role: making, timespan: {timespan: life.born}, referred_to_by: {each: row, node: {type: LinguisticObject, content: "{p} {q}"}}}
  - each: walk
    id: "term/{.}{c}{parent.c}"
    type: Type
    _label: "{c}"
claims:
  - {each: each, when: {c: {lookup: qualifiers}}, about: "object/{^no}", aspect: maker, value: "{+uri}", qualifier: {lookup: qualifiers, from: c}}
  - {about: "object/{no}", aspect: date, value: "{made}", value_text: "{pattern}"}
layout:
  - {file: layout, thing: "object/{no}", on: "object/{pattern}", order: "{number}"}
"""
MAPPING = compiled(EVERYTHING)
TABLE = compiled(
    EVERYTHING.replace("$..c", "c").replace("{each: /b, choose: {uri: [{when: {c: present}, is: \"x/{c}\"}, {is: \"{^no}\"}]}}", '{together: {c: c}, split: "|", choose: {uri: [{when: {c: present}, is: "x/{c}"}, {is: "{^no}"}]}}')
    .replace("    walk: {walk: /b, children: c}\n", "").replace("/b/c", "c")
    .partition("  - each: walk")[0] + "claims:" + EVERYTHING.partition("claims:")[2]
)  # fmt: skip

_TEXTS = st.one_of(
    st.text(max_size=20),
    st.sampled_from(["1872", "c. 1872", "1872, printed 1876", "14 x 19 cm", "possibly by", "..", "http://a.example/", "a;b", "1|2", "-"]),
)  # fmt: skip
_JSON = st.recursive(
    st.one_of(_TEXTS, st.integers(), st.floats(), st.booleans(), st.none()),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from("abc"), inner, max_size=3)
    ),
    max_leaves=8,
)


def check(mapping: Any, record: Any) -> None:
    told = Told()
    made = mapping.map(record, CONTEXT, told.append)

    assert {f.code for f in told} <= set(CODES)
    assert all(f.place is not None for f in told)
    if made is None:
        assert {"key", "iri"} & {f.code for f in told}
        return
    for draft in made.documents:
        assert draft.uri.startswith(BASE)
        for entry in draft.trace:
            node = draft.tree
            for step in entry.path.split("/")[1:]:
                node = node[int(step)] if isinstance(node, list) else node[step]
    for claim in made.claims:
        assert claim.value or claim.value_text


@settings(deadline=None)
@given(st.fixed_dictionaries({"no": _JSON, "a": _JSON, "b": _JSON}, optional={"c": _JSON}))
def test_any_json(data: Any) -> None:
    check(MAPPING, js(data))


@settings(deadline=None)
@given(_JSON)
def test_a_record_that_is_no_object(data: Any) -> None:
    check(MAPPING, js(data))


@settings(deadline=None)
@given(_TEXTS, _TEXTS, _TEXTS, _TEXTS)
def test_any_row(no: str, a: str, b: str, c: str) -> None:
    check(TABLE, row(no=no, a=a, b=b, c=c))
