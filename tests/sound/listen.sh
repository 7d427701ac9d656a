#!/usr/bin/env bash
# Listens through a PulseAudio sink: the band is played by the program, leaks into a room at -20 dB, strokes and noise at 20 dB
# SNR are played into the room, and the program listens to it. Prints how well the strokes were found, and how late the
# microphone hears with and without a delay put in.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins
#     bash tests/sound/listen.sh
#
# BENCH may name a built listen bench, PROGRAM a built program. The server is one of its own in a temporary folder; the
# system's sound is left alone. A machine that is busy gives time stamps that wander.
set -eu
cd "$(dirname "$0")/../.."
export CARGO_HOME=${CARGO_HOME:-$HOME/.cargo} RUSTUP_HOME=${RUSTUP_HOME:-$HOME/.rustup}
if [ -z "${BENCH:-}" ]; then
    cargo bench --quiet --bench listen --no-run
    BENCH="cargo bench --quiet --bench listen --"
fi
if [ -z "${PROGRAM:-}" ]; then
    cargo build --quiet --release --locked
    PROGRAM=target/release/whichside
fi
work=$(mktemp -d)
export XDG_RUNTIME_DIR=$work HOME=$work/home PULSE_RUNTIME_PATH=$work/pulse TMPDIR=$work
export ALSA_CONFIG_PATH=$work/alsa.conf
mkdir -p "$work/home" "$work/pulse"
cat > "$work/alsa.conf" <<'CONF'
pcm_type.pulse { }
ctl_type.pulse { }
pcm.!default { type pulse }
ctl.!default { type pulse }
CONF
sink() { echo "--load=module-null-sink sink_name=$1 rate=48000 format=float32le channels=2"; }
pulseaudio -n --daemonize=no --exit-idle-time=-1 --disallow-exit=no \
    --load="module-native-protocol-unix" "$(sink out)" "$(sink room)" > "$work/pulse.log" 2>&1 &
server=$!
listeners=
finish() {
    kill $listeners $server 2> /dev/null || true
    rm -rf "$work"
}
trap finish EXIT
for _ in $(seq 100); do pactl info > /dev/null 2>&1 && break; sleep 0.1; done
pactl set-default-sink out
# A sink that nobody listens to works in blocks of two seconds, and goes on with the block that it is in.
for sink in out room; do
    parec --device=$sink.monitor --rate=48000 --channels=2 --format=float32le --latency-msec=20 > "$work/$sink.raw" &
    listeners="$listeners $!"
done
for _ in $(seq 100); do [ -s "$work/out.raw" ] && [ -s "$work/room.raw" ] && break; sleep 0.1; done
delay() { $PROGRAM sound --calibrate --listen --data "$work/$1" | grep "hears the clicks"; }

pactl set-default-source out.monitor
echo "Straight:"
delay straight
pactl set-default-source room.monitor
loop=$(pactl load-module module-loopback source=out.monitor sink=room latency_msec=80)
echo "Through a loop of 80 ms:"
sleep 3
delay loop
input=$(pactl list short sink-inputs | head -1 | cut -f1)
pactl set-sink-input-volume "$input" -20dB
$BENCH device
pactl unload-module "$loop"
