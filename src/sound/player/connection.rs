//! The connection to whatever asks for sound. It is opened and closed on threads of their own, since a sound server may
//! hang.

use super::SoundError;
use super::loop_buffer::LoopBuffer;
use super::mixer::{CallbackMixer, Order, SharedState, WAITING};
use super::output_device::OutputDevice;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, SyncSender, channel, sync_channel};
use std::thread;
use std::time::Duration;

/// How many times to try to open a device that is there but refuses.
const TRIES: usize = 3;
/// Between two of them: a sound server may still be closing what another program left.
const PAUSE: Duration = Duration::from_millis(100);

/// What the program has of a mixer that somebody else asks for sound.
pub(super) struct MixerLink {
    orders: SyncSender<Order>,
    spent: Receiver<Arc<LoopBuffer>>,
    pub shared: Arc<SharedState>,
}

impl MixerLink {
    pub fn order(&self, order: Order) {
        while self.spent.try_recv().is_ok() {}
        // The queue is full only where the card has stopped asking, and that is noticed as a loss.
        let _ = self.orders.try_send(order);
    }
}

/// The way to a mixer, and the mixer for a rate that is not known yet.
pub(super) fn mixer() -> (MixerLink, impl FnOnce(u32) -> CallbackMixer) {
    let (orders, incoming) = sync_channel(WAITING);
    let (used, spent) = sync_channel(32);
    let shared = Arc::new(SharedState::default());
    let link = MixerLink {
        orders,
        spent,
        shared: shared.clone(),
    };
    let mixer = move |rate| CallbackMixer::new(incoming, used, shared, rate);
    (link, mixer)
}

/// An open way to whoever asks for sound.
pub(super) struct Connection {
    /// Who asks the mixer for sound.
    pub card: Box<OutputDevice>,
    pub link: MixerLink,
}

impl Connection {
    /// To the default device. May take for ever.
    pub fn to_card() -> Result<Connection, SoundError> {
        let mut tries = 1;
        loop {
            let (link, mixer) = mixer();
            match OutputDevice::open(&link.shared, mixer).map(Box::new) {
                Ok(card) => return Ok(Connection { card, link }),
                Err(SoundError::Open(_)) if tries < TRIES => {
                    thread::sleep(PAUSE);
                    tries += 1;
                }
                Err(error) => return Err(error),
            }
        }
    }

    /// Gives an order.
    pub fn order(&self, order: Order) {
        self.link.order(order);
        self.card.wake();
    }

    /// Sets the factor of the amplitude.
    pub fn set_volume(&self, factor: f32) {
        let volume = &self.link.shared.volume;
        volume.store(factor.to_bits(), Ordering::Relaxed);
        self.card.wake();
    }

    /// To the program itself, at `rate` frames a second.
    #[cfg(any(test, feature = "internals"))]
    pub fn to_program(rate: u32) -> Connection {
        let (link, mixer) = mixer();
        let card = Box::new(OutputDevice::program(mixer(rate), rate));
        Connection { card, link }
    }

    /// Closes it, and waits at most this long for that.
    pub fn close(self, patience: Duration) {
        let (done, closed) = channel();
        thread::spawn(move || {
            super::output_device::quiet();
            drop(self);
            // Perhaps nobody waits any more.
            let _ = done.send(());
        });
        let _ = closed.recv_timeout(patience);
    }
}

/// How a connection is made.
pub(super) type Opener = Arc<dyn Fn() -> Result<Connection, SoundError> + Send + Sync>;

/// Opens on a thread of its own. Where the connection comes too late for anybody to take it, it is closed there.
pub(super) fn open(opener: &Opener) -> Receiver<Result<Connection, SoundError>> {
    let (sender, opened) = channel();
    let opener = opener.clone();
    thread::spawn(move || sender.send(opener()));
    opened
}
