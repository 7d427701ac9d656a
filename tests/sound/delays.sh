#!/usr/bin/env bash
# Puts delays between what the program plays and what its microphone hears, through a PulseAudio sink, and prints beside each what
# calibration found. The bound: 2 ms. Exits with 1 where it is missed.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins
#     bash tests/sound/delays.sh [DELAYS [SEED]]
#
# DELAYS are put in, 6 where nothing is said; it takes about a minute for each. The seed is that of the second in which it begins,
# so that each run is on delays never tried before; it is printed, and SEED repeats them.
#
# What the program plays and what the room hears are four channels of one sink, so that one recording of it tells which delay
# there really was, sample for sample: what a program of the server is asked for is a wish.
#
# The microphone is the monitor of the sink itself, of which it takes the room's channels, since the server does not mix: a remapped
# source (module-remap-source, as in listen.sh) leaves out what the sink still holds when it says how late a sample is. The monitor
# gives what the sink is about to play, up to two blocks ahead, and a program is never told of a sample that it comes too early; so
# the recorder asks for blocks of a millisecond. With a remapped source the same delay was found 2.5 ms apart from run to run, with
# the monitor in blocks of 3 ms up to 2.4 ms off, while clicks of one run lay within .3 ms.
#
# Loop and server go first (nice) where that is allowed, as on a computer with sound they do. Where the loop slips all the same, the
# recording shows it, and nothing was tested then: such a try is said and made again, some times at the most.
#
# BENCH may name a built listen bench, such as "target/release/deps/listen-0123 --bench", PROGRAM a built program. The server is
# one of its own in a temporary folder; the system's sound is left alone.
set -eu
cd "$(dirname "$0")/../.."
. tests/sound/leaking_room.sh
daemon="enable-remixing = no"
serve "$(part sink room air $front)" "$(part sink out air $rear)" "$(part source out_ear air.monitor $rear)"
pactl set-default-source air.monitor
record "$rear,$front" 1
recorded() { stat -c %s "$work/air.raw"; }
# Milliseconds after the sound, negative before it.
delay() {
    $PROGRAM sound --calibrate --listen --data "$work/$1" > "$work/said" 2>&1 || true
    sed -nE 's/.*hears the clicks ([0-9.]+) ms (after|before) .*/\1 \2/p' "$work/said" |
        awk '{ print $2 == "before" ? -$1 : $1 }'
}
missed=0
delays=${1:-6} seed=${2:-$(date +%s)}
echo "Seed $seed, load $(cut -d ' ' -f 1-3 /proc/loadavg)"

# What is played goes into the room at once. The middle of three: it is what the others are held against.
pactl set-default-sink room
straight=$(for n in 1 2 3; do delay straight$n; done | sort -g | sed -n 2p)
[ -n "$straight" ] || { echo "the program heard no clicks without a delay; what it said:"; cat "$work/said"; exit 1; }
echo "How late the microphone hears without a delay: $straight ms"
pactl set-default-sink out
still() {
    [ -n "$loops" ] || return 0
    kill $loops 2> /dev/null || true
    wait $loops 2> /dev/null || true
    loops=
}
for wanted in $(awk -v seed="$seed" -v n="$delays" 'BEGIN { srand(seed); while (n-- > 0) print int(60 + 260 * rand()) }'); do
    still
    leak "$wanted"
    for try in 1 2 3; do
        from=$(recorded)
        found=$(delay "loop$wanted$try")
        echo "Through a loop that is asked for $wanted ms:"
        how=0
        if [ -n "$found" ]; then
            $BENCH delay "$work/air.raw" "$from" "$(recorded)" "$straight" "$found" || how=$?
        else
            echo "  no test, the program found none: $(tail -n 1 "$work/said")"
            how=2
        fi
        # 2: the loop slipped, or the program saw that the machine does not keep up.
        [ $how = 2 ] || break
    done
    [ $how = 0 ] || missed=1
done
[ $missed = 0 ] && echo "all within the bounds" || echo "missed: see above"
exit $missed
