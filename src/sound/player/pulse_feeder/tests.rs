//! A feeder with a server that the test plays.

use super::*;
use crate::sound::Wave;
use crate::sound::player::connection::{MixerLink, mixer};
use crate::sound::player::loop_buffer::LoopBuffer;
use crate::sound::player::mixer::Order;
use pulseaudio::protocol::read_descriptor;

const MS: u64 = 1_000_000;

/// What a server has of a stream: its left samples, and the place of the next.
struct ServerQueue {
    end: UnixStream,
    samples: Vec<f32>,
    at: i64,
}

impl ServerQueue {
    /// Takes what was sent: sound goes where its offset says, over what is there.
    fn take(&mut self, feeder: &mut PulseFeeder) {
        let mut bytes = Vec::new();
        loop {
            feeder.server.send().unwrap();
            let mut part = [0; 1 << 16];
            match self.end.read(&mut part) {
                Ok(count) => bytes.extend_from_slice(&part[..count]),
                Err(_) => break,
            }
        }
        let mut rest = &bytes[..];
        while !rest.is_empty() {
            let head = read_descriptor(&mut rest).unwrap();
            let (sound, later) = rest.split_at(head.length as usize);
            rest = later;
            self.at += head.offset as i64 / FRAME_BYTES as i64;
            for frame in sound.chunks(FRAME_BYTES) {
                let place = self.at as usize;
                self.samples.resize(self.samples.len().max(place + 1), 0.0);
                self.samples[place] = f32::from_ne_bytes(frame[..4].try_into().unwrap());
                self.at += 1;
            }
        }
    }
}

fn feeder() -> (PulseFeeder, MixerLink, ServerQueue) {
    let (ours, end) = UnixStream::pair().unwrap();
    ours.set_nonblocking(true).unwrap();
    end.set_nonblocking(true).unwrap();
    let (link, mixer) = mixer();
    link.shared
        .volume
        .store(1.0f32.to_bits(), Ordering::Relaxed);
    let feeder = PulseFeeder::new(PulseServer::on(ours), 0, mixer(48_000), 48_000);
    let queue = ServerQueue {
        end,
        samples: Vec::new(),
        at: 0,
    };
    (feeder, link, queue)
}

/// A wave that goes round with the same sample everywhere.
fn level(sample: f32) -> Arc<LoopBuffer> {
    let frames = vec![[sample; 2]; 480];
    let wave = Wave {
        rate: 48_000,
        ring: frames.clone(),
        frames,
        lead_in: 0,
        pulse_frames: Vec::new(),
    };
    Arc::new(LoopBuffer::new(Arc::new(wave), true, 0, 48_000))
}

/// A server that took frame 0 at 1000 ms, whose device is 20 ms late, and that was asked this many milliseconds later.
fn position(later: u64) -> (ServerPosition, u64) {
    let at = (1000 + later) * MS;
    let position = ServerPosition {
        read: 48 * later as i64,
        at,
        start: 1020 * MS as i64,
    };
    (position, at)
}

#[test]
fn a_change_is_written_over_what_the_device_has_not_taken() {
    let (mut feeder, link, mut queue) = feeder();
    feeder.delays.push_back(20 * MS);
    link.order(Order::Play(1, level(0.5)));
    let (begun, now) = position(0);
    assert!(feeder.mixer.receive());
    feeder.fill(begun, now).unwrap();
    queue.take(&mut feeder);
    // 1.2 s in steps that are sent by four: 57,600 frames.
    assert!(queue.samples == [0.5; 57_600]);
    // 100 ms later frame 3,840 is heard; the device has taken 20 ms more, and 6 ms are left for the way: 5,088 frames.
    // The first step from there on begins at 5,280, and a fade takes 6 ms, 288 frames.
    link.order(Order::Hush);
    let (later, now) = position(100);
    assert!(feeder.mixer.receive());
    feeder.rewind(later, now);
    feeder.fill(later, now).unwrap();
    queue.take(&mut feeder);
    // And to 1.2 s from there, in four steps at a time.
    assert_eq!(queue.samples.len(), 5_280 + 59 * 960);
    assert!(queue.samples[..5_280] == [0.5; 5_280]);
    let fade = &queue.samples[5_280..5_280 + 288];
    assert!(fade.windows(2).all(|w| w[1] < w[0]));
    assert!(queue.samples[5_280 + 289..].iter().all(|s| *s == 0.0));
    assert!((feeder.reach.load(Ordering::Relaxed) as i64 - 28_500_000).abs() < 100_000);
}

#[test]
fn a_second_order_does_not_undo_the_first() {
    let (mut feeder, link, mut queue) = feeder();
    feeder.delays.push_back(20 * MS);
    let (begun, now) = position(0);
    feeder.fill(begun, now).unwrap();
    // At the same moment, so that nothing was heard or taken in between.
    let (later, now) = position(100);
    for order in [Order::Play(1, level(0.5)), Order::Play(2, level(0.25))] {
        link.order(order);
        assert!(feeder.mixer.receive());
        feeder.rewind(later, now);
        feeder.fill(later, now).unwrap();
    }
    queue.take(&mut feeder);
    assert!(queue.samples[..5_280] == [0.0; 5_280]);
    // The second one takes over a step after the first, which fades.
    assert!(queue.samples[5_280..5_520] == [0.5; 240]);
    assert!(queue.samples[5_520 + 289..].iter().all(|s| *s == 0.25));
    let stamp = link.shared.stamp.lock().unwrap().unwrap();
    assert_eq!(stamp.buffer, 2);
    // Nothing is left to be carried out.
    assert!(!feeder.mixer.receive());
}

#[test]
fn after_a_gap_the_sound_goes_on_where_the_device_is() {
    let (mut feeder, link, mut queue) = feeder();
    link.order(Order::Play(1, level(0.5)));
    assert!(feeder.mixer.receive());
    let (begun, now) = position(0);
    feeder.fill(begun, now).unwrap();
    // The device has gone on to frame 72,000 while 57,600 were there.
    let latency = PlaybackLatency {
        sink_usec: 20_000,
        source_usec: 0,
        playing: true,
        local_time: SystemTime::UNIX_EPOCH,
        remote_time: SystemTime::UNIX_EPOCH,
        write_offset: 57_600 * 8,
        read_offset: 72_000 * 8,
        underrun_for: 0,
        playing_for: 0,
    };
    feeder.locate(&latency);
    let position = feeder.position.unwrap();
    assert_eq!(position.read, 72_000);
    feeder.fill(position, position.at).unwrap();
    queue.take(&mut feeder);
    // 20 ms, 960 frames, for the way.
    assert!(queue.samples[57_600..72_960] == [0.0; 15_360]);
    assert!(queue.samples[72_960..].iter().all(|s| *s == 0.5));
    assert_eq!(queue.samples.len(), 72_960 + 59 * 960);
}

#[test]
fn a_server_that_hangs_is_given_no_more() {
    let (mut feeder, link, _queue) = feeder();
    let (begun, now) = position(0);
    feeder.fill(begun, now).unwrap();
    for later in [50, 100, 500, 5000] {
        feeder.fill(begun, now + later * MS).unwrap();
    }
    // What is reckoned to be gone is 400 ms at most.
    assert_eq!(feeder.written, 57_600 + 19_200);
    assert_eq!(link.shared.calls.load(Ordering::Relaxed), 320);
}
