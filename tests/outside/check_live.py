"""The live page: Chromium edits, a file is saved meanwhile, and whoever is not the page is refused."""
import http.client
import json
import pathlib
import random
import re
import shutil
import signal
import socket
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
    # 12 bytes of it are not of the name: as long as may be (docs/limits.md), and one longer.
    for longer, want in ((0, 200), (1, 400)):
        got = status(port, "POST", "/try", [host, own, page], {"file": "x" * (200_000 - 12 + longer)})
        c.check(f"live: a request of {200_000 + longer} bytes: {want}", got == want, got)


def thrown(rnd, port):
    """The bytes of one request that no browser would send, or that breaks off."""
    ours = f"Host: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\nColletline: page\r\n"
    noise = lambda n: bytes(rnd.randrange(256) for _ in range(n))  # noqa: E731
    words = ["collet.wall", "stone.diameter", "", "__proto__", "a" * 5000, "\u0000", "0.4", "1e999", "-0", "NaN", None, [], {}, 7, 1e308, -1]
    word = lambda: rnd.choice(words)  # noqa: E731
    bodies = (
        {"edits": {str(word()): word()}},
        {"edits": {str(word()): word() for _ in range(40)}, "file": word()},
        {"faces": [{"face": str(word()), "piece": word()}, {"face": str(word()), "piece": word()}], "open": word()},
        [word(), word()],
        word(),
    )
    body = rnd.choice([json.dumps(rnd.choice(bodies)).encode(), noise(rnd.randrange(400)), b"[" * 100_000, b"{\"edits\":" * 5000])
    path = rnd.choice(["/try", "/measure", "/save", "/state", "/", "/state?since=-1", "/try?since=99999999999999999999", "/%00", "*", "/" + "x" * 9000])
    method = rnd.choice(["POST", "POST", "POST", "GET", "PUT", "HEAD", "", "\x00"])
    length = rnd.choice([str(len(body))] * 6 + ["0", "-1", "18446744073709551616", "x"])
    head = f"{method} {path} HTTP/{rnd.choice(['1.1', '1.1', '1.0', '9'])}\r\n{ours}{rnd.choice(['', 'Expect: 100-continue', 'Transfer-Encoding: chunked', 'X: ' + 'y' * 70_000])}\r\nContent-Length: {length}\r\n\r\n"
    whole = head.encode("latin-1") + body
    return rnd.choice([whole, whole, whole, whole[: rnd.randrange(len(whole))], noise(200)])


def junk(c, port):
    """Requests that no page makes do no harm: afterwards the page is there, the file untouched, and no thread has ended."""
    rnd = random.Random(8)
    for _ in range(300):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as s:
            s.settimeout(0.05)
            try:
                s.sendall(thrown(rnd, port))
                s.shutdown(socket.SHUT_WR)
                while s.recv(65536):
                    pass
            except OSError:
                pass
    host, own, page = ("Host", f"127.0.0.1:{port}"), ("Origin", f"http://127.0.0.1:{port}"), ("Colletline", "page")
    for k in range(6):
        c.check(f"live: after junk the page answers, {k}", status(port, "GET", "/", [host]) == 200 and status(port, "POST", "/try", [host, own, page], {}) == 200)


def main(c):
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "line.jsonc"
        shutil.copy(product.ROOT / "params" / "line-4.0-platinum.jsonc", file)
        before = file.read_bytes()
        p = subprocess.Popen([str(product.BINARY), "show", str(file)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        try:
            line = p.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:(\d+)/", line)
            if not c.check("live: says where it is", found is not None, line.strip()):
                return
            guarded(c, int(found.group(1)))
            junk(c, int(found.group(1)))
            c.check("live: junk leaves the file as it was", file.read_bytes() == before)
            seen = subprocess.run(["node", str(MJS), found.group(), str(file)], capture_output=True, text=True, timeout=300)
            if c.check("live: Chromium shows it", seen.returncode == 0, seen.stderr[-600:]):
                for name, ok, detail in json.loads(seen.stdout.splitlines()[-1])["checks"]:
                    c.check(f"live, {name}", ok, detail)
            c.check("live: nothing else is left in the folder", [f.name for f in pathlib.Path(folder).iterdir()] == [file.name] and file.read_bytes() == before)
        finally:
            p.send_signal(signal.SIGINT)
            c.check("live: Ctrl-C ends it", p.wait(timeout=10) == 130, p.returncode)
            said = p.stderr.read()
            c.check("live: no complaint", not said, said[:600])


if __name__ == "__main__":
    import sys
    from harness import Checks
    checks = Checks()
    main(checks)
    sys.exit(checks.failed > 0)
