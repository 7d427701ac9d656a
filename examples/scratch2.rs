use std::time::Instant;
use whichside::hands::*;
use whichside::rhythm::{Grid, notation::read_line};
fn main() {
    let p = Player::default();
    for t in [
        "H T S T H T O O | H T S T H T O O",
        "H T S tO tO T O O / H T S T H T O O",
    ] {
        let pat = read_line(t, Grid::Eighths).unwrap();
        for bpm in [90., 120., 150., 180.] {
            let mut best = f64::MAX;
            for _ in 0..200 {
                let s = Instant::now();
                for _ in 0..10 {
                    std::hint::black_box(stick(&pat, bpm, &p));
                }
                best = best.min(s.elapsed().as_secs_f64() / 10.);
            }
            let mut bf = f64::MAX;
            for _ in 0..200 {
                let s = Instant::now();
                for _ in 0..10 {
                    std::hint::black_box(fits(&pat, 5, bpm, &p));
                }
                bf = bf.min(s.elapsed().as_secs_f64() / 10.);
            }
            println!("{t} {bpm}: stick {:.1} us fits {:.1}", best * 1e6, bf * 1e6);
        }
    }
}
