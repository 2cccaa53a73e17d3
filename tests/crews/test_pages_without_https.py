"""A phone in the school's network comes without HTTPS: the pages use nothing that browsers then take away."""

import re

from config.home import PROJECT

# Only with HTTPS, or on the machine itself. What is asked for with `?.` or after a look may be missing.
_TAKEN_AWAY = re.compile(r"crypto\.(?:randomUUID|subtle)\b|navigator\.(?:serviceWorker|locks|clipboard)\.")
# The file that makes ids by itself where the browser does not.
_LOOKS_FIRST = {"ids.js": 1, "outbox.js": 1, "secret.js": 1}


def test_no_page_needs_what_a_browser_has_with_https_alone():
    files = sorted(PROJECT.glob("*/static/**/*.js"))
    found = {}
    for file in files:
        lines = [line for line in file.read_text().splitlines() if _TAKEN_AWAY.search(line)]
        if lines:
            found[file.name] = lines

    assert len(files) > 20
    assert set(found) <= set(_LOOKS_FIRST), found
    for name, most in _LOOKS_FIRST.items():
        assert len(found.get(name, [])) <= most, found[name]
