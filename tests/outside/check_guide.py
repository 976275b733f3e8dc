"""The guide stays true: its files are written, its commands run, and every line of output it shows must come out in order."""
import pathlib
import re
import shlex
import tempfile

import product

GUIDE = product.ROOT / "docs" / "guide.md"
# Commands that show a failing check; all others must end with 0.
FAILS = {"check thin.jsonc --quiet": 1}


def in_order(shown, out):
    """The first line shown that does not come after the one before; `...` skips, other lines follow at once or later."""
    lines, at = out.splitlines(), 0
    for want in shown:
        if want == "...":
            continue
        found = next((i for i in range(at, len(lines)) if lines[i].rstrip() == want.rstrip()), None)
        if found is None:
            return want
        at = found + 1
    return None


def main(c):
    text = GUIDE.read_text(encoding="utf-8")
    # A file is named in backquotes last before its block.
    files = re.findall(r"`([\w-]+\.jsonc)`:\n\n```jsonc\n(.*?)```", text, re.S)
    blocks = re.findall(r"```console\n\$ colletline (.*?)\n(.*?)```", text, re.S)
    c.check("guide: files and commands are found", len(files) >= 3 and len(blocks) >= 6, f"{len(files)} files, {len(blocks)} commands")
    with tempfile.TemporaryDirectory() as folder:
        for name, body in files:
            (pathlib.Path(folder) / name).write_text(body, encoding="utf-8")
        for command, shown in blocks:
            p = product.run(*shlex.split(command), cwd=folder)
            c.check(f"guide: {command}: exit code", p.returncode == FAILS.get(command, 0), product.said(p))
            missing = in_order(shown.splitlines(), p.stdout)
            c.check(f"guide: {command}: output", missing is None, missing or "")
        for name in re.findall(r"!\[[^]]*\]\(([\w.]+)\)", text):
            kept, made = GUIDE.parent / name, pathlib.Path(folder) / "pictures" / name
            c.check(f"guide: {name} is what is made now", made.is_file() and kept.read_bytes() == made.read_bytes())
            c.check(f"guide: {name} is small", kept.stat().st_size < 150_000, kept.stat().st_size)
        parcel = {f.name for f in (pathlib.Path(folder) / "parcel").iterdir()} if (pathlib.Path(folder) / "parcel").is_dir() else set()
        named = set(re.findall(r"`((?:link|page)\.[\w.]+)`", text))
        c.check("guide: every file it names is made", named and named <= parcel, sorted(named - parcel))


if __name__ == "__main__":
    import sys
    from harness import Checks
    checks = Checks()
    main(checks)
    sys.exit(checks.failed > 0)
