"""Four whole jobs played on an emulated terminal, as a mechanic would, and what each took.

Keys are what is typed, by what they say: names (vehicle, complaint), readings, all else. A prompt is a
question that waits for an answer; a page is one that waits to be read ("more?"). Lines are all that was ever
written, screens those by the height of the terminal. Every line must fit the width, nothing may be coloured,
every job must come to its end, and the easy job may take 70 keys beside names.

Takes the program, and the jobs that are wanted if not all; `ODDPOT_SHOW=1` shows the last screen of each job. Needs pyte.
"""

import os
import pty
import re
import select
import struct
import subprocess
import sys
import tempfile
import termios
import fcntl
import time

import pyte

PROGRAM = os.path.realpath(sys.argv[1])
MOST = 70
PROVEN, NORMAL = "proven.", "normal for this engine."
ENTER, DOWN, SPACE = "\r", "\x1b[B", " "
# Outcomes of a look at what is sound, in the order in which they are taken where one is offered.
SOUND = ["alike", "same as", "smooth", "even", "no difference", "nothing to speak of", "none", "nothing", "no change",
         "belong together", "ordinary figure", "shows the terminal", "this display rises", "nobody knows",
         "does not",  "sound", "steady", "as the others", "like the others", "normal",
         "clean", "tight", "dry", "within", "at once", "own"]


class Fault:
    """A fault of an item: which, at which cylinder it was, what it does at each point, what shows it, what
    cures it."""

    def __init__(self, item, cylinder, does, looks=(), cure=""):
        self.item, self.cylinder, self.does = item, cylinder, does
        self.looks, self.cure, self.cured = dict(looks), cure, False


class World:
    """An engine with faults, and where its parts are."""

    POINTS = {"warm idle": 500, "steady cruise": 650, "full load": 820}

    def __init__(self, cylinders, faults):
        self.cylinders, self.faults, self.moved, self.sets = cylinders, faults, [], 0

    def where(self, fault):
        """At which display a fault shows now."""
        at = fault.cylinder
        for item, a, b in self.moved:
            # With a lead its whole cylinder goes to another display.
            if item in ("lead", fault.item) and at in (a, b):
                at = b if at == a else a
        return at

    def readings(self, point):
        self.sets += 1
        base = self.POINTS[point]
        out = []
        for n in range(1, self.cylinders + 1):
            # Cylinders differ by some degrees, sets by one or two.
            value = base + (n * 37 % 17) - 8 + (n * 5 + self.sets * 7) % 3 - 1
            word = None
            for fault in self.faults:
                if fault.cured or self.where(fault) != n:
                    continue
                does = fault.does[point]
                if isinstance(does, str):
                    word = does
                else:
                    value += does
            out.append(word or str(value))
        return " ".join(out)


class Terminal:
    def __init__(self, jobs, columns, rows):
        self.columns, self.rows = columns, rows
        self.screen = pyte.HistoryScreen(columns, rows, history=10_000)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""
        self.keys = {"names": 0, "readings": 0, "other": 0}
        pid, self.fd = pty.fork()
        if pid == 0:
            environment = {"TERM": "xterm", "NO_COLOR": "1", "TZ": "UTC"}
            os.chdir(jobs)
            os.execve(PROGRAM, [PROGRAM, "--jobs", jobs], environment)
        self.pid = pid
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def read(self, patience):
        """Reads until nothing comes for a moment; false when the program has ended."""
        until = time.monotonic() + patience
        while time.monotonic() < until:
            ready, _, _ = select.select([self.fd], [], [], 0.12)
            if not ready:
                if self.asks():
                    return True
                continue
            try:
                data = os.read(self.fd, 65536)
            except OSError:
                return False
            if not data:
                return False
            self.raw += data
            self.stream.feed(data)
            until = time.monotonic() + patience
        raise SystemExit("it asks nothing:\n" + self.text())

    def text(self):
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def asks(self):
        """The question that waits, if one does: the last one, with its help below it."""
        lines = self.text().split("\n")
        if not lines[-1].startswith("[") and not (len(lines) > 1 and lines[-2].startswith("[")):
            return None
        asked = [line for line in lines if line.startswith("? ")]
        return asked[-1][2:] if asked else None

    def choices(self):
        lines = self.text().split("\n")
        start = max(i for i, line in enumerate(lines) if line.startswith("? "))
        found = [line for line in lines[start + 1:] if re.match(r"[>^v ] ", line)]
        return [line[2:].strip() for line in found]

    def type(self, text, kind="other"):
        # An arrow is one key.
        self.keys[kind] += len(text.replace(DOWN, "v"))
        os.write(self.fd, text.encode())

    def lines(self):
        above = len(self.screen.history.top)
        return above + len([line for line in self.text().split("\n")])


class Job:
    def __init__(self, name, world, opening):
        self.name, self.world, self.opening = name, world, opening


def jobs():
    # Of the easy job as a probe that sits 10 mm less deep does it, by the physics of the guide: less at load.
    shallow = {"look at depth marks": "Sits shallower", "measure its depth": "more shallower"}
    return [
        Job("easy", World(4, [Fault("probe", 3, {"warm idle": -60, "steady cruise": -32, "full load": -11},
                                    shallow, "same measured depth")]),
            {"complaint": "3 low", "engine": "Four in line, port", "lately": "New probes"}),
        Job("two faults", World(4, [
            Fault("probe", 2, {"warm idle": -75, "steady cruise": -100, "full load": -110}, shallow,
                  "same measured depth"),
            Fault("probe", 4, {"warm idle": 45, "steady cruise": 60, "full load": 65},
                  {"look at depth marks": "Sits deeper", "measure its depth": "more deeper"}, "same measured depth"),
        ]), {"complaint": "2 low, 4 high", "engine": "Four in line, port", "lately": "New probes"}),
        Job("intermittent", World(4, [Fault("lead", 2, {p: "20..505" for p in World.POINTS},
                                            {"tug and tap": "Jumps", "resistance of probe and lead": "High, or jumps"},
                                            "pins at both halves")]),
            {"complaint": "2 jumps", "engine": "Four in line, port", "lately": "Wiring"}),
        Job("nothing wrong", World(4, []),
            {"complaint": "", "engine": "Four in line, port", "lately": ""}),
    ]


def play(job, columns, rows):
    """Plays a job to its card; gives a row of the table."""
    folder = tempfile.mkdtemp(prefix="oddpot-keys-")
    terminal = Terminal(folder, columns, rows)
    prompts = pages = first = 0
    title, asked = "", ""
    while prompts + pages < 200:
        if not terminal.read(60):
            break
        question = terminal.asks()
        text = terminal.text()
        steps = re.findall(r"Next: ((?:.+\n)+?)=+", "\n".join(written(terminal)) + "\n")
        title = " ".join(steps[-1].split()) if steps else title
        if question.startswith("more?"):
            pages += 1
            terminal.type(ENTER)
            continue
        prompts += 1
        if question.startswith("What now?") and not first:
            first = prompts
        # The card is written: the job is done.
        if asked.startswith("File for the"):
            break
        asked = question
        answer = reply(job, terminal, question, title)
        kind, keys = answer
        if os.environ.get("ODDPOT_SHOW"):
            said = terminal.choices() if question.startswith("What did") else terminal.choices()[:1]
            print(f"{question} / {said} / {keys!r}", file=sys.stderr)
        body = keys[:-1] if keys.endswith(ENTER) else keys
        terminal.type(body, kind)
        if keys.endswith(ENTER):
            terminal.type(ENTER)
    made = [name for name in os.listdir(folder) if "card" in name]
    state = [line for line in written(terminal) if "job closed" in line]
    if os.environ.get("ODDPOT_SHOW"):
        print(f"--- {job.name} {columns}x{rows}\n" + terminal.text(), file=sys.stderr)
    os.close(terminal.fd)
    os.waitpid(terminal.pid, 0)
    wide = [line for line in written(terminal) if len(line) > columns]
    colour = re.search(rb"\x1b\[(?:3[0-7]|4[0-7]|9[0-7]|38|48)[;m]", terminal.raw)
    keys = terminal.keys
    lines = terminal.lines()
    return {
        "job": job.name, "size": f"{columns}x{rows}", "keys": sum(keys.values()), **keys, "first": first,
        "prompts": prompts, "pages": pages, "screens": -(-lines // rows), "ended": state[-1].split("job closed, ")[1] if state else "open",
        "card": made, "wide": wide, "colour": bool(colour),
    }


def written(terminal):
    above = ["".join(line[x].data for x in range(terminal.columns)).rstrip()
             for line in terminal.screen.history.top]
    return above + [line.rstrip() for line in terminal.screen.display]


def offered(terminal, wanted):
    """Keys that take the first choice with these words in it: its first letters as a search, if it is not on top."""
    choices = terminal.choices()
    for index, choice in enumerate(choices):
        if wanted.lower() in choice.lower():
            # The arrow, where that is shorter than letters.
            return (DOWN * index if index <= 4 else wanted[:8]) + ENTER
    return None


def reply(job, terminal, question, title):
    world, opening = job.world, job.opening
    if question.startswith("Which vehicle"):
        return "names", "grey car" + ENTER
    if question.startswith("What is the complaint"):
        return "names", opening["complaint"] + ENTER
    if question.startswith("What engine"):
        return "other", offered(terminal, opening["engine"])
    if question.startswith("What was done lately"):
        keys = offered(terminal, opening["lately"]) if opening["lately"] else ENTER
        return "other", keys.replace(ENTER, SPACE + ENTER) if opening["lately"] else ENTER
    if question.startswith("Displays"):
        point = next(p for p in world.POINTS if p in question)
        # Numbers part themselves where a digit more could not belong to the one before.
        line = world.readings(point)
        return "readings", (line.replace(" ", "") if line.replace(" ", "").isdigit() else line) + ENTER
    if question.startswith("What did it show"):
        cylinder = re.search(r"cylinder (\d+)", question)
        cylinder = int(cylinder[1]) if cylinder else 0
        for fault in world.faults:
            for words, outcome in fault.looks.items():
                if words in title.lower() and not fault.cured and world.where(fault) == cylinder:
                    keys = offered(terminal, outcome)
                    if keys:
                        return "other", keys
        for word in SOUND:
            keys = offered(terminal, word)
            if keys:
                return "other", keys
        return "other", ENTER
    if question.startswith("What now?"):
        first = terminal.choices()[0]
        done = re.search(r"xchange the (\w+?)s?(?: at the \w+)? of (?:cylinders|displays) (\d+) and (\d+)", first)
        back = re.search(r"put back (?:the )?(\w+?)s? (?:of \w+ )?(\d+) and (\d+)", first.lower())
        for found in (done, back):
            if found:
                world.moved.append((found[1], int(found[2]), int(found[3])))
        for fault in world.faults:
            if fault.cure and fault.cure in title.lower() and f"cylinder {fault.cylinder}" in title:
                fault.cured = True
        return "other", ENTER
    if question.startswith("Close it all the same"):
        return "other", "y" + ENTER
    return "other", ENTER


def main():
    wanted = sys.argv[2:]
    print("| job | terminal | keys in all | of them names | readings | all else | prompts to the first advice "
          "| prompts | pages | screens |")
    print("| --- | --- " + "| ---: " * 8 + "|")
    missed = []
    rows = []
    for job, size in ((n, size) for size in ((80, 24), (60, 20)) for n in range(4)):
        job = jobs()[job]
        if wanted and job.name not in wanted:
            continue
        row = play(job, *size)
        rows.append(row)
        print("| {job} | {size} | {keys} | {names} | {readings} | {other} | {first} | {prompts} | {pages} "
              "| {screens} |".format(**row), flush=True)
        if row["wide"] or row["colour"]:
            missed.append(f"{row['job']} {row['size']}: {row['wide'][:1]} {row['colour']}")
        if not row["card"] or row["ended"] not in (PROVEN, NORMAL):
            missed.append(f"{row['job']} {row['size']}: {row['ended']} {row['card']}")
    easy = [row for row in rows if row["job"] == "easy"]
    beside = [row["other"] + row["readings"] for row in easy]
    missed += [f"easy: {keys} keys beside names" for keys in beside if keys > MOST]
    print("\n".join(missed), file=sys.stderr)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
