"""Sitemaps and robots.txt: what search engines may look at, and when it last changed.

https://www.sitemaps.org/protocol.html: at most 50,000 addresses in a file. Copies of the protocol
differ on its size, 10 MB or 50 MB; the smaller one satisfies both.
"""

from collections.abc import Iterable, Iterator
from xml.sax.saxutils import escape

SPACE = "http://www.sitemaps.org/schemas/sitemap/0.9"
MOST_ADDRESSES = 50_000
MOST_BYTES = 10_000_000
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


def sitemaps(addresses: Iterable[tuple[str, str]]) -> Iterator[bytes]:
    """Yield one sitemap after another.

    Args:
        addresses: address and the instant of its last change; empty where it is not known.
    """
    head, foot = f'{_HEAD}<urlset xmlns="{SPACE}">\n'.encode(), b"</urlset>\n"
    lines: list[bytes] = []
    size = len(head) + len(foot)
    for address, instant in addresses:
        changed = f"<lastmod>{instant}</lastmod>" if instant else ""
        line = f"<url><loc>{escape(address)}</loc>{changed}</url>\n".encode()
        if lines and (len(lines) == MOST_ADDRESSES or size + len(line) > MOST_BYTES):
            yield b"".join((head, *lines, foot))
            lines, size = [], len(head) + len(foot)
        lines.append(line)
        size += len(line)
    if lines:
        yield b"".join((head, *lines, foot))


def index(addresses: Iterable[str], instant: str) -> bytes:
    """Return the list of all sitemaps."""
    lines = (
        f"<sitemap><loc>{escape(address)}</loc><lastmod>{instant}</lastmod></sitemap>\n"
        for address in addresses
    )
    return f'{_HEAD}<sitemapindex xmlns="{SPACE}">\n{"".join(lines)}</sitemapindex>\n'.encode()


def robots(base: str) -> bytes:
    """Return robots.txt (RFC 9309): everything may be read but harvests, which have their own way."""
    return f"User-agent: *\nDisallow: /oai\nDisallow: /activity/\n\nSitemap: {base}sitemap.xml\n".encode()
