#!/usr/bin/env python3
"""`make bench`: speed and size, ours against a peer in the same run, as a table of ratios.

    run.py BUILD [NAME ...]     all rows, or those whose name begins with a NAME

Peers: fluidsynth (writes the same MIDI file to a WAV), abc2midi (reads the same ABC), and
bench_silence (a bare PortAudio program), python3-icalendar (writes the same calendar), and
python3's sqlite3 (writes as many rows, each synced). The audio rows play into a private null sink, so no
sound hardware is needed. Figures on a busy machine are worse; nothing here is a test.
"""
import fcntl
import glob
import os
import pty
import re
import select
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SOUNDFONT = "/usr/share/sounds/sf2/FluidR3_GM.sf2"
HOUR = 3600.0
RATE = 48000
CONSOLE_SECONDS = 20
TICK = os.sysconf("SC_CLK_TCK")

build = os.path.abspath(sys.argv[1] if len(sys.argv) > 1 else "build")
program = os.path.join(build, "evenhand")
rooms = os.path.join(build, "tests/bench/bench_rooms")
silence = os.path.join(build, "tests/bench/bench_silence")
rows = []
os.environ["EVENHAND_DATA"] = ROOT


def row(what, peer, ours, ratio, goal, met):
    rows.append((what, peer, ours, ratio, goal, "yes" if met else "NO"))
    print(".", end="", flush=True)


def run(command, **more):
    """Seconds that a command takes; its output is dropped. A failure ends the bench."""
    start = time.monotonic()
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, check=False,
                          **more)
    took = time.monotonic() - start
    if done.returncode:
        sys.exit(f"bench: {' '.join(command)} failed:\n{done.stderr.decode()[-400:]}")
    return took


def best(times, command, **more):
    return min(run(command, **more) for _ in range(times))


def numbers(*command):
    out = subprocess.run(command, check=True, capture_output=True, text=True, cwd=ROOT).stdout
    return [float(word) for word in out.split()]


def abc_file(folder, notes, kind="text"):
    """Waves over three octaves, (wander) steps, turns, leaps and rests at random, or (broken)
    triads broken to and fro."""
    path = os.path.join(folder, f"{kind}{notes}.abc")
    with open(path, "wb") as f:
        f.write(subprocess.run([rooms, kind, str(notes)], check=True,
                               capture_output=True).stdout)
    return path


# ---- files ---------------------------------------------------------------------------------

def wav_seconds(path):
    """From the header's data size: chunks until `data`; 16-bit mono or as the header says."""
    with open(path, "rb") as f:
        head = f.read(200)
    rate_bytes = struct.unpack("<I", head[28:32])[0]
    return (os.path.getsize(path) - head.index(b"data") - 8) / rate_bytes


def bench_write(folder):
    """An hour of clicks and guide tones: 64 quavers at 120 are 16 seconds."""
    tune = abc_file(folder, 64)
    ours, midi, peer = (os.path.join(folder, n) for n in ("ours.wav", "hour.mid", "peer.wav"))
    options = ["--drill", "plain", "--repetitions", str(int(HOUR / 16)), "--tempo", "120",
               "--rest", "0", "--force"]
    layers = ["--layers", "pulse,notes,accent,guide"]
    run([program, "write", tune, "-o", midi, *options])
    ours_s = best(3, [program, "write", tune, "-o", ours, "--rate", str(RATE), *options, *layers])
    seconds = wav_seconds(ours)
    peer_s = run(["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-r", str(RATE), "-T", "wav",
                  "-O", "s16", "-F", peer, SOUNDFONT, midi])
    peer_speed, our_speed = wav_seconds(peer) / peer_s, seconds / ours_s
    row("write an hour of clicks and guide tones (fluidsynth)", f"{peer_s:.2f} s",
        f"{ours_s:.2f} s", f"{our_speed / peer_speed:.1f} x faster", ">= 20 x",
        our_speed >= 20 * peer_speed)
    row("the same against real time", f"{peer_speed:.0f} x", f"{our_speed:.0f} x", "",
        ">= 2000 x", our_speed >= 2000)


def book_file(folder):
    """Every tune of presets/ and of the reader's tests in one file, numbered afresh."""
    path, tunes = os.path.join(folder, "book.abc"), []
    files = sorted(glob.glob(os.path.join(ROOT, "presets/*.abc")) +
                   glob.glob(os.path.join(ROOT, "tests/formats/tunes/*.abc")))
    for name in files:
        with open(name, encoding="latin-1", newline="") as f:
            text = f.read().replace("\r\n", "\n").replace("\r", "\n")
        for tune in re.split(r"(?m)^(?=X:)", text)[1:]:
            tune = re.sub(r"\n\s*\n[\s\S]*", "\n", tune)
            tunes.append(re.sub(r"^X:.*", f"X:{len(tunes) + 1}", tune).rstrip("\n") + "\n")
    with open(path, "w", encoding="latin-1") as f:
        f.write("\n".join(tunes))
    return path, len(tunes)


def read_row(what, peer, ours):
    row(what, f"{peer * 1e3:.2f} ms", f"{ours * 1e3:.2f} ms", f"{peer / ours:.2g} x faster",
        ">= 5 x", peer >= 5 * ours)


def less_start(command, start, **more):
    """Seconds of a process that are not its start: the same command on one note taken off."""
    return max(best(31, command, **more) - best(31, start, **more), 1e-5)


def bench_abc(folder):
    """From file to notes in memory, three ways, so that nothing hides: two whole processes, start
    and all; the same less each one's own start, which is measured on a tune of one note; and ours
    timed inside its process, over and over on a file already read, against the peer's process
    less its start. Fresh memory is part of each, as the peer's is. Then a process each from ABC
    to a MIDI file; ours plans the fingers on the way, which the other cannot be asked to do."""
    tune, tiny = abc_file(folder, 10000), abc_file(folder, 1)
    book, count = book_file(folder)
    for path, what in ((tune, "10,000 notes of ABC"), (book, f"a book of {count} tunes")):
        peer_run, our_run = ["abc2midi", path, "-c"], [rooms, "read", path]
        read_row(f"read {what}, whole processes (abc2midi -c)", best(31, peer_run, cwd=folder),
                 best(31, our_run, cwd=folder))
        peer = less_start(peer_run, ["abc2midi", tiny, "-c"], cwd=folder)
        read_row("the same, each less its start", peer,
                 less_start(our_run, [rooms, "read", tiny], cwd=folder))
        read_row("the same, ours timed inside the process, file in memory", peer,
                 numbers(rooms, "abc", path)[0] / 1e6)
    peer, ours = (os.path.join(folder, n) for n in ("peer.mid", "ours.mid"))
    read_row("10,000 notes of ABC to MIDI, the whole process: ours also plans",
             best(9, ["abc2midi", tune, "-o", peer]),
             best(9, [program, "write", tune, "-o", ours, "--drill", "plain", "--repetitions",
                      "1", "--force"]))
    read_row("10,000 notes listed, the whole process: ours also plans",
             best(9, ["abc2midi", tune, "-o", peer]), best(9, [program, "notes", tune]))


def bench_plan(folder):
    """The goal is 10 ms, 20 for figures to and fro; twice the notes may take 2.2 times as long."""
    for kind, what, goal in (("text", "waves", 10), ("wander", "steps, turns, leaps and rests", 10),
                             ("broken", "broken triads", 20)):
        half, whole = ([us / 1e3 for us in numbers(rooms, "plan", abc_file(folder, notes, kind))]
                       for notes in (5000, 10000))
        row(f"plan the fingers of 10,000 notes: {what} (four plans: {whole[1]:.0f} ms)", "-",
            f"{whole[0]:.2f} ms", "", f"<= {goal} ms", whole[0] <= goal)
        growth = whole[0] / half[0]
        row("the same against 5,000 notes (linear: 2)", f"{half[0]:.2f} ms", f"{whole[0]:.2f} ms",
            f"{growth:.2f} x", "<= 2.2 x", growth <= 2.2)


def bench_drills(folder):
    took = numbers(rooms, "drills", abc_file(folder, 10000))[0] / 1e3
    row("build all drills of a 10,000-note passage", "-", f"{took:.1f} ms", "", "<= 20 ms",
        took <= 20)


def bench_engine(folder):
    high, middle = numbers(rooms, "engine", abc_file(folder, 64))
    period = 256 / RATE * 1e6
    row(f"engine, 256 frames, 99.9th percentile (median {middle:.1f} us)", f"{period:.0f} us",
        f"{high:.1f} us", f"{100 * high / period:.2f} % of period", "<= 1 %",
        high <= period / 100)


def bench_exam(folder):
    """Planning, and writing what python3-icalendar writes of the same events."""
    path = os.path.join(folder, "year.ics")
    exam = os.path.join(build, "tests/bench/bench_exam")
    fits, misfits, advised, ours = (us / 1e3 for us in numbers(exam, path))
    row("plan 20 passages over a year", "-", f"{fits:.2f} ms", "", "<= 20 ms", fits <= 20)
    row(f"the same where it does not fit (with advice: {advised:.0f} ms)", "-",
        f"{misfits:.2f} ms", "", "<= 20 ms", misfits <= 20)
    peer = min(numbers("/usr/bin/python3", "-c", PEER_CALENDAR, path)) / 1e3
    row("write its calendar, against python3-icalendar", f"{peer:.1f} ms", f"{ours:.2f} ms",
        f"{peer / ours:.0f} x", ">= 5 x", peer >= 5 * ours)


# The events as that program's own, made and written anew; microseconds of nine times.
PEER_CALENDAR = """
import sys, time, icalendar
read = icalendar.Calendar.from_ical(open(sys.argv[1], "rb").read())
events = [(str(e["UID"]), e["DTSTAMP"].dt, e["DTSTART"].dt, str(e["SUMMARY"]),
           str(e.get("DESCRIPTION", ""))) for e in read.walk("VEVENT")]
for _ in range(9):
    start = time.monotonic()
    calendar = icalendar.Calendar()
    for uid, stamp, day, summary, description in events:
        event = icalendar.Event()
        event.add("uid", uid)
        event.add("dtstamp", stamp)
        event.add("dtstart", day)
        event.add("summary", summary)
        event.add("description", description)
        calendar.add_component(event)
    calendar.to_ical()
    print((time.monotonic() - start) * 1e6)
"""


def bench_record(folder):
    """A record of a million repetitions: of a studio of 24 students, and of one player."""
    record = os.path.join(build, "tests/bench/bench_record")
    lists = ("by student", "by passage", "by drill", "by day", "a student's passages",
             "a student's passage over days", "a day's passages", "a week's drills",
             "two years' passages", "a passage's drills", "a drill's passages",
             "1,000 repetitions", "changed fingers")
    for students in (24, 1):
        path = os.path.join(folder, f"{students}.db")
        run([record, "make", path, str(students)])
        times = numbers(record, "lists", path)
        slowest = max(range(len(times)), key=times.__getitem__)
        who = "students" if students > 1 else "student"
        rest = sorted(times)[-2]
        row(f"lists of a million repetitions of {students} {who}: the slowest is "
            f"'{lists[slowest]}' (the next {rest:.1f} ms)", "-", f"{times[slowest]:.1f} ms", "",
            "<= 50 ms", times[slowest] <= 50)
    path = os.path.join(folder, "24.db")
    median, late, put = numbers(record, "write", path, "2000")
    peer, _ = numbers("/usr/bin/python3", "-c", PEER_RECORD, os.path.join(folder, "peer.db"))
    row(f"write one repetition there, synced, median (99 of 100 within {late:.2f} ms), against a "
        "plain row by python3's sqlite3", f"{peer:.3f} ms", f"{median:.3f} ms",
        f"{median / peer:.1f} x", "<= 1 ms", median <= 1)
    row("hand one to the thread that writes: the longest of 64", "-", f"{put:.1f} us", "",
        "<= 100 us", put <= 100)


# One row and one commit at a time, in the same mode; milliseconds: median and 99th percentile.
PEER_RECORD = """
import sys, sqlite3, time
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("PRAGMA journal_mode = WAL")
db.execute("PRAGMA synchronous = FULL")
db.execute("CREATE TABLE repetition (id INTEGER PRIMARY KEY, student INTEGER, passage INTEGER,"
           " drill INTEGER, tempo INTEGER, clean INTEGER, at INTEGER, day INTEGER)")
took = []
for i in range(2000):
    start = time.perf_counter()
    db.execute("INSERT INTO repetition (student, passage, drill, tempo, clean, at, day)"
               " VALUES (1, ?, ?, 60, 1, ?, 20000)", (i % 30, i % 8, i))
    took.append((time.perf_counter() - start) * 1e3)
took.sort()
print(took[1000], took[1980])
"""


# ---- the running console -------------------------------------------------------------------

class Loop:
    """The tests' software sound card: what plays into it is heard by nobody."""

    def __init__(self, folder):
        self.folder = folder
        out = self.call("start", str(os.getpid()))
        self.environment = dict(os.environ, TERM="xterm-256color", LANG="C.UTF-8")
        self.environment.update(line.split("=", 1) for line in out.splitlines() if "=" in line)

    def call(self, *words):
        script = os.path.join(ROOT, "tests/tools/loopback.py")
        return subprocess.run(["/usr/bin/python3", script, words[0], self.folder, *words[1:]],
                              check=True, capture_output=True, text=True).stdout

    def close(self):
        self.call("stop")


class Screen:
    """A program on a pseudo-terminal of 80 x 24."""

    def __init__(self, command, environment):
        self.start = time.monotonic()
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.chdir(ROOT)
            fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
            os.execve(command[0], command, environment)
        self.seen = b""

    def watch(self, seconds, text=None):
        """Reads what is drawn; seconds since the start when `text` stood there, else None."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            if not select.select([self.fd], [], [], left)[0]:
                break
            try:
                self.seen += os.read(self.fd, 65536)
            except OSError:
                break
            if text and text in self.seen:
                return time.monotonic() - self.start
        return None

    def processor_seconds(self):
        with open(f"/proc/{self.pid}/stat", encoding="ascii") as f:
            fields = f.read().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / TICK

    def megabytes(self):
        with open(f"/proc/{self.pid}/status", encoding="ascii") as f:
            return int(f.read().split("VmRSS:")[1].split()[0]) / 1024

    def close(self):
        os.kill(self.pid, signal.SIGTERM)
        self.watch(0.3)
        os.waitpid(self.pid, 0)
        os.close(self.fd)


def load_of(command, environment, after_start):
    """(processor seconds, megabytes) over CONSOLE_SECONDS of running."""
    screen = Screen(command, environment)
    after_start(screen)
    before = screen.processor_seconds()
    screen.watch(CONSOLE_SECONDS)
    used, size = screen.processor_seconds() - before, screen.megabytes()
    screen.close()
    return used, size


def bench_console(folder):
    presets = sorted(p for p in os.listdir(os.path.join(ROOT, "presets")) if p.endswith(".abc"))
    tune = os.path.join(ROOT, "presets", presets[0])
    with open(tune, encoding="utf-8") as f:
        title = next(l[2:].strip() for l in f if l.startswith("T:"))
    word = title.split()[0].encode()
    loop = Loop(folder)
    try:
        frames = []
        for _ in range(9):
            screen = Screen([program, tune], loop.environment)
            frames.append(screen.watch(5, word))
            screen.watch(0.4)
            screen.close()
        if None in frames:
            sys.exit(f"bench: the console never showed {title!r}")
        first = sorted(frames)[len(frames) // 2] * 1e3

        def begin(screen):
            screen.watch(1.5)
            os.write(screen.fd, b" ")
            screen.watch(1.5)

        peer = load_of([silence], loop.environment, lambda s: s.watch(3))
        ours = load_of([program, tune], loop.environment, begin)
    finally:
        loop.close()
    row("start to first frame (median of 9)", "-", f"{first:.0f} ms", "", "<= 50 ms",
        first <= 50)
    percent = [100 * x / CONSOLE_SECONDS for x in (peer[0], ours[0])]
    row(f"processor time over {CONSOLE_SECONDS} s (bare PortAudio, silence)",
        f"{percent[0]:.2f} %", f"{percent[1]:.2f} %",
        f"{ours[0] / max(peer[0], 1 / TICK):.2f} x", "<= 1.5 x", ours[0] <= 1.5 * peer[0])
    row("resident memory (the same)", f"{peer[1]:.1f} MB", f"{ours[1]:.1f} MB",
        f"+{ours[1] - peer[1]:.1f} MB", "<= +8 MB", ours[1] - peer[1] <= 8)


def main():
    wanted = sys.argv[2:]
    benches = {"write": bench_write, "abc": bench_abc, "plan": bench_plan, "drills": bench_drills,
               "engine": bench_engine, "exam": bench_exam, "record": bench_record, "console": bench_console}
    for name, bench in benches.items():
        if wanted and name not in wanted:
            continue
        folder = tempfile.mkdtemp(prefix="evenhand-bench-")
        try:
            bench(folder)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
    print()
    table = [("what", "peer", "ours", "ratio", "goal", "met")] + rows
    widths = [max(len(r[i]) for r in table) for i in range(6)]
    for r in table:
        print("  ".join(cell.ljust(w) for cell, w in zip(r, widths)).rstrip())


main()
