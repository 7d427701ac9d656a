#!/usr/bin/env python3
"""Unpacks single hits from free sample banks into WAV files that `cargo bench --bench sound -- recordings DIR` reads.

    apt-get download fluid-soundfont-gm timgm6mb-soundfont freepats
    for p in *.deb; do dpkg -x $p banks; done
    python3 -m venv venv && venv/bin/pip install numpy soundfile
    venv/bin/python tests/sound/unpack_recordings.py banks DIR

A file is called KIND-BANK-NAME.wav. Banks: A fluid-soundfont-gm (MIT), E timgm6mb-soundfont (GPL-2), B freepats (GPL-2+
with exception). They are measured, not shipped. The sound of a file begins with its first sample above a hundredth of the loudest one.
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
    "bass": ["Finger Bass EO", "Finger Bass D1", "Finger Bass A1", "Picked Bass E0", "Picked Bass A1"],
    "piano": ["P200 Piano D4", "P200 Piano F#4", "P200 Piano A#4"],
}
TIM = {
    "open": ["Quinto Tone"], "lowopen": ["Low Tumba Tone"], "closedslap": ["QuintoClosedSlap"], "clave": ["Rosewood Claves"],
    "bell": ["Cowbell"], "shaker": ["Maracas", "Cabasa"], "woodblock": ["Wood Block", "Castanets"],
    "bongo": ["M Bongo Tone", "E Bongo Rim"], "piano": ["Piano C5", "Piano Ab3", "Piano Db4"],
}
PATCHES = {
    "Drum_000": {
        "open": [63], "muffled": [62], "clave": [75], "bell": [56], "shaker": [69, 70, 82], "woodblock": [76, 77],
        "bongo": [60, 61],
    },
    "Tone_000": {"bass": [32, 33, 34, 35], "piano": [0]},
}
# Notes are compared at the same pitch, Hz: C2 and C4. A recording more than half an octave away is left out.
PITCH = {"bass": 65.41, "piano": 261.63}


def chunks(data, at, end):
    while at + 8 <= end:
        size = struct.unpack_from("<I", data, at + 4)[0]
        yield data[at:at + 4], at + 8, size
        at += 8 + size + (size & 1)


def soundfont(path):
    """Samples of a SoundFont 2 file by name: (rate, root note, 16-bit samples), the rate as the first zone tunes it."""
    data = path.read_bytes()
    part = {}
    for kind, at, size in chunks(data, 12, len(data)):
        if kind == b"LIST":
            for inner, start, length in chunks(data, at + 4, at + size):
                part[inner] = data[start:start + length]
    samples = np.frombuffer(part[b"smpl"], "<i2")
    # Generators of the instruments: 43 range of keys, 51 and 52 tuning, 58 root key; 53, the sample, ends a zone.
    zones, zone = {}, {}
    for kind, value in struct.iter_unpack("<Hh", part[b"igen"]):
        zone[kind] = value
        if kind == 53:
            zones.setdefault(value, zone)
            zone = {}
    found = {}
    for number in range(len(part[b"shdr"]) // 46 - 1):
        name, start, end, _, _, rate, root = struct.unpack_from("<20s5IB", part[b"shdr"], 46 * number)
        zone = zones.get(number, {})
        low, high = zone.get(43, 0x7F00) & 0xFF, (zone.get(43, 0x7F00) >> 8) & 0xFF
        root = zone.get(58, root)
        up = zone.get(51, 0) + zone.get(52, 0) / 100 + (low - root if low == high else 0)
        found[name.split(b"\0")[0].decode("latin1").strip()] = rate * 2 ** (up / 12), root, samples[start:end]
    return found


def patches(path):
    """The samples of a GUS patch file (the format's public description: headers of 129, 63, 47 and 96 bytes)."""
    data = path.read_bytes()
    at = 129 + 63 + 47
    for _ in range(data[198]):
        size, = struct.unpack_from("<I", data, at + 8)
        rate, = struct.unpack_from("<H", data, at + 20)
        root, = struct.unpack_from("<I", data, at + 30)
        modes = data[at + 55]
        wide, unsigned = modes & 1, modes & 2
        samples = np.frombuffer(data, "<i2" if wide else "i1", size // (2 if wide else 1), at + 96).astype(float)
        if unsigned:
            half = 32768 if wide else 128
            samples = np.where(samples < 0, samples + half, samples - half)
        yield rate, root / 1000, samples
        at += 96 + size


def pair(bank, name):
    sides = [bank[n] for n in bank if n == name or (n.startswith(name) and n[len(name):].strip() in ("(L)", "(R)", "(L", "(R"))]
    length = min(len(s) for _, _, s in sides)
    rate, root, _ = sides[0]
    return rate, 440 * 2 ** ((root - 69) / 12), sum(s[:length].astype(float) for _, _, s in sides)


def write(folder, kind, bank, name, rate, hz, samples):
    if kind in PITCH:
        if abs(np.log2(PITCH[kind] / hz)) > 0.5:
            return
        rate *= PITCH[kind] / hz
    samples = np.asarray(samples, float)
    if samples.ndim > 1:
        samples = samples.mean(axis=1)
    samples = samples - np.mean(samples[-len(samples) // 4:])
    samples /= np.max(np.abs(samples))
    samples = samples[np.argmax(np.abs(samples) > 0.01):]
    clean = "".join(c for c in name.lower() if c.isalnum())
    soundfile.write(folder / f"{kind}-{bank}-{clean}.wav", samples.astype("float32"), round(rate), subtype="FLOAT")


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
    for place, kinds in PATCHES.items():
        for kind, numbers in kinds.items():
            for number in numbers:
                for path in banks.rglob(f"{place}/{number:03}_*.pat"):
                    for i, sample in enumerate(patches(path)):
                        write(folder, kind, "B", f"{path.stem}{i or ''}", *sample)
    print(f"{len(list(folder.glob('*.wav')))} recordings in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
