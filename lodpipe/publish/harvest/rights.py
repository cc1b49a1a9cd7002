"""The rights statements that EDM takes, letter by letter: `http:` and a closing slash.

https://europeana.atlassian.net/wiki/spaces/EF/pages/2106032160; the patterns are those of the
published schema files of EDM (commit a62d3099, schematron), read as a table.
"""

import re

_KINDS = "by|by-sa|by-nd|by-nc|by-nc-sa|by-nc-nd"
_PORTS = {
    # version of a Creative Commons licence -> the countries that it may name
    "1.0": "fi il nl",
    "2.0": "au at be br ca cl hr uk fr de it jp nl pl kr es tw",
    "2.1": "au es jp",
    "2.5": "ar au br bg ca cn co hr dk hu in il it mk my mt mx nl pe pl pt scotland si za es se ch tw",
    "3.0": (
        "au at br cl cn cr hr cz ec eg ee fr de gr gt hk igo ie it lu nl nz no ph pl pt pr ro rs sg "
        "za es ch tw th ug us ve vn"
    ),
    "4.0": "",
}
OPEN = re.compile(
    r"http://creativecommons\.org/(?:publicdomain/(?:zero|mark)/1\.0/|licenses/by(?:-sa)?/.+)"
)
"""May be used for anything: https://europeana.atlassian.net/wiki/spaces/EF/pages/2060386364"""
LIMITED = re.compile(
    r"http://(?:creativecommons\.org/licenses/by-(?:nc|nd|nc-sa|nc-nd|nd-nc)/.+"
    r"|rightsstatements\.org/vocab/(?:NoC-NC|NoC-OKLR|InC-EDU)/1\.0/)"
)
"""May be used within limits (same page)."""


def _allowed() -> re.Pattern[str]:
    licences = []
    for version, ports in _PORTS.items():
        kinds = f"{_KINDS}|by-nd-nc" if version == "1.0" else _KINDS
        port = f"(?:(?:{ports.replace(' ', '|')})/)" if ports else ""
        optional = "" if version == "2.1" or not ports else "?"
        licences.append(f"(?:{kinds})/{re.escape(version)}/{port}{optional}")
    return re.compile(
        rf"http://creativecommons\.org/licenses/(?:{'|'.join(licences)})"
        r"|http://creativecommons\.org/publicdomain/(?:zero|mark)/1\.0/"
        r"|http://rightsstatements\.org/vocab/(?:NoC-NC|NoC-OKLR|InC|InC-EDU|InC-OW-EU|CNE)/1\.0/"
    )


_ALLOWED = _allowed()


def is_allowed(uri: str) -> bool:
    """Return whether `edm:rights` may hold a URI.

    >>> is_allowed("http://creativecommons.org/publicdomain/mark/1.0/")
    True
    >>> is_allowed("http://rightsstatements.org/vocab/UND/1.0/")
    False
    """
    return _ALLOWED.fullmatch(uri) is not None


def nearest_allowed(uri: str) -> str:
    """Return the allowed form of a URI that differs in its scheme or slash only; else empty."""
    http = "http:" + uri.removeprefix("https:").removeprefix("http:")
    vocab = http.replace("/page/", "/vocab/").rstrip("/") + "/"
    return vocab if is_allowed(vocab) else ""
