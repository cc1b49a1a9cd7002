"""sh:pattern: SPARQL's REGEX, run so that no pattern can take more than linear time.

Patterns are those of XPath <https://www.w3.org/TR/xpath-functions-31/#regex-syntax>. One with at
most one open repetition, anchored at the start, is run by Python's `re`, which is fast; all
others by RE2, whose time grows with the text and nothing else. What RE2 does not have
(look-around, back references) SHACL patterns do not need, and it is refused.
"""

import re
from collections.abc import Callable

import re2

_CLASS = r"\[\^?\]?(?:\\.|[^\]\\])*\]"
_MOST_OPTIONAL = 6
_MOST_BOUNDED = 3
_MOST_REPEATED = 20
_FLAGS = {"i": re.IGNORECASE, "m": re.MULTILINE, "s": re.DOTALL}


class PatternFaultError(ValueError):
    """A pattern that cannot be run; the message says why."""


def compile_pattern(pattern: str, flags: str = "") -> Callable[[str], bool]:
    """Return the test whether a pattern is found in a text.

    Args:
        pattern: regular expression in the syntax that XPath and Python share.
        flags: any of `i m s x q`.

    Raises:
        PatternFaultError: no regular expression, or one that could take more than linear time.
    """
    unknown = set(flags) - set("imsxq")
    if unknown:
        raise PatternFaultError(f"`{flags}` has flags other than i, m, s, x and q")
    if "q" in flags:
        return _literal(pattern, "i" in flags)
    if "x" in flags:
        pattern = _without_blanks(pattern)
    if is_linear(pattern):
        return _python(pattern, flags)
    return _re2(pattern, flags)


def is_linear(pattern: str) -> bool:
    """Return whether Python's backtracking cannot do harm with a pattern.

    True when no group is repeated, few parts are optional or repeated a few times, and at most
    one repetition is open, which then must stand in a pattern that begins with `^` and has no
    alternatives outside of groups.
    """
    bare = re.sub(rf"{_CLASS}|\\.", "c", pattern)
    if "(?" in bare or re.search(r"\)[*+{]", bare) or bare.count("?") > _MOST_OPTIONAL:
        return False
    bounds = [int(most or "999") for most in re.findall(r"\{[0-9]+,([0-9]*)\}", bare)]
    if max(bounds, default=0) > _MOST_REPEATED or len(bounds) > _MOST_BOUNDED:
        return False
    repeated = len(re.findall(r"[*+]", bare))
    return not repeated or (
        repeated == 1 and bare.startswith("^") and "|" not in re.sub(r"\([^()]*\)", "", bare)
    )


def _python(pattern: str, flags: str) -> Callable[[str], bool]:
    options = 0
    for flag in flags:
        options |= _FLAGS.get(flag, 0)
    try:
        found = re.compile(pattern if "m" in flags else _whole_end(pattern), options)
    except re.error as error:
        raise PatternFaultError(f"the pattern `{pattern}` cannot be read: {error}") from None
    anchored = pattern.startswith("^") and "m" not in flags and "|" not in pattern
    search = found.match if anchored else found.search
    return lambda text: search(text) is not None


def _whole_end(pattern: str) -> str:
    r"""Make `$` the end of the text, as in XPath: Python's also stands before a last line end."""
    return re.sub(rf"({_CLASS}|\\.)|\$", lambda match: match.group(1) or r"\Z", pattern)


def _re2(pattern: str, flags: str) -> Callable[[str], bool]:
    options = re2.Options()
    options.log_errors = False
    options.max_mem = 1 << 22
    inline = "".join(flag for flag in "ims" if flag in flags)
    translated = pattern.replace(r"\d", r"\p{Nd}")
    try:
        found = re2.compile(f"(?{inline}){translated}" if inline else translated, options)
    except re2.error as error:
        reason = error.args[0].decode() if isinstance(error.args[0], bytes) else error.args[0]
        raise PatternFaultError(
            f"the pattern `{pattern}` cannot be run in linear time: {reason}"
        ) from None
    search = found.search
    return lambda text: search(text) is not None


def _literal(pattern: str, any_case: bool) -> Callable[[str], bool]:
    if any_case:
        folded = pattern.casefold()
        return lambda text: folded in text.casefold()
    return lambda text: pattern in text


def _without_blanks(pattern: str) -> str:
    """Flag `x`: blanks outside of character classes do not count."""
    return re.sub(rf"({_CLASS}|\\.)|[ \t\n\r]+", lambda match: match.group(1) or "", pattern)
