#!/usr/bin/env python3
"""Presses keys in `whichside play` in real time and looks for what they change in what a sound server was given.

    apt-get install pulseaudio pulseaudio-utils ; python3 -m venv venv && venv/bin/pip install numpy
    venv/bin/python tests/sound/keys.py target/release/whichside delay [--presses 20] [--busy 4]
    venv/bin/python tests/sound/keys.py target/release/whichside changes
    venv/bin/python tests/sound/keys.py target/release/whichside gaps --minutes 10 --busy 4
    venv/bin/python tests/sound/keys.py target/release/whichside lost --presses 3

`delay` prints how long after its key an instrument comes or goes, and the band stops. `changes` changes instrument, tempo, key,
bar and clave while the band plays, and fails where something other than the new band is heard after the change: a count-in, a
click, a gap. On which line it begins is told by tests/sound/changes.rs, to the frame. `gaps` counts what is missing while nothing is changed, with so many busy processes beside it. `lost` stops the server, lets it
go on, ends it and begins it anew: the program must say so within two seconds, and come back.

A loop that goes round is the same sound again, frame by frame, so that the recording itself says what belongs where. The
server is one of its own in a temporary folder; the system's sound is left alone. --server pipewire takes PipeWire's server
(apt-get install pipewire pipewire-pulse wireplumber; begin it with dbus-run-session --); --through alsa lets the program go through ALSA.
"""
import argparse
import fcntl
import os
import pty
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
from pathlib import Path

import numpy as np

RATE = 48000
# Two floats a frame.
FRAME = 8
# Milliseconds that the sink takes at a time. It gives them to the recorder when it takes them, and would be heard that much later
# at the most, which is added.
BLOCK = 20
# What differs by less is the same.
SAME = 1e-5
# Frames in which one band gives way to another (12 ms) or fades (6 ms), and how far off a line may be found.
TAKE_OVER = 576
FADE = 288
ALSA = """pcm_type.pulse { }
ctl_type.pulse { }
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


class Server:
    """A sound server with one sink that nobody hears, and what comes out of it."""

    def __init__(self, kind, through):
        self.work = Path(tempfile.mkdtemp())
        self.env = dict(os.environ, XDG_RUNTIME_DIR=str(self.work), HOME=str(self.work / "home"), TERM="xterm-256color",
                        PULSE_RUNTIME_PATH=str(self.work / "pulse"), ALSA_CONFIG_PATH=str(self.work / "alsa.conf"),
                        PULSE_SERVER=f"unix:{self.work}/pulse/native", COLUMNS="80", LINES="24")
        for name in ("PULSE_COOKIE", "DISPLAY"):
            self.env.pop(name, None)
        (self.work / "home").mkdir()
        (self.work / "pulse").mkdir()
        (self.work / "alsa.conf").write_text(ALSA)
        self.through = through
        self.processes = []
        self.log = open(self.work / "log", "wb")
        if kind == "pipewire":
            for program in ("pipewire", "wireplumber", "pipewire-pulse"):
                self.start([program])
                time.sleep(1)
            self.wait(["pactl", "info"])
            subprocess.run(["pactl", "load-module", "module-null-sink", "sink_name=out", "rate=48000", "channels=2"],
                           env=self.env, check=True, stdout=self.log)
            subprocess.run(["pactl", "set-default-sink", "out"], env=self.env, check=True)
        else:
            self.start(["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "-vv", "--load=module-native-protocol-unix",
                        "--load=module-null-sink sink_name=out rate=48000 format=float32le channels=2"])
            self.wait(["pactl", "info"])
        self.screen = bytearray()
        self.arrivals = []
        self.sound = bytearray()
        self.recorder = self.start(["parec", "--device=out.monitor", "--rate=48000", "--channels=2",
                                    "--format=float32le", f"--latency-msec={BLOCK}"], stdout=subprocess.PIPE)
        threading.Thread(target=self.record, daemon=True).start()

    def start(self, command, **more):
        more = {"stdout": self.log, "stderr": self.log, **more}
        process = subprocess.Popen(command, env=self.env, **more)
        self.processes.append(process)
        return process

    def wait(self, command):
        for _ in range(100):
            if subprocess.run(command, env=self.env, stdout=self.log, stderr=self.log).returncode == 0:
                return
            time.sleep(0.1)
        sys.exit(f"waited in vain for: {' '.join(command)}")

    def record(self):
        while part := os.read(self.recorder.stdout.fileno(), 1 << 16):
            self.arrivals.append((time.monotonic(), len(self.sound) + len(part)))
            self.sound += part

    def frames(self):
        whole = len(self.sound) // FRAME * FRAME
        return np.frombuffer(bytes(self.sound[:whole]), dtype=np.float32).reshape(-1, 2)

    def frame_at(self, when):
        """The frame that came out at a moment: the recorder is never early, so its earliest is right."""
        near = [(t, n // FRAME) for t, n in self.arrivals if abs(t - when) < 10]
        start = min(t - n / RATE for t, n in near)
        return int((when - start - BLOCK / 1000) * RATE)

    def play(self, program, *arguments):
        """The program in a terminal of its own: its process, and what keys are written into."""
        env = dict(self.env)
        if self.through == "alsa":
            # ALSA knows the server; the program looks for another one, which is not there.
            known = f'type pulse server "{self.env["PULSE_SERVER"]}" }}'
            (self.work / "alsa.conf").write_text(ALSA.replace("type pulse }", known))
            env["PULSE_SERVER"] = "unix:/none"
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        process = subprocess.Popen([program, "play", *arguments, "--data", str(self.work / "data")], env=env,
                                   stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True)
        os.close(theirs)
        self.processes.append(process)
        threading.Thread(target=self.drain, args=(ours,), daemon=True).start()
        return process, ours

    def drain(self, end):
        try:
            while part := os.read(end, 1 << 16):
                self.screen += part
        except OSError:
            pass

    def sounds(self, patience):
        """Seconds until something comes out, from now on; None where nothing does."""
        begun, seen = time.monotonic(), len(self.sound)
        while time.monotonic() - begun < patience:
            time.sleep(0.05)
            whole = (len(self.sound) - seen) // 4 * 4
            if np.abs(np.frombuffer(bytes(self.sound[seen:seen + whole]), dtype=np.float32)).max(initial=0) > 0.01:
                return time.monotonic() - begun
        return None

    def is_given(self, patience):
        """Seconds until the server has a stream of the program."""
        begun = time.monotonic()
        while time.monotonic() - begun < patience:
            time.sleep(0.05)
            found = subprocess.run(["pactl", "list", "short", "sink-inputs"], env=self.env, stdout=subprocess.PIPE,
                                   stderr=self.log).stdout
            if found.strip():
                return time.monotonic() - begun
        return None

    def told(self, words, patience):
        """Seconds until the program's screen says this, from now on; None where it does not."""
        begun, seen = time.monotonic(), len(self.screen)
        while time.monotonic() - begun < patience:
            # Between words there may be codes in place of spaces.
            letters = re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]|\s", b"", bytes(self.screen[seen:]))
            if re.sub(rb"\s", b"", words) in letters:
                return time.monotonic() - begun
            time.sleep(0.02)
        return None

    def end(self):
        for process in reversed(self.processes):
            if process.poll() is None:
                process.terminate()
        for process in self.processes:
            try:
                process.wait(5)
            except subprocess.TimeoutExpired:
                process.kill()
        shutil.rmtree(self.work, ignore_errors=True)


def press(end, key):
    when = time.monotonic()
    os.write(end, key.encode())
    return when


def period(frames, eighth):
    """Frames after which the sound at the end of a recording is the same again: some bars."""
    for bars in range(1, 17):
        length = round(8 * bars * eighth)
        last = frames[-RATE:]
        before = frames[-RATE - length:-length]
        if len(before) == len(last) == RATE and np.abs(last).max() > 0.01 and np.abs(last - before).max() < SAME:
            return length
    return None


def differing(frames, length, start, end):
    """The frames from `start` to `end` that are not what they were a period before."""
    difference = np.abs(frames[start:end] - frames[start - length:end - length]).max(axis=1)
    return start + np.nonzero(difference > SAME)[0]


def settle(server, eighth, patience=60):
    """Waits until the sound goes round, and returns its period."""
    begun = time.monotonic()
    while time.monotonic() - begun < patience:
        time.sleep(1)
        length = period(server.frames(), eighth)
        if length:
            return length
    sys.exit("the loop does not come back as it was")


def delay(server, options):
    bpm = 240
    eighth = RATE * 30 / bpm
    _, keys = server.play(options.program, "parts", "bass", "--bpm", str(bpm), "--with", "piano")
    time.sleep(1)
    rng = np.random.default_rng(options.seed)
    length = settle(server, eighth)
    for name, key in (("an instrument", options.key), ("the band", " ")):
        found = []
        for _ in range(options.presses):
            if key == " ":
                # The count-in has pauses.
                time.sleep(3.5 + rng.random())
                when = press(keys, key)
                time.sleep(1)
                frames, at = server.frames(), server.frame_at(when)
                # Silent from here on; the fade before it is part of the change.
                loud = np.nonzero(np.abs(frames[at - RATE // 2:at + RATE // 2]).max(axis=1) > SAME)[0]
                found.append((loud[-1] - RATE // 2 - FADE) / RATE)
                press(keys, "\r")
                continue
            time.sleep(rng.random())
            when = press(keys, key)
            time.sleep(1)
            frames, at = server.frames(), server.frame_at(when)
            changed = differing(frames, length, at - RATE // 10, at + RATE // 2)
            if len(changed) == 0:
                sys.exit("a key changed nothing")
            found.append((changed[0] - at) / RATE)
            # Until all of the last round is with it, or without it.
            time.sleep(length / RATE + 1)
            settle(server, eighth)
        found = 1000 * np.array(found)
        print(f"{name}: {len(found)} keys, heard after {np.median(found):.0f} ms (median), {found.min():.0f} to {found.max():.0f}")


def step(frames):
    """The widest step from one frame to the next."""
    return float(np.abs(np.diff(frames, axis=0)).max())


def changes(server, options):
    """Every change of the band in mid-flow: nothing else is heard, and no step that neither band has."""
    bpm = 200
    eighth = RATE * 30 / bpm
    _, keys = server.play(options.program, "parts", "bass", "--bpm", str(bpm), "--with", "clave")
    time.sleep(1)
    length = settle(server, eighth)
    rng = np.random.default_rng(options.seed)
    wrong = 0
    # What it is, its key, and the tempo afterwards.
    for name, key, tempo in [
        ("piano comes", options.key, 200), ("faster", "+", 205), ("another key", "k", 205), ("rumba clave", "c", 205),
        ("piano goes", options.key, 205), ("one bar alone", "l", 205), ("slower", "-", 200), ("next bar alone", "l", 200),
        ("all bars", "l", 200), ("the other side first", "c", 200), ("piano comes", options.key, 200), ("slower", "-", 195),
    ]:
        time.sleep(rng.random())
        when = press(keys, key)
        # A new clave differs from the old one in one stroke of its cycle, which may come a cycle after the line.
        time.sleep(6)
        next_eighth = RATE * 30 / tempo
        next_length = settle(server, next_eighth)
        frames, at = server.frames(), server.frame_at(when)
        changed = differing(frames, length, at - RATE // 10, at + 5 * RATE)
        if len(changed) == 0:
            print(f"{name}: nothing changed")
            wrong += 1
            continue
        first = int(changed[0])
        # A fade begins softly, and both bands may be silent for a while after it.
        begins, whole = first - TAKE_OVER, first + 2 * TAKE_OVER
        # Two rounds more, so that all after the change can be compared with the round after it.
        while len(frames) < whole + 2 * next_length:
            time.sleep(0.5)
            frames = server.frames()
        other = differing(frames, next_length, whole + next_length, whole + 2 * next_length)
        old = step(frames[begins - length:begins])
        new = step(frames[whole:whole + next_length])
        here = step(frames[begins:whole])
        allowed = max(old, new) + 2 * float(np.abs(frames[begins:whole]).max()) / TAKE_OVER
        print(f"{name}: {1000 * (first - at) / RATE:.0f} ms after its key; {len(other)} frames are not the new band's; "
              f"widest step {here:.4f}, allowed {allowed:.4f}")
        wrong += (len(other) > 0) + (here > allowed)
        length = next_length
    print(f"{wrong} wrong")
    return wrong


def gaps(server, options):
    bpm = 240
    eighth = RATE * 30 / bpm
    server.play(options.program, "parts", "bass", "--bpm", str(bpm), "--with", "piano,clave")
    length = settle(server, eighth)
    first = len(server.frames())
    time.sleep(60 * options.minutes)
    frames = server.frames()
    changed = differing(frames, length, first, len(frames))
    # A gap differs while it lasts and again a period later, and what comes after it is late for a period.
    groups = np.split(changed, np.nonzero(np.diff(changed) > RATE // 2)[0] + 1) if len(changed) else []
    print(f"{(len(frames) - first) / RATE:.0f} s of sound, {len(groups)} places that are not as a period before")
    dry = (server.work / "log").read_text(errors="replace").count("Implicit underrun of")
    print(f"the server says that it ran dry {dry} times")
    for group in groups[:20]:
        print(f"  at {(group[0] - first) / RATE:.2f} s for {(group[-1] - group[0]) / RATE:.3f} s")
    return len(groups)


def threads(process):
    status = Path(f"/proc/{process.pid}/status").read_text()
    return int(re.search(r"Threads:\s*(\d+)", status)[1])


def lost(server, options):
    """A server that hangs, goes on, and is ended and begun anew; the program's threads do not grow with it."""
    program, _ = server.play(options.program, "parts", "bass", "--with", "piano")
    time.sleep(3)
    before, wrong = threads(program), 0
    main = next(p for p in server.processes if p.args[0] in ("pulseaudio", "pipewire-pulse"))
    for _ in range(options.presses):
        main.send_signal(signal.SIGSTOP)
        silent = server.told(b"No sound", 5)
        time.sleep(3)
        main.send_signal(signal.SIGCONT)
        back = server.sounds(10)
        time.sleep(2)
        now = threads(program)
        print(f"stopped: told after {silent or -1:.1f} s; gone on: back after {back or -1:.1f} s; threads {now}, {before} before")
        wrong += silent is None or silent > 2 or back is None or now > before
    main.terminate()
    main.wait()
    silent = server.told(b"No sound", 5)
    server.start(main.args)
    back = server.is_given(10)
    time.sleep(2)
    now = threads(program)
    print(f"ended: told after {silent or -1:.1f} s; begun anew: back after {back or -1:.1f} s; threads {now}, {before} before")
    wrong += silent is None or silent > 2 or back is None or now > before
    return wrong


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("what", choices=["delay", "changes", "gaps", "lost"])
    parser.add_argument("--presses", type=int, default=20)
    parser.add_argument("--busy", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--key", default="4", help="the key of the piano")
    parser.add_argument("--server", choices=["pulseaudio", "pipewire"], default="pulseaudio")
    parser.add_argument("--through", choices=["server", "alsa"], default="server")
    options = parser.parse_args()
    options.program = os.path.abspath(options.program)
    server = Server(options.server, options.through)
    busy = [subprocess.Popen(["sh", "-c", "while :; do :; done"]) for _ in range(options.busy)]
    try:
        code = {"delay": delay, "changes": changes, "gaps": gaps, "lost": lost}[options.what](server, options)
        print(f"load at the end: {os.getloadavg()[0]:.1f}")
    finally:
        for process in busy:
            process.kill()
        server.end()
    sys.exit(1 if code else 0)


if __name__ == "__main__":
    main()
