#!/usr/bin/env python3
"""The specification as one HTML page: spec/README.md, and the pages that its table names, in that order.

usage: spec_page.py OUT.html

cmark-gfm turns each page into HTML; here headings get numbers and anchors, links between pages become links within the one,
and rules get the names of the bundles that break them. Fails where a page is not named, a link leads nowhere, or an anchor is there twice."""
import html
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
SPEC = ROOT / "spec"
STYLE = """
body { max-width: 52rem; margin: 2rem auto; padding: 0 1rem; font: 1rem/1.5 Georgia, serif; color: #222; }
h1, h2, h3, nav { font-family: "Helvetica Neue", Arial, sans-serif; line-height: 1.25; }
h1 { margin-top: 4rem; border-bottom: 2px solid #6b7f8c; }
nav ol { list-style: none; padding-left: 1.2rem; }
code, pre { font: 0.88em/1.45 "DejaVu Sans Mono", Menlo, monospace; background: #f3f1ea; }
code { padding: 0 0.15em; } pre { padding: 0.7rem; overflow-x: auto; } pre code { padding: 0; }
table { border-collapse: collapse; margin: 1rem 0; } td, th { border: 1px solid #bbb; padding: 0.25rem 0.5rem;
text-align: left; vertical-align: top; }
@media (prefers-color-scheme: dark) { body { background: #1d1f21; color: #ddd; } code, pre { background: #2b2d30; }
a { color: #9ec7e8; } }
@media print { h1 { break-before: page; } nav a { color: inherit; text-decoration: none; } }
"""


class Wrong(Exception):
    pass


def anchor(page, title):
    return f"{page}-" + re.sub(r"[^\w]+", "-", html.unescape(re.sub(r"<[^>]*>", "", title)).lower()).strip("-")


def order():
    """The pages that the table of README.md names, each once and all of them."""
    named = re.findall(r"\[[\w-]+\.md\]\(([\w-]+)\.md\)", (SPEC / "README.md").read_text(encoding="utf-8").split("`schemas/`")[0])
    pages = list(dict.fromkeys(named[named.index("scope"):]))
    missing = {path.stem for path in SPEC.glob("*.md")} - {"README", *pages}
    if missing:
        raise Wrong(f"spec/README.md does not name {', '.join(sorted(missing))}")
    return pages


def with_vectors(text):
    """Behind each rule what its bundles in testvectors/bad/ are called, without the code."""
    def made(match):
        names = [path.stem[5:] for path in sorted((ROOT / "testvectors/bad").glob(f"{match[1]}-*.glassine"))]
        return match[0][:-len("</tr>")] + f"<td>{'<br>'.join(names) or 'none: about what somebody asks'}</td>\n</tr>"
    text = text.replace("<th>what helps</th>", "<th>what helps</th>\n<th>vectors</th>")
    return re.sub(r"<tr>\n<td>([A-Z]\d{3})</td>.*?</tr>", made, text, flags=re.DOTALL)


class Page:
    def __init__(self):
        self.anchors, self.links, self.contents = set(), [], []

    def heading(self, page, number):
        sections = iter(range(1, 1000))

        def made(match):
            level, title = int(match[1]), match[2]
            here = page if level == 1 else anchor(page, title)
            if here in self.anchors:
                raise Wrong(f"two headings are #{here}")
            self.anchors.add(here)
            title = re.sub(r"^\d+ ", "", title)
            if number and level < 3:
                count = f"{number}" if level == 1 else f"{number}.{next(sections)}"
                self.contents.append((level, here, f"{count} {title}"))
                title = f"{count} {title}"
            return f'<h{level} id="{here}">{title}</h{level}>'
        return made

    def link(self, page):
        def made(match):
            to, there, part = match[1], *match[1].partition("#")[::2]
            if ":" in to:
                return match[0]
            if there.endswith(".md") and "/" not in there or not there:
                name = there[:-3] if there else page
                to = f"#{anchor(name, part.replace('-', ' '))}" if part else f"#{name}"
                self.links.append((page, to))
                return f'href="{to}"'
            if not (SPEC / there).exists():
                raise Wrong(f"{page}.md: {to} is not there")
            return f'href="{to}"'
        return made

    def take(self, page, number):
        source = SPEC / f"{page}.md"
        text = subprocess.run(["cmark-gfm", "--unsafe", "-e", "table", str(source)], check=True, capture_output=True,
                              encoding="utf-8").stdout
        text = with_vectors(text) if page == "rules" else text
        text = re.sub(r"<h(\d)>(.*?)</h\d>", self.heading(page, number), text)
        return re.sub(r'href="([^"]*)"', self.link(page), text)


def main(out):
    page = Page()
    parts = [page.take("README", 0)] + [page.take(name, number) for number, name in enumerate(order(), 1)]
    for source, to in page.links:
        if to[1:] not in page.anchors:
            raise Wrong(f"{source}.md: a link leads to {to}, which is not there")
    contents = "".join(f'<li style="margin-left:{level - 1}rem"><a href="#{here}">{title}</a></li>\n'
                       for level, here, title in page.contents)
    body = parts[0] + f"<nav><ol>\n{contents}</ol></nav>\n" + "".join(f"<section>\n{part}</section>\n" for part in parts[1:])
    pathlib.Path(out).write_text(
        f'<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width">\n<title>The glassine bundle, format 1.0</title>\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n", encoding="utf-8")
    print(f"{out}: {len(parts)} pages, {len(page.anchors)} headings, {len(page.links)} links between them")


if __name__ == "__main__":
    try:
        main(sys.argv[1])
    except Wrong as wrong:
        sys.exit(f"spec_page.py: {wrong}")
