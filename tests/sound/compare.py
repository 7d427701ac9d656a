#!/usr/bin/env python3
"""Compares a rendered take with a recording of what came out (32-bit floats, two channels, at the same rate).

    python3 compare.py EXPECTED.wav RECORDED.raw

Gaps, where the machine was late and silence was heard in place of the sound or before it went on, are found and
listed, and the rest is compared around them. Exit code 0 where all is the same, 1 where a sound differs, 2 where there are only gaps.
"""
import sys

import numpy as np
import soundfile

LIMIT = 1e-3
# A place in the recording is sure where so many frames agree.
SURE = 2400
# Gaps are looked for up to so many frames.
LONGEST = 96000


def agrees(expected, recorded, at, shift, count=SURE):
    """Do `count` frames of `expected` from `at` on lie `shift` frames later in the recording?"""
    want = expected[at:at + count]
    have = recorded[at + shift:at + shift + len(want)] if at + shift >= 0 else want[:0]
    return len(have) == len(want) and (len(want) == 0 or np.max(np.abs(want - have)) < LIMIT)


def shift_from(expected, recorded, at, after):
    """The next shift at or after `after` where the sound goes on from `at`."""
    # The search needs a sound, not a silence: the loudest frame near by says which shifts are worth a look.
    near = np.abs(expected[at:at + SURE, 0])
    if len(near) == 0 or near.max() < LIMIT:
        return None
    peak = at + int(np.argmax(near))
    stretch = recorded[peak + after:peak + after + LONGEST, 0]
    for candidate in np.nonzero(np.abs(stretch - expected[peak, 0]) < LIMIT)[0]:
        if agrees(expected, recorded, at, after + int(candidate)):
            return after + int(candidate)
    return None


def resume(expected, recorded, at, shift):
    """Where the sound goes on after a gap that begins at `at`: frames of it that were never heard, and the new shift.

    A server may drop what comes too late, put silence before it, or both. What begins without silence is no gap, but
    another sound.
    """
    if np.max(np.abs(recorded[at + shift:at + shift + 48]), initial=0.0) > LIMIT:
        return None
    for lost in range(0, LONGEST // 2, 240):
        found = shift_from(expected, recorded, at + lost, shift)
        if found is not None:
            return lost, found
    return None


def main(expected_file, recorded_file):
    expected, rate = soundfile.read(expected_file, dtype="float32", always_2d=True)
    recorded = np.fromfile(recorded_file, dtype="float32")
    recorded = recorded[:len(recorded) // 2 * 2].reshape(-1, 2)
    loud = np.nonzero(np.abs(recorded[:, 0]) > 1e-4)[0]
    if len(loud) == 0:
        print(f"nothing was heard in {len(recorded) / rate:.1f} s of recording")
        return 1
    start = int(np.argmax(np.abs(expected[:, 0]) > 1e-4))
    shift = int(loud[0]) - start
    if not agrees(expected, recorded, 0, shift):
        print("the recording does not begin as the take does: its start was missed, or the sound differs")
        return 1
    gaps, at, worst = [], 0, 0.0
    while at < len(expected):
        want = expected[at:]
        have = recorded[at + shift:at + shift + len(want)]
        off = np.max(np.abs(want[:len(have)] - have), axis=1)
        apart = np.nonzero(off > LIMIT)[0]
        same = int(apart[0]) if len(apart) else len(have)
        worst = max(worst, float(off[:same].max(initial=0.0)))
        at += same
        if at == len(expected):
            break
        found = resume(expected, recorded, at, shift)
        if found is None:
            what = "the recording ends" if same == len(have) else f"the sound differs by {off[same:].max():.2e}"
            print(f"after {at / rate:.3f} s {what}")
            return 1
        lost, found = found
        gaps.append((at, lost, lost + found - shift))
        at, shift = at + lost, found
    print(f"{len(expected)} frames ({len(expected) / rate:.1f} s): the largest difference between rendered and heard is {worst:.2e}")
    for at, lost, silent in gaps:
        print(f"  a gap of {1000 * silent / rate:.1f} ms after {at / rate:.3f} s, {1000 * lost / rate:.1f} ms of sound lost: the machine was late")
    return 2 if gaps else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
