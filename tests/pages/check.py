"""Cards, sheets and pictures seen through a browser, PDF readers and an XML parser.

Each check says what it looked at; the last line counts them. Takes the program as its argument.
"""

import html
import json
import math
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as xml
from pathlib import Path

PROGRAM = sys.argv[1]
NASTY = "<script>alert(1)</script> & <img src=x onerror=alert(2)> \"quoted\" 'single'"
PHONE = 360
# Room below which WCAG 2 calls text too pale (level AA, text of usual size).
AA = 4.5

failures = []
count = 0


def check(what, holds, seen=""):
    global count
    count += 1
    if not holds:
        failures.append(what)
        print(f"FAILED {what}: {seen}")


def run(*words, status=0):
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True)
    check(f"{Path(str(words[0])).name} {' '.join(map(str, words[1:5]))}", done.returncode == status,
          done.stdout + done.stderr)
    return done.stdout


def oddpot(folder, *words, status=0):
    return run(PROGRAM, "--jobs", folder / "jobs", *words, status=status)


def jobs(folder):
    """A simple job that is closed, and one with nasty words that is open."""
    oddpot(folder, "open", "plain", "--cylinders", 4, "--vehicle", "a car (invented)")
    oddpot(folder, "temps", "plain", "--at", "idle", 402, 398, 330, 401)
    oddpot(folder, "found", "plain", "look-fit", "shallower", "--cylinder", 3)
    oddpot(folder, "remedy", "plain", "fit-shallow@3")
    oddpot(folder, "temps", "plain", "--at", "idle", 401, 399, 400, 402)
    oddpot(folder, "temps", "plain", "--at", "cruise", 621, 619, 618, 622)
    oddpot(folder, "close", "plain")
    oddpot(folder, "open", "nasty", "--engine", "flat-four-carburettor",
           "--vehicle", NASTY, "--complaint", NASTY)
    oddpot(folder, "temps", "nasty", "--at", "idle", 372, "open", 288, "380..400")
    oddpot(folder, "exchange", "nasty", "probe", 3, 1)
    oddpot(folder, "temps", "nasty", "--at", "idle", 290, "open", 371, 390)
    oddpot(folder, "fit", "nasty", "--depths", 20, 20, 14, 20)


PAGES = {
    "example": ["example"],
    "plain": ["card", "plain"],
    "nasty": ["card", "nasty"],
    "bench": ["next", "nasty", "--sheet"],
    "fit": ["fit", "nasty"],
    "log": ["log", "tests/fixtures/log-six.csv"],
}


def write(folder):
    for name, words in PAGES.items():
        for form in ["html", "pdf"]:
            oddpot(folder, *words, "--format", form, "-o", folder / f"{name}.{form}")
        oddpot(folder, *words, "--format", "pdf", "--paper", "letter",
               "-o", folder / f"{name}-letter.pdf")
        size = (folder / f"{name}.pdf").stat().st_size + (folder / f"{name}.html").stat().st_size
        check(f"{name} is small", size < 200_000, size)
    for name, words in {"tree": [], "tree-job": ["--job", "nasty"], "tree-fit": ["fit"]}.items():
        for form in ["svg", "pdf"]:
            oddpot(folder, "knowledge", "draw", *words, "--format", form,
                   "-o", folder / f"{name}.{form}")


def pdfs(folder):
    for path in sorted(folder.glob("*.pdf")):
        run("qpdf", "--check", path)
        fonts = run("pdffonts", path).splitlines()[2:]
        embedded = [line for line in fonts if re.search(r"Identity-H +yes yes yes", line)]
        check(f"{path.name} brings its typefaces", fonts and embedded == fonts, fonts)
    text = {path.stem: " ".join(run("pdftotext", path, "-").split())
            for path in folder.glob("*.pdf")}
    for wanted in ["Job card", "probe not in far enough, cylinder 3", "°C", "For the next mechanic", "The record"]:
        check(f"example.pdf has `{wanted}`", wanted in text["example"])
    for name in ["nasty", "bench"]:
        check(f"{name}.pdf shows the customer's words", NASTY in text[name], text[name][:300])
    for name, (wide, high) in {"plain": (595, 842), "plain-letter": (612, 792)}.items():
        info = run("pdfinfo", folder / f"{name}.pdf")
        check(f"{name}.pdf is a page for each reader", re.search(r"Pages: +3\n", info), info)
        size = re.search(r"Page size: +([\d.]+) x ([\d.]+)", info)
        near = abs(float(size[1]) - wide) < 1 and abs(float(size[2]) - high) < 1
        check(f"{name}.pdf has its size", near, info)


def tags(folder):
    """Every PDF as who has it read aloud gets it: by poppler's reading of the tree, and qpdf's of the objects."""
    for path in sorted(folder.glob("*.pdf")):
        name = path.name
        info = run("pdfinfo", path)
        check(f"{name} is tagged", re.search(r"Tagged: +yes", info), info)
        told = run("pdfinfo", "-struct-text", path)
        kinds = re.findall(r"^ *([A-Z][A-Za-z0-9]*)(?: \((?:block|inline)\))?:?$", told, re.MULTILINE)
        check(f"{name} begins with its title", kinds[:2] == ["Document", "H1"], kinds[:3])
        levels = [int(kind[1]) for kind in kinds if re.fullmatch("H[1-6]", kind)]
        jumps = [pair for pair in zip(levels, levels[1:]) if pair[1] > pair[0] + 1]
        check(f"{name} leaves no level of heading out", not jumps, levels)
        # The order of the words: all that is drawn, but for feet and what a table says again on a new page.
        spoken = "".join("".join(re.findall(r'^ *"(.*)"$', told, re.MULTILINE)).split())
        missing = [word for word in set(run("pdftotext", path, "-").split())
                   if word not in spoken and not re.fullmatch(r"page|of|\d+|·|…", word)]
        check(f"{name} reads every word aloud", not missing, missing[:5])
        check(f"{name} reads no foot aloud", not re.search(r"page\d+of\d+", spoken), spoken[-60:])
        objects = json.loads(run("qpdf", "--json", path))["qpdf"][1].values()
        objects = [item["value"] for item in objects if isinstance(item.get("value"), dict)]
        catalogue = [item for item in objects if item.get("/Type") == "/Catalog"]
        check(f"{name} says its language", [item.get("/Lang") for item in catalogue] == ["u:en"], catalogue)
        figures = [item for item in objects if item.get("/S") == "/Figure"]
        bare = [item for item in figures if len(item.get("/Alt", "")) < 12 or "/BBox" not in str(item)]
        check(f"{name} says of every picture what is to be seen", not bare, bare[:1])
        if name == "plain.pdf":
            for kind in ["H2", "H3", "P", "L", "LI", "Lbl", "LBody", "Table", "TR", "TH", "TD", "Figure"]:
                check(f"{name} has {kind}", kind in kinds, kinds)
            wanted = ["What was wrong", "What was done", "For the next mechanic", "Cause", "The record",
                      "Readings before the remedy", "Entries"]
            places = [told.find(f'"{words}') for words in wanted]
            check(f"{name} is read in order", -1 not in places and places == sorted(places), places)


def svgs(folder):
    lists = [(path.name, path.read_text()) for path in sorted(folder.glob("*.svg"))]
    for path in sorted(folder.glob("*.html")):
        # A bar behind a number is no picture.
        found = [svg for svg in re.findall(r"<svg.*?</svg>", path.read_text(), re.DOTALL) if 'role="img"' in svg]
        lists += [(f"{path.name} picture {n}", text) for n, text in enumerate(found, 1)]
    check("there are pictures", len(lists) > 10, len(lists))
    for name, text in lists:
        root = xml.fromstring(text)
        left, top, wide, high = map(float, root.get("viewBox").split())
        tag = [child.tag.split("}")[1] for child in root][:2]
        check(f"{name} has title and description", tag == ["title", "desc"], tag)
        spots = []
        for item in root.iter():
            number = lambda key: float(item.get(key, "0"))
            kind = item.tag.split("}")[1]
            if kind == "rect":
                spots += [(number("x"), number("y")),
                          (number("x") + number("width"), number("y") + number("height"))]
            elif kind == "circle":
                r = number("r")
                spots += [(number("cx") - r, number("cy") - r), (number("cx") + r, number("cy") + r)]
            elif kind == "text":
                spots.append((number("x"), number("y")))
            elif kind in ("polyline", "polygon"):
                spots += [tuple(map(float, p.split(","))) for p in item.get("points").split()]
        bad = [(x, y) for x, y in spots
               if not (math.isfinite(x) and math.isfinite(y)
                       and left - 1 <= x <= left + wide + 1 and top - 1 <= y <= top + high + 1)]
        check(f"{name}: every mark is finite and inside", not bad, bad[:5])


def chromium(*words):
    done = subprocess.run(
        ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr",
         "--proxy-server=127.0.0.1:9", "--proxy-bypass-list=<-loopback>", *words],
        capture_output=True, text=True, timeout=120)
    said = [line for line in done.stderr.splitlines() if "CONSOLE" in line]
    return done.stdout, said


# Put round the page in a frame as narrow as a phone, it measures what the page became.
LOOK = """
const frame = document.querySelector('iframe');
frame.onload = () => {
  const page = frame.contentDocument, view = frame.contentWindow;
  const part = c => { c /= 255; return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
  const light = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
  const rgb = text => text.match(/[\\d.]+/g).map(Number);
  const ground = e => {
    for (; e; e = e.parentElement) {
      const c = rgb(view.getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] > 0) return c;
    }
    return [255, 255, 255];
  };
  let palest = 99, where = '';
  for (const e of page.querySelectorAll('body *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
    if (!own || ['title', 'desc', 'style'].includes(e.tagName)) continue;
    const inside = e.tagName === 'text';
    const style = view.getComputedStyle(e);
    // A picture's text may stand on its palest area.
    const grounds = inside ? [[255, 255, 255], [0xe4, 0xe4, 0xe4]] : [ground(e)];
    for (const g of grounds) {
      const [a, b] = [light(rgb(inside ? style.fill : style.color)), light(g)];
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      if (ratio < palest) { palest = ratio; where = e.textContent.slice(0, 40); }
    }
  }
  const answer = {
    wide: page.documentElement.scrollWidth, palest, where,
    scripts: page.querySelectorAll('script,img,iframe,object').length,
    text: page.body.innerText, lang: page.documentElement.lang, title: page.title,
  };
  const out = document.createElement('pre');
  out.id = 'answer';
  out.textContent = JSON.stringify(answer);
  document.body.append(out);
};
frame.srcdoc = document.getElementById('page').textContent;
"""


def pages(folder):
    for path in sorted(folder.glob("*.html")):
        text = path.read_text()
        name = path.name
        check(f"{name} names nothing elsewhere", not re.search(r"(src|href)=\"(?!data:,)|url\(|@import",
                                                               text.replace("&quot;", "")))
        dom, said = chromium("--dump-dom", f"file://{path}")
        check(f"{name} loads without a word on the console", not said and "<main>" in dom, said)
        harness = folder / "harness" / name
        harness.parent.mkdir(exist_ok=True)
        harness.write_text(
            f"<!DOCTYPE html><meta charset=utf-8><iframe width={PHONE} height=700></iframe>"
            f"<textarea id=page>{html.escape(text)}</textarea><script>{LOOK}</script>")
        dom, said = chromium("--virtual-time-budget=5000", "--dump-dom", f"file://{harness}")
        found = re.search(r"<pre id=\"answer\">(.*?)</pre>", dom, re.DOTALL)
        if not found:
            check(f"{name} answers in a frame", False, dom[-300:])
            continue
        seen = json.loads(html.unescape(found[1]))
        check(f"{name} fits a phone", seen["wide"] <= PHONE, seen["wide"])
        check(f"{name} has contrast", seen["palest"] >= AA, (seen["palest"], seen["where"]))
        check(f"{name} runs and fetches nothing", seen["scripts"] == 0 and not said, seen["scripts"])
        check(f"{name} has language and title", seen["lang"] == "en" and seen["title"], seen["title"])
        if name in ("nasty.html", "bench.html"):
            check(f"{name} shows the customer's words", NASTY in seen["text"], seen["text"][:300])
        paper = folder / "harness" / f"{path.stem}.pdf"
        chromium("--no-pdf-header-footer", f"--print-to-pdf={paper}", f"file://{path}")
        info = run("pdfinfo", paper)
        if name == "plain.html":
            check(f"{name} prints to a page for each reader", re.search(r"Pages: +3\n", info), info)


with tempfile.TemporaryDirectory() as name:
    top = Path(name)
    jobs(top)
    write(top)
    pdfs(top)
    tags(top)
    svgs(top)
    pages(top)
for what in failures:
    print(f"failed: {what}")
print(f"pages: {count - len(failures)} passed, {len(failures)} failed")
sys.exit(1 if failures else 0)
