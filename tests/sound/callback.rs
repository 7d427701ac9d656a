//! The callback of the sound card takes and frees no memory, since that may wait.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::sync::Arc;
use whichside::clave::{Clave, Direction, Family};
use whichside::rhythm::{Grid, Score, Tempo};
use whichside::sound::{AudioPlayer, JoinPoint, Take, render};

thread_local! {
    static COUNTING: Cell<bool> = const { Cell::new(false) };
    static COUNT: Cell<usize> = const { Cell::new(0) };
}

struct Counting;

fn count() {
    if COUNTING.get() {
        COUNT.set(COUNT.get() + 1);
    }
}

// SAFETY: every call goes on to the system's allocator unchanged.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count();
        unsafe { System.alloc(layout) }
    }
    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        count();
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

#[test]
fn the_callback_neither_takes_nor_frees_memory() {
    let clave = Clave {
        family: Family::Son,
        direction: Direction::TwoThree,
    };
    let mut score = Score::empty(Grid::Eighths);
    score.set_line(clave.line(Grid::Eighths));
    let wave = Arc::new(render(&Take::new(score, Tempo::new(300.0), 1)));
    let mut player = AudioPlayer::offline(48_000);
    let mut buffer = vec![0.0f32; 2 * 4096];
    // The counter counts.
    COUNTING.set(true);
    drop(std::hint::black_box(Box::new(1)));
    COUNTING.set(false);
    assert_eq!(COUNT.replace(0), 2);
    for round in 0..200 {
        // Starting, going round, ending, replacing and stopping all happen within the counted calls.
        match round % 9 {
            0 => player.play(wave.clone(), false),
            1 => player.play(wave.clone(), true),
            2 => player.take_over(wave.clone(), JoinPoint::default()),
            3 | 4 => {
                // The second takes the place of the first, which waits for its line.
                let line = 16;
                player.take_over(
                    wave.clone(),
                    JoinPoint {
                        line,
                        ..JoinPoint::default()
                    },
                );
            }
            5 => player.hush(),
            _ => player.set_volume(0.1 * (round % 10) as f32),
        }
        for _ in 0..20 {
            COUNTING.set(true);
            player.pull(&mut buffer);
            COUNTING.set(false);
        }
    }
    assert_eq!(COUNT.get(), 0, "allocations and frees in the callback");
}
