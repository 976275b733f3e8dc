"""The live page: Chromium edits, a file is saved meanwhile, and whoever is not the page is refused."""
import http.client
import json
import pathlib
import re
import shutil
import signal
import subprocess
import tempfile

import product

MJS = product.ROOT / "tests" / "outside" / "live.mjs"


def status(port, method, path, headers, body=None):
    """What the server answers to a request with these headers and no others; Host too is as given."""
    c = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    c.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for name, value in headers:
        c.putheader(name, value)
    data = json.dumps(body).encode() if body is not None else b""
    c.putheader("Content-Length", str(len(data)))
    c.endheaders(data)
    r = c.getresponse()
    r.read()
    c.close()
    return r.status


def guarded(c, port):
    host, own = ("Host", f"127.0.0.1:{port}"), ("Origin", f"http://127.0.0.1:{port}")
    page, foreign = ("Colletline", "page"), ("Origin", "http://example.org")
    # name, method, path, headers, expected
    cases = (
        ("the page", "GET", "/", [host], 200),
        ("the page by its other name", "GET", "/", [("Host", f"localhost:{port}")], 200),
        ("a foreign host", "GET", "/state", [("Host", "example.org")], 403),
        ("a foreign host of our port", "GET", "/", [("Host", f"example.org:{port}")], 403),
        ("two hosts", "GET", "/", [host, ("Host", "example.org")], 403),
        ("no host", "GET", "/", [], 403),
        ("a foreign origin that reads", "GET", "/state", [host, foreign], 403),
        ("another site's script that reads", "GET", "/state", [host, ("Sec-Fetch-Site", "cross-site")], 403),
        ("a link from elsewhere", "GET", "/", [host, ("Sec-Fetch-Site", "cross-site")], 200),
        ("a foreign origin that writes", "POST", "/save", [host, foreign, page], 403),
        ("no origin that writes", "POST", "/save", [host, page], 403),
        ("a form, which cannot set our header", "POST", "/save", [host, own], 403),
        ("the page that writes", "POST", "/try", [host, own, page], 200),
        ("what is not there", "GET", "/elsewhere", [host], 404),
    )
    for name, method, path, headers, want in cases:
        got = status(port, method, path, headers, {} if method == "POST" else None)
        c.check(f"live: {name}: {want}", got == want, got)


def main(c):
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "line.jsonc"
        shutil.copy(product.ROOT / "params" / "line-4.0-platinum.jsonc", file)
        before = file.read_bytes()
        p = subprocess.Popen([str(product.BINARY), "show", str(file)], stdout=subprocess.PIPE, text=True)
        try:
            line = p.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:(\d+)/", line)
            if not c.check("live: says where it is", found is not None, line.strip()):
                return
            guarded(c, int(found.group(1)))
            seen = subprocess.run(["node", str(MJS), found.group(), str(file)], capture_output=True, text=True, timeout=300)
            if c.check("live: Chromium shows it", seen.returncode == 0, seen.stderr[-600:]):
                for name, ok, detail in json.loads(seen.stdout.splitlines()[-1])["checks"]:
                    c.check(f"live, {name}", ok, detail)
            c.check("live: nothing else is left in the folder", [f.name for f in pathlib.Path(folder).iterdir()] == [file.name] and file.read_bytes() == before)
        finally:
            p.send_signal(signal.SIGINT)
            c.check("live: Ctrl-C ends it", p.wait(timeout=10) == 130, p.returncode)


if __name__ == "__main__":
    import sys
    from harness import Checks
    checks = Checks()
    main(checks)
    sys.exit(checks.failed > 0)
