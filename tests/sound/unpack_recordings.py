#!/usr/bin/env python3
"""Unpacks single hits from free sample banks into WAV files that `cargo bench --bench sound -- recordings DIR` reads.

    apt-get download fluid-soundfont-gm timgm6mb-soundfont freepats hydrogen-drumkits
    for p in *.deb; do dpkg -x $p banks; done
    python3 -m venv venv && venv/bin/pip install numpy soundfile
    venv/bin/python tests/sound/unpack_recordings.py banks DIR

A file is called KIND-BANK-NAME.wav. Banks: A fluid-soundfont-gm (MIT), E timgm6mb-soundfont (GPL-2), B freepats (GPL-2+
with exception), H three kits of hydrogen-drumkits (GPL-2 and free licences of their own), D its djembes and bells (CC-BY-SA-3.0).
They are measured, not shipped. The sound of a file begins with its first sample above a hundredth of the loudest one.
"""
import struct
import sys
from pathlib import Path

import numpy as np
import soundfile

# Kind, name of the sample in the bank; of stereo pairs both sides are added. Copies of another recording are left out.
FLUID = {
    "open": ["High Conga"], "lowopen": ["Low Tumba"], "closedslap": ["Closed Slap"], "clave": ["Clave"], "bell": ["Cow Bell"],
    "shaker": ["Small Shaker", "Maracas", "Cabasa"], "woodblock": ["Low Woodblock", "High Woodblock", "Castanet"],
    "bongo": ["Low Bongo", "Bongo Rim"],
    "bass": ["Finger Bass EO", "Finger Bass D1", "Finger Bass A1", "Finger Bass E2", "Picked Bass E0", "Picked Bass A1"],
    "piano": ["P200 Piano D5", "P200 Piano A#5", "P200 Piano D6"],
}
TIM = {
    "open": ["Quinto Tone"], "lowopen": ["Low Tumba Tone"], "closedslap": ["QuintoClosedSlap"], "clave": ["Rosewood Claves"],
    "bell": ["Cowbell"], "shaker": ["Maracas", "Cabasa"], "woodblock": ["Wood Block", "Castanets"],
    "bongo": ["M Bongo Tone", "E Bongo Rim"],
}
PATCHES = {
    "open": [63], "muffled": [62], "clave": [75], "bell": [56], "shaker": [69, 70, 82], "woodblock": [76, 77], "bongo": [60, 61],
}
KITS = {
    "clave": ["Gimme*/Clave-Hardest.wav"], "shaker": ["Gimme*/Maraca-Hardest.wav"],
    "bell": ["Gimme*/Cowbell-Hardest.wav", "The Black Pearl*/Cowbell-Hard.wav", "Millo*/misc_Cowbell.flac"],
    "woodblock": ["Gimme*/WoodBlock-Hardest.wav"],
    "bongo": ["Gimme*/BongoHi-*.wav", "Gimme*/BongoLo-*.wav"],
}
AFRICA = {
    "bell": ["circ*/*Bell Hit.wav", "circ*/Dununba1 Bell.wav"], "djembeslap": ["circ*/*Slap.wav"], "djembetone": ["circ*/*Tone.wav"],
    "djembebass": ["circ*/*Bass.wav"],
}


def chunks(data, at, end):
    while at + 8 <= end:
        size = struct.unpack_from("<I", data, at + 4)[0]
        yield data[at:at + 4], at + 8, size
        at += 8 + size + (size & 1)


def soundfont(path):
    """Samples of a SoundFont 2 file by name: (rate, 16-bit samples)."""
    data = path.read_bytes()
    for kind, at, size in chunks(data, 12, len(data)):
        if kind == b"LIST":
            for inner, start, length in chunks(data, at + 4, at + size):
                if inner == b"smpl":
                    samples = np.frombuffer(data, "<i2", length // 2, start)
                if inner == b"shdr":
                    headers = data[start:start + length]
    found = {}
    for at in range(0, len(headers) - 46, 46):
        name = headers[at:at + 20].split(b"\0")[0].decode("latin1").strip()
        start, end, _, _, rate = struct.unpack_from("<5I", headers, at + 20)
        found[name] = rate, samples[start:end]
    return found


def patch(path):
    """The first sample of a GUS patch file (the format's public description: headers of 129, 63, 47 and 96 bytes)."""
    data = path.read_bytes()
    head = 129 + 63 + 47
    size, = struct.unpack_from("<I", data, head + 8)
    rate, = struct.unpack_from("<H", data, head + 20)
    modes = data[head + 55]
    wide, unsigned = modes & 1, modes & 2
    samples = np.frombuffer(data, "<i2" if wide else "i1", size // (2 if wide else 1), head + 96).astype(float)
    if unsigned:
        half = 32768 if wide else 128
        samples = np.where(samples < 0, samples + half, samples - half)
    return rate, samples


def pair(bank, name):
    sides = [bank[n] for n in bank if n == name or (n.startswith(name) and n[len(name):].strip() in ("(L)", "(R)", "(L", "(R"))]
    length = min(len(s) for _, s in sides)
    return sides[0][0], sum(s[:length].astype(float) for _, s in sides)


def write(folder, kind, bank, name, rate, samples):
    samples = np.asarray(samples, float)
    if samples.ndim > 1:
        samples = samples.mean(axis=1)
    samples = samples - np.mean(samples[-len(samples) // 4:])
    samples /= np.max(np.abs(samples))
    samples = samples[np.argmax(np.abs(samples) > 0.01):]
    clean = "".join(c for c in name.lower() if c.isalnum())
    soundfile.write(folder / f"{kind}-{bank}-{clean}.wav", samples.astype("float32"), rate, subtype="FLOAT")


def main(banks, folder):
    folder.mkdir(parents=True, exist_ok=True)
    for letter, pattern, wanted in (("A", "FluidR3_GM.sf2", FLUID), ("E", "TimGM6mb.sf2", TIM)):
        for path in sorted(banks.rglob(pattern)):
            bank = soundfont(path)
            for kind, names in wanted.items():
                for name in names:
                    try:
                        write(folder, kind, letter, name, *pair(bank, name))
                    except ValueError:
                        print(f"{path.name} has no sample called {name}")
    for kind, numbers in PATCHES.items():
        for number in numbers:
            for path in banks.rglob(f"Drum_000/{number:03}_*.pat"):
                write(folder, kind, "B", path.stem, *patch(path))
    for letter, wanted in (("H", KITS), ("D", AFRICA)):
        for kind, patterns in wanted.items():
            for pattern in patterns:
                for path in banks.rglob(f"drumkits/{pattern}"):
                    samples, rate = soundfile.read(path)
                    write(folder, kind, letter, path.parent.name[:3] + path.stem, rate, samples)
    print(f"{len(list(folder.glob('*.wav')))} recordings in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
