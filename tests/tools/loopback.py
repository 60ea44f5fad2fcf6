#!/usr/bin/env python3
"""A sound card made of software, private to one test: what is played into it can be recorded.

    PortAudio -> ALSA -> PulseAudio (a daemon of our own) -> null sink -> monitor -> recorder

    loopback.py start DIR [OWNER]   starts the daemon in DIR (made if need be) and prints the
                                    environment to play into it, as NAME=value lines. When the
                                    process OWNER is gone, whatever its end was, all is stopped
    loopback.py env DIR             prints that environment
    loopback.py kill DIR            ends the daemon at once: the device is lost; start again
                                    with start DIR
    loopback.py freeze DIR          stops the daemon in mid-step, so that it answers nobody ...
    loopback.py thaw DIR            ... and lets it go on
    loopback.py record DIR FILE     records in the background from here on, into FILE (WAV,
                                    48000 frames a second, mono, 16 bits). Says "recording" when
                                    the first frames are in. Beside FILE, FILE.start gets two
                                    numbers of nanoseconds: CLOCK_MONOTONIC when FILE's frame 0
                                    was heard, and how far that slipped from the beginning to the
                                    end (more than a few ms: frames were lost, the machine was
                                    too busy to record)
    loopback.py finish DIR          ends the recording and waits until FILE is whole
    loopback.py stop DIR            ends everything that this script started in DIR
    loopback.py silent DIR          prints an environment in which there is no device at all

Only processes started here are ended, by the ids kept in DIR.
"""
import array
import os
import shutil
import signal
import statistics
import subprocess
import sys
import time
import wave

RATE = 48000
SINK = f"module-null-sink sink_name=loop rate={RATE} channels=1"
# Small pieces: the daemon takes its time of doing from the most hurried listener.
LATENCY_MS = 10
ASOUNDRC = "pcm.!default { type pulse }\nctl.!default { type pulse }\n"
# A default on a card that no machine has; without any default PortAudio 19.6 trips over itself.
NO_CARD = "pcm.default { type hw\n card 99 }\nctl.default { type hw\n card 99 }\n"


def environment(where, card=True):
    home = os.path.join(where, "home" if card else "nothing")
    run = os.path.join(where, "run" if card else "nowhere")
    # Without a card ALSA reads a file of ours alone, so that the machine's own do not count.
    config = "" if card else os.path.join(home, "asound.conf")
    return {"HOME": home, "XDG_RUNTIME_DIR": run, "ALSA_CONFIG_PATH": config,
            "XDG_CONFIG_HOME": os.path.join(home, ".config"),
            "XDG_DATA_HOME": os.path.join(home, ".local/share"), "JACK_NO_START_SERVER": "1"}


def full_environment(where):
    env = dict(os.environ, **environment(where))
    for name in ("PULSE_SERVER", "PULSE_SINK", "DISPLAY"):
        env.pop(name, None)
    return env


def print_environment(env):
    for name, value in env.items():
        print(f"{name}={value}")


def make_home(where):
    for card in (True, False):
        env = environment(where, card)
        config = os.path.join(env["XDG_CONFIG_HOME"], "pulse")
        os.makedirs(config, exist_ok=True)
        with open(os.path.join(config, "client.conf"), "w", encoding="ascii") as f:
            f.write("autospawn = no\n")
        os.makedirs(env["XDG_RUNTIME_DIR"], exist_ok=True)
        os.chmod(env["XDG_RUNTIME_DIR"], 0o700)
    for name, text in (("home/.asoundrc", ASOUNDRC), ("nothing/asound.conf", NO_CARD)):
        with open(os.path.join(where, name), "w", encoding="ascii") as f:
            f.write(text)


def pid_file(where, what):
    return os.path.join(where, what + ".pid")


def keep_pid(where, what, pid):
    with open(pid_file(where, what), "w", encoding="ascii") as f:
        f.write(str(pid))


def alive(pid):
    """Whether it runs; a child that has ended but was not waited for does not."""
    try:
        with open(f"/proc/{pid}/stat", encoding="utf-8", errors="replace") as f:
            return f.read().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def pid_of(where, what):
    try:
        with open(pid_file(where, what), encoding="ascii") as f:
            return int(f.read())
    except (OSError, ValueError):
        return None


def end(where, what, number, patience=5.0):
    """Asks the process kept under that name to end and waits until it is gone."""
    pid = pid_of(where, what)
    if pid is None:
        return
    os.unlink(pid_file(where, what))
    give_up = time.monotonic() + patience
    while alive(pid):
        try:
            if number is not None:
                os.kill(pid, number)
        except ProcessLookupError:
            return
        number = signal.SIGKILL if time.monotonic() > give_up else None
        time.sleep(0.02)


def signal_daemon(where, number):
    pid = pid_of(where, "daemon")
    if pid is None or not alive(pid):
        sys.exit("loopback: the daemon is not started")
    os.kill(pid, number)


def stop(where):
    end(where, "recorder", signal.SIGTERM)
    end(where, "daemon", signal.SIGKILL)
    end(where, "guard", signal.SIGKILL)


def guard(where, owner):
    """A process that stops everything once the owner is gone: also after a crash."""
    end(where, "guard", signal.SIGKILL)
    child = os.fork()
    if child != 0:
        keep_pid(where, "guard", child)
        return
    os.setsid()
    for number in (0, 1, 2):
        os.dup2(os.open(os.devnull, os.O_RDWR), number)
    while alive(owner):
        time.sleep(0.2)
    os.unlink(pid_file(where, "guard"))
    stop(where)
    if os.path.basename(where).startswith("evenhand-loopback-"):  # a test's own, nobody looks
        shutil.rmtree(where, ignore_errors=True)
    os._exit(0)


def start(where, owner):
    make_home(where)
    end(where, "daemon", signal.SIGKILL)
    env = full_environment(where)
    with open(os.path.join(where, "daemon.log"), "ab") as log:
        try:
            daemon = subprocess.Popen(
                ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1",
                 "--load=" + SINK, "--load=module-native-protocol-unix"],
                env=env, stdin=subprocess.DEVNULL, stdout=log, stderr=log,
                start_new_session=True)
        except FileNotFoundError:
            sys.exit("loopback: pulseaudio is missing: install the Debian package pulseaudio")
    keep_pid(where, "daemon", daemon.pid)
    for _ in range(400):
        if daemon.poll() is not None:
            break
        try:
            ready = subprocess.run(["pactl", "info"], env=env, stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL, check=False).returncode == 0
        except FileNotFoundError:
            end(where, "daemon", signal.SIGKILL)
            sys.exit("loopback: pactl is missing: install the Debian package pulseaudio-utils")
        if ready:
            if owner is not None:
                guard(where, owner)
            print_environment(environment(where))
            return
        time.sleep(0.025)
    end(where, "daemon", signal.SIGKILL)
    sys.exit(f"loopback: the daemon does not start; see {where}/daemon.log")


def start_and_slip(began):
    """`began`: what each piece told of the moment of frame 0."""
    quarter = max(1, len(began) // 4)
    slip = statistics.median_low(began[-quarter:]) - statistics.median_low(began[:quarter])
    return statistics.median_low(began), slip


def write_recording(path, samples, began):
    with wave.open(path + ".part", "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(samples.tobytes())
    with open(path + ".start", "w", encoding="ascii") as f:
        f.write("%d %d\n" % start_and_slip(began or [0]))
    os.rename(path + ".part", path)


def recorder(where, path, ready):
    """The background process. Each piece tells when frame 0 was heard: when it came, less the
    frames up to its end. The middle of what they tell is right: a daemon that has just started
    hands out two seconds of silence at once, ahead of time."""
    over = []
    signal.signal(signal.SIGTERM, lambda *_: over.append(True) or source.terminate())
    source = subprocess.Popen(
        ["parec", "-d", "loop.monitor", f"--latency-msec={LATENCY_MS}", f"--rate={RATE}",
         "--channels=1", "--format=s16le", "--raw"],
        env=full_environment(where), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    samples, left, began = array.array("h"), b"", []
    while True:
        piece = left + os.read(source.stdout.fileno(), 65536)
        if len(piece) == len(left):
            break
        came = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
        whole = len(piece) & ~1
        samples.frombytes(piece[:whole])
        left = piece[whole:]
        began.append(came - len(samples) * 1_000_000_000 // RATE)
        if ready is not None:
            os.write(ready, b"recording\n")
            os.close(ready)
            ready = None
    source.wait()
    write_recording(path, samples, began)


def record(where, path):
    if subprocess.run(["sh", "-c", "command -v parec"], stdout=subprocess.DEVNULL,
                      check=False).returncode != 0:
        sys.exit("loopback: parec is missing: install the Debian package pulseaudio-utils")
    end(where, "recorder", signal.SIGTERM)
    come, go = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        os.close(come)
        with open(os.path.join(where, "recorder.log"), "ab") as log:
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            os.dup2(log.fileno(), 1)
            os.dup2(log.fileno(), 2)
        recorder(where, path, go)
        os._exit(0)
    os.close(go)
    keep_pid(where, "recorder", child)
    if os.read(come, 16) != b"recording\n":
        end(where, "recorder", signal.SIGKILL)
        sys.exit("loopback: nothing could be recorded; is the daemon started?")
    print("recording")


def main():
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    what, where = sys.argv[1], os.path.abspath(sys.argv[2])
    if what == "start":
        start(where, int(sys.argv[3]) if len(sys.argv) > 3 else None)
    elif what == "env":
        print_environment(environment(where))
    elif what == "silent":
        make_home(where)
        print_environment(environment(where, card=False))
    elif what == "kill":
        end(where, "daemon", signal.SIGKILL)
    elif what == "freeze":
        signal_daemon(where, signal.SIGSTOP)
    elif what == "thaw":
        signal_daemon(where, signal.SIGCONT)
    elif what == "record" and len(sys.argv) == 4:
        record(where, os.path.abspath(sys.argv[3]))
    elif what == "finish":
        end(where, "recorder", signal.SIGTERM)
    elif what == "stop":
        stop(where)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
