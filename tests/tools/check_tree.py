#!/usr/bin/env python3
"""Checks of the tree that no compiler makes: include arrows, purity, layout, length, words.

    check_tree.py BUILD     BUILD/obj holds objects of every file in src/

The arrows are read from the room table of DEVELOPERS.md, so that the document cannot drift from
what is checked. Prints one line per finding, as file:line: text; exit status 1 if there is any.
"""
import os
import re
import subprocess
import sys

TOP_LEVEL = {"README.md", "DEVELOPERS.md", "LICENSE", "Makefile", "include", "src", "tests",
             "sounds", "presets"}
LINES_WISHED, LINES_MAX = 400, 500
UNFINISHED = re.compile(r"\b(TO" r"DO|FIX" r"ME|XX" r"X|HA" r"CK)\b|not (yet )?impl" r"emented",
                        re.IGNORECASE)
# What a pure room must not call: files, clocks, threads, the terminal, the environment.
IMPURE = re.compile(
    r"^(f?open(at)?|fopen64|open64|creat|read|write|fread|fwrite|fputs|fputc|puts|putchar|putc|"
    r"v?f?printf|__v?f?printf_chk|perror|std(in|out|err)|time|clock|clock_gettime|gettimeofday|"
    r"localtime.*|nanosleep|usleep|sleep|getenv|secure_getenv|setenv|rand(om)?|srand(om)?|"
    r"setlocale|pthread_.*|thrd_.*|mtx_.*|signal|sigaction|system|popen|exit|_exit)$")

findings = []


def found(path, line, text):
    findings.append(f"{path}:{line}: {text}" if line else f"{path}: {text}")


def tracked():
    out = subprocess.run(["git", "ls-files", "--cached", "--others", "--exclude-standard"],
                         capture_output=True, text=True, check=True).stdout
    return [p for p in out.splitlines() if os.path.isfile(p)]


def lines_of(path):
    with open(path, encoding="utf-8", errors="replace") as f:
        return f.read().splitlines()


def room_table():
    """{room: rooms it may include}, from lines like `| `src/harp` | what | music |`."""
    may = {}
    for line in lines_of("DEVELOPERS.md"):
        cells = [c.strip() for c in line.split("|")]
        room = re.fullmatch(r"`src/(\w+)`", cells[1]) if len(cells) > 4 else None
        if room:
            pure = cells[4] == "yes"
            may[room[1]] = (set(re.findall(r"\w+", cells[3])), pure)
    rooms = set(may)
    for room, (known, pure) in may.items():
        known = rooms if known == {"all"} else known & rooms
        may[room] = (known | {room}, pure)
    return may


def check_arrows(files, may):
    for path in files:
        home = re.match(r"(?:src|include/evenhand)/(\w+)/.*\.[ch]$", path)
        if not home:
            continue
        room = home[1]
        if room not in may:
            found(path, 0, f"room {room} is not in the room table of DEVELOPERS.md")
            continue
        for number, line in enumerate(lines_of(path), 1):
            include = re.match(r'\s*#\s*include\s*"([^"]+)"', line)
            if not include:
                continue
            target = re.fullmatch(r"evenhand/(\w+)/\w+\.h", include[1])
            if target is None:
                near = os.path.join(os.path.dirname(path), include[1])
                if "/" in include[1] or not os.path.isfile(near):
                    found(path, number, f"include {include[1]} by its full name")
            elif target[1] not in may[room][0]:
                found(path, number, f"{room} may not know {target[1]}")


def check_objects(build, may):
    """Pure rooms call nothing impure and hold no state; no room shows a variable."""
    for room, (_, pure) in sorted(may.items()):
        folder = os.path.join(build, "obj", "src", room)
        if not os.path.isdir(folder):
            continue
        for name in sorted(os.listdir(folder)):
            path = os.path.join(folder, name)
            source = f"src/{room}/{name[:-2]}.c"
            if not name.endswith(".o") or not os.path.isfile(source):
                continue
            for line in subprocess.run(["nm", path], capture_output=True, text=True,
                                       check=True).stdout.splitlines():
                kind, symbol = line.split()[-2:]
                if kind in "DBCRGS":
                    found(source, 0, f"variable {symbol} can be seen outside its file")
                elif pure and kind == "U" and IMPURE.match(symbol):
                    found(source, 0, f"a pure room calls {symbol}")
            if pure:
                sizes = subprocess.run(["size", "-A", path], capture_output=True, text=True,
                                       check=True).stdout
                for section, size in re.findall(r"^(\.(?:data|bss|tdata|tbss)) +(\d+)", sizes,
                                                re.MULTILINE):
                    if int(size):
                        found(source, 0, f"a pure room keeps state ({size} bytes in {section})")


def check_files(files):
    for path in files:
        top = path.split("/")[0]
        if not top.startswith(".") and top not in TOP_LEVEL:
            found(path, 0, "does not belong at the top level")
        if re.match(r"(src|include|tests)/.*\.(c|h|py|sh)$", path):
            count = len(lines_of(path))
            if count > LINES_MAX:
                found(path, 0, f"{count} lines; {LINES_WISHED} is the aim, {LINES_MAX} the end")
        if re.search(r"\.(c|h|py|sh|md|1|yml)$|(^|/)Makefile$|^\.ci/", path):
            for number, line in enumerate(lines_of(path), 1):
                if UNFINISHED.search(line):
                    found(path, number, "unfinished work is not left in the tree")


def main():
    build = sys.argv[1] if len(sys.argv) > 1 else "build"
    files = tracked()
    may = room_table()
    if len(may) < 8:
        found("DEVELOPERS.md", 0, f"the room table has only {len(may)} rooms")
    check_arrows(files, may)
    check_objects(build, may)
    check_files(files)
    for line in findings:
        print(line)
    return 1 if findings else 0


sys.exit(main())
