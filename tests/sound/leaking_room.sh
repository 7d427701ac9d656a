# Sourced by delays.sh and listen.sh: a sound server of their own with one sink of four channels, two that the program plays on and
# two that the room hears; and a loop that lets the one leak into the other. PROGRAM and BENCH are built where they are not named.
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
# Starts the server with the parts of the sink that are named; what stands in $daemon goes into its settings.
serve() {
    # On a machine that is busy the server would be killed for the time that it takes.
    printf 'rlimit-rttime = -1\n%s\n' "${daemon:-}" > "$work/home/.config/pulse/daemon.conf"
    $first pulseaudio -n --daemonize=no --exit-idle-time=-1 --disallow-exit=no --load="module-native-protocol-unix" \
        --load="module-null-sink sink_name=air rate=48000 format=float32le channels=4 channel_map=$front,$rear" \
        "$@" > "$work/pulse.log" 2>&1 &
    server=$!
    for _ in $(seq 100); do pactl info > /dev/null 2>&1 && break; sleep 0.1; done
}
# Records the sink in this order of channels, in blocks of so many milliseconds. A sink that nobody listens to works in blocks of
# two seconds, and goes on with the block that it is in.
record() {
    $first parec --device=air.monitor --rate=48000 --channels=4 --channel-map="$1" --format=float32le --latency-msec="$2" \
        > "$work/air.raw" &
    listener=$!
    for _ in $(seq 100); do [ -s "$work/air.raw" ] && break; sleep 0.1; done
}
# What is played comes into the room about so many milliseconds later.
mkfifo "$work/air"
leak() {
    $first parec --device=out_ear --rate=48000 --channels=2 --format=float32le --latency-msec=20 > "$work/air" &
    loops="$!"
    $first pacat --playback --device=room --rate=48000 --channels=2 --format=float32le --latency-msec="$1" < "$work/air" &
    loops="$loops $!"
    sleep 3
}
server=
listener=
loops=
finish() {
    kill $listener $loops $server 2> /dev/null || true
    rm -rf "$work"
}
trap finish EXIT
