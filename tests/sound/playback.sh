#!/usr/bin/env bash
# Plays a known take in real time into a PulseAudio null sink, records what comes out, and compares the two.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins ; python3 -m venv venv && venv/bin/pip install numpy soundfile
#     PYTHON=venv/bin/python tests/sound/playback.sh
#
# The program speaks to the server itself; with THROUGH=alsa it goes through ALSA. BENCH may name a built sound bench;
# without it the bench is built first. The server is one of its own in a temporary folder; the system's sound is left alone.
set -eu
here=$(cd "$(dirname "$0")/../.." && pwd)
cd "$here"
python=${PYTHON:-python3}
# Cargo keeps its things in the home folder, and the home folder changes below.
export CARGO_HOME=${CARGO_HOME:-$HOME/.cargo} RUSTUP_HOME=${RUSTUP_HOME:-$HOME/.rustup}
if [ -z "${BENCH:-}" ]; then
    # Built now, so that no compiler is running beside the measurement.
    cargo bench --quiet --bench sound --no-run
    BENCH="cargo bench --quiet --bench sound --"
fi
work=$(mktemp -d)
export XDG_RUNTIME_DIR=$work HOME=$work/home PULSE_RUNTIME_PATH=$work/pulse
export ALSA_CONFIG_PATH=$work/alsa.conf
# Without it (THROUGH=alsa) the sound goes through ALSA's plug-in.
[ "${THROUGH:-}" = alsa ] || export PULSE_SERVER=unix:$work/pulse/native
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
# Waits up to ten seconds for a command to succeed.
wait_for() {
    for _ in $(seq 100); do "$@" > /dev/null 2>&1 && return; sleep 0.1; done
    echo "playback: waited in vain for: $*" >&2
    cat "$work/pulse.log" >&2
    exit 1
}
bytes() { stat -c %s "$work/recorded.raw"; }
longer_than() { [ "$(bytes)" -gt "$1" ]; }

wait_for pactl info
parec --device=out.monitor --rate=48000 --channels=2 --format=float32le --latency-msec=50 > "$work/recorded.raw" &
recorder=$!
# A sink that nobody listens to works in blocks of two seconds, and a recorder hears nothing before the next one begins.
wait_for longer_than 0
$BENCH play "$work/expected.wav"
# What is still on its way to the recorder: half a second of two floats a frame.
wait_for longer_than $(($(bytes) + 24000 * 8))
kill "$recorder"; wait "$recorder" 2>/dev/null || true
recorder=
compared=0
"$python" tests/sound/compare.py "$work/expected.wav" "$work/recorded.raw" || compared=$?
$BENCH clock
exit "$compared"
