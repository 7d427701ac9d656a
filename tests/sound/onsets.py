#!/usr/bin/env python3
"""Finds the onsets in rendered voices with a detector that knows nothing of the program, and compares them with the grid.

    cargo bench --bench sound -- waves waves
    python3 -m venv venv && venv/bin/pip install librosa
    venv/bin/python tests/sound/onsets.py waves

Spectral flux and peak picking are librosa's own (onset.onset_strength, onset.onset_detect), hop 1 ms. Fails where a voice is
more than 5 ms away from the grid, or has an onset too few or too many.
"""
import csv
import sys
from collections import defaultdict
from pathlib import Path

import librosa
import numpy as np

HOP = 48
LIMIT = 0.005


def onsets(samples, rate):
    strength = librosa.onset.onset_strength(y=samples, sr=rate, hop_length=HOP, n_fft=512, n_mels=40, fmax=12000)
    return librosa.onset.onset_detect(
        onset_envelope=strength, sr=rate, hop_length=HOP, units="time",
        delta=0.12, wait=60, pre_max=20, post_max=20, pre_avg=80, post_avg=80,
    )


def main(folder):
    grid = defaultdict(list)
    with open(folder / "onsets.csv", newline="") as table:
        for row in csv.DictReader(table):
            grid[row["file"]].append(float(row["onset_seconds"]))
    worst, bad = 0.0, 0
    by_tempo = defaultdict(list)
    for file, expected in sorted(grid.items()):
        samples, rate = librosa.load(folder / file, sr=None, mono=True)
        samples = samples / np.max(np.abs(samples))
        found = onsets(samples, rate)
        expected = np.array(expected)
        off = np.array([np.min(np.abs(found - t)) if len(found) else 9.0 for t in expected])
        worst = max(worst, off.max())
        by_tempo[file.rsplit("-", 1)[1][:-4]].extend(off)
        if off.max() > LIMIT or len(found) != len(expected):
            bad += 1
            print(f"{file}: worst {1000 * off.max():.1f} ms, {len(found)} onsets for {len(expected)}")
    for tempo, off in sorted(by_tempo.items(), key=lambda t: float(t[0])):
        print(f"at {tempo}: {len(off)} onsets, median {1000 * np.median(off):.2f} ms, worst {1000 * max(off):.2f} ms")
    print(f"{len(grid)} files, {bad} with an onset missed, added or more than {1000 * LIMIT:.0f} ms away; worst {1000 * worst:.1f} ms")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
