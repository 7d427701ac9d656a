#!/usr/bin/env bash
# Listens through a PulseAudio sink: the band is played by the program, leaks into a room at -20 dB, strokes and noise at 20 dB
# SNR are played into the room, and the program listens to it. Prints how well the strokes were found. The bounds: F at least .98
# within 30 ms for each material, median error at most 3 ms. Exits with 1 where one is missed, and says which. The delay that
# calibration finds has a script of its own, delays.sh.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins
#     bash tests/sound/listen.sh [PERFORMANCES [SEED]]
#
# PERFORMANCES of each material, 1 where nothing is said. The seed is that of the second in which it begins, so that each run is
# on performances never heard before; it is printed, and SEED repeats them.
#
# What the program plays and what the room hears are four channels of one sink, so that one recording of it tells which delay
# there really was, sample for sample: what a program of the server is asked for is a wish. (The server's own loop within one
# sink takes more of the processor from second to second.)
#
# Loop and server go first (nice) where that is allowed, as on a computer with sound they do. Where the loop slips all the same,
# what leaks comes at another time than the sound check found, and the delay is another one than was put in: the recording shows
# that, and nothing was tested then. Nor was it where the player ran dry, since the band comes later then than the strokes. Such
# a try is said and made again, some times at the most. It takes some ten minutes for each performance of all materials.
#
# BENCH may name a built listen bench, such as "target/release/deps/listen-0123 --bench", PROGRAM a built program. The server is
# one of its own in a temporary folder; the system's sound is left alone.
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
mkdir -p "$work/home/.config/pulse" "$work/pulse"
# On a machine that is busy the server would be killed for the time that it takes.
echo "rlimit-rttime = -1" > "$work/home/.config/pulse/daemon.conf"
cat > "$work/alsa.conf" <<'CONF'
pcm_type.pulse { }
ctl_type.pulse { }
pcm.!default { type pulse }
ctl.!default { type pulse }
CONF
front=front-left,front-right
rear=rear-left,rear-right
first=
if nice -n -15 true 2> /dev/null; then
    first="nice -n -15"
    # The strokes that the bench plays into the room as well.
    mkdir "$work/bin"
    printf '#!/bin/sh\nexec nice -n -15 %s "$@"\n' "$(command -v paplay)" > "$work/bin/paplay"
    chmod +x "$work/bin/paplay"
    PATH=$work/bin:$PATH
fi
part() { echo "--load=module-remap-$1 $1_name=$2 master=$3 master_channel_map=$4 channel_map=$front remix=no"; }
$first pulseaudio -n --daemonize=no --exit-idle-time=-1 --disallow-exit=no --load="module-native-protocol-unix" \
    --load="module-null-sink sink_name=air rate=48000 format=float32le channels=4 channel_map=$front,$rear" \
    "$(part sink out air $front)" "$(part sink room air $rear)" \
    "$(part source out_ear air.monitor $front)" "$(part source room_ear air.monitor $rear)" > "$work/pulse.log" 2>&1 &
server=$!
listener=
loops=
finish() {
    kill $listener $loops $server 2> /dev/null || true
    rm -rf "$work"
}
trap finish EXIT
for _ in $(seq 100); do pactl info > /dev/null 2>&1 && break; sleep 0.1; done
pactl set-default-sink out
# A sink that nobody listens to works in blocks of two seconds, and goes on with the block that it is in.
$first parec --device=air.monitor --rate=48000 --channels=4 --channel-map=$front,$rear --format=float32le --latency-msec=20 \
    > "$work/air.raw" &
listener=$!
for _ in $(seq 100); do [ -s "$work/air.raw" ] && break; sleep 0.1; done
missed=0

pactl set-default-source room_ear
# What is played comes into the room about so many milliseconds later.
mkfifo "$work/air"
leak() {
    $first parec --device=out_ear --rate=48000 --channels=2 --format=float32le --latency-msec=20 > "$work/air" &
    loops="$!"
    $first pacat --playback --device=room --rate=48000 --channels=2 --format=float32le --latency-msec="$1" < "$work/air" &
    loops="$loops $!"
    sleep 3
}
leak 200
input=$(pactl list sink-inputs | awk '/^Sink Input/ { n = substr($3, 2) } /application.name = "pacat"/ { print n; exit }')
pactl set-sink-input-volume "$input" -20dB
echo "Strokes:"
$BENCH device "${1:-1}" "${2:-$(date +%s)}" "$work/air.raw" || missed=1
[ $missed = 0 ] && echo "all within the bounds" || echo "missed: see above"
exit $missed
