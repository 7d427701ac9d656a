#!/usr/bin/env bash
# Listens through a PulseAudio sink: the band is played by the program, leaks into a room at -20 dB, strokes and noise at 20 dB
# SNR are played into the room, and the program listens to it. Prints how well the strokes were found. The bounds: F at least .98
# within 30 ms for each material, median error at most 3 ms. Exits with 1 where one is missed, and says which. The delay that
# calibration finds has a script of its own, delays.sh.
#
#     apt-get install pulseaudio pulseaudio-utils libasound2-plugins
#     bash tests/sound/listen.sh [PERFORMANCES [SEED [EAR ...]]]
#
# EAR is middle, a microphone that hears both sides of the band by the same gain, or left, one that hears the left side alone: both
# in turn where nothing is said. PERFORMANCES of each material, 1 where nothing is said. The seed is that of the second in which it begins, so that each run is
# on performances never heard before; it is printed, and SEED repeats them.
#
# What the program plays and what the room hears are four channels of one sink, so that one recording of it tells which delay
# there really was, sample for sample: what a program of the server is asked for is a wish. (The server's own loop within one
# sink takes more of the processor from second to second.)
#
# Loop and server go first (nice) where that is allowed, as on a computer with sound they do. Where the loop slips all the same,
# what leaks comes at another time than the sound check found, and the delay is another one than was put in: the recording shows
# that, and nothing was tested then. Nor was it where the player ran dry, since the band comes later then than the strokes. Such
# a try is said and made again, some times at the most. It takes some
# six minutes for each performance of all materials and each ear.
#
# BENCH may name a built listen bench, such as "target/release/deps/listen-0123 --bench", PROGRAM a built program. The server is
# one of its own in a temporary folder; the system's sound is left alone.
set -eu
cd "$(dirname "$0")/../.."
. tests/sound/leaking_room.sh
serve "$(part sink out air $front)" "$(part sink room air $rear)" \
    "$(part source out_ear air.monitor $front)" "$(part source middle_ear air.monitor $rear)" \
    "--load=module-remap-source source_name=left_ear master=air.monitor master_channel_map=rear-left channel_map=mono remix=no"
pactl set-default-sink out
# Before the loop is there, whose ear would follow a change of what was the default.
pactl set-default-source middle_ear
record "$front,$rear" 20
missed=0
leak 200
input=$(pactl list sink-inputs | awk '/^Sink Input/ { n = substr($3, 2) } /application.name = "pacat"/ { print n; exit }')
pactl set-sink-input-volume "$input" -20dB
runs=${1:-1} seed=${2:-$(date +%s)}
shift $(($# < 2 ? $# : 2))
for ear in ${@:-middle left}; do
    pactl set-default-source ${ear}_ear
    echo "Strokes, $ear ear, load $(cut -d ' ' -f 1-3 /proc/loadavg):"
    $BENCH device "$runs" "$seed" "$work/air.raw" || missed=1
done
[ $missed = 0 ] && echo "all within the bounds" || echo "missed: see above"
exit $missed
