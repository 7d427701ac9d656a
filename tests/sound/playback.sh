#!/usr/bin/env bash
# Plays a known take in real time into a PulseAudio null sink, records what comes out, and compares the two.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins ; python3 -m venv venv && venv/bin/pip install numpy soundfile
#     PYTHON=venv/bin/python tests/sound/playback.sh
#
# The server is one of its own in a temporary folder; the system's sound is left alone.
set -eu
here=$(cd "$(dirname "$0")/../.." && pwd)
python=${PYTHON:-python3}
bench=${BENCH:-"cargo bench --quiet --bench sound --"}
work=$(mktemp -d)
export XDG_RUNTIME_DIR=$work HOME=$work/home PULSE_RUNTIME_PATH=$work/pulse
export ALSA_CONFIG_PATH=$work/alsa.conf
mkdir -p "$work/home" "$work/pulse"
cat > "$work/alsa.conf" <<'CONF'
pcm_type.pulse { }
ctl_type.pulse { }
pcm.!default { type pulse }
ctl.!default { type pulse }
CONF
pulseaudio -n --daemonize=no --exit-idle-time=-1 --disallow-exit=no \
    --load="module-native-protocol-unix" \
    --load="module-null-sink sink_name=out rate=48000 format=float32le channels=2" > "$work/pulse.log" 2>&1 &
server=$!
recorder=
finish() {
    [ -n "$recorder" ] && kill "$recorder" 2>/dev/null || true
    kill "$server" 2>/dev/null || true
    rm -rf "$work"
}
trap finish EXIT
for _ in $(seq 50); do pactl info > /dev/null 2>&1 && break; sleep 0.1; done
parec --device=out.monitor --rate=48000 --channels=2 --format=float32le --latency-msec=50 > "$work/recorded.raw" &
recorder=$!
sleep 1
cd "$here"
$bench play "$work/expected.wav"
kill "$recorder"; wait "$recorder" 2>/dev/null || true
recorder=
"$python" - "$work/expected.wav" "$work/recorded.raw" <<'PY'
import sys
import numpy as np
import soundfile

expected, rate = soundfile.read(sys.argv[1], dtype="float32")
recorded = np.fromfile(sys.argv[2], dtype="float32").reshape(-1, 2)
first = lambda x: int(np.argmax(np.abs(x[:, 0]) > 1e-4))
start = first(recorded) - first(expected)
part = recorded[start:start + len(expected)]
assert len(part) == len(expected), "the recording is too short"
worst = float(np.max(np.abs(part - expected)))
print(f"{len(expected)} frames ({len(expected) / rate:.1f} s): the largest difference between rendered and heard is {worst:.2e}")
sys.exit(0 if worst < 1e-3 else 1)
PY
$bench clock
