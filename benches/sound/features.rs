//! What can be heard in one stroke: pitch, brightness and decay, measured on its samples.

use realfft::RealFftPlanner;

/// Features of a single sound, each as the binary logarithm, so that distances are octaves.
#[derive(Clone, Copy, Debug)]
pub struct Features {
    /// log2 of the frequency of the strongest spectral line, Hz.
    pub pitch: f64,
    /// log2 of the power-weighted mean frequency, Hz.
    pub centroid: f64,
    /// log2 of the time in which the energy still to come falls by 20 dB, seconds.
    pub decay: f64,
}

impl Features {
    pub fn distance(&self, other: &Features) -> f64 {
        let squares = [
            self.pitch - other.pitch,
            self.centroid - other.centroid,
            self.decay - other.decay,
        ]
        .map(|d| d * d);
        squares.iter().sum::<f64>().sqrt()
    }
}

/// Power at the bins of a transform of `size` samples, Hann window over the sound itself.
pub fn power(samples: &[f32], size: usize) -> Vec<f64> {
    let mut plan = RealFftPlanner::<f64>::new();
    let transform = plan.plan_fft_forward(size);
    let mut input = transform.make_input_vec();
    let count = samples.len().min(size);
    for (i, sample) in samples[..count].iter().enumerate() {
        // Only the falling half of the window: a stroke is loudest at its start.
        let window = (std::f64::consts::FRAC_PI_2 * i as f64 / count as f64)
            .cos()
            .powi(2);
        input[i] = f64::from(*sample) * window;
    }
    let mut output = transform.make_output_vec();
    transform
        .process(&mut input, &mut output)
        .expect("the buffers are the plan's own");
    output.iter().map(|c| c.norm_sqr()).collect()
}

/// The frequency of the strongest line between `from` and `to` Hz, refined by a parabola through the logarithms of
/// the three bins around it.
pub fn line(power: &[f64], size: usize, rate: f64, from: f64, to: f64) -> f64 {
    let bin = |hz: f64| ((hz * size as f64 / rate) as usize).clamp(1, power.len() - 2);
    let best = (bin(from)..=bin(to)).max_by(|a, b| power[*a].total_cmp(&power[*b]));
    let best = best.unwrap_or(1);
    let [a, b, c] = [best - 1, best, best + 1].map(|i| power[i].max(1e-30).ln());
    let shift = if a + c == 2.0 * b {
        0.0
    } else {
        0.5 * (a - c) / (a - 2.0 * b + c)
    };
    (best as f64 + shift) * rate / size as f64
}

pub fn features(samples: &[f32], rate: f64) -> Features {
    let size = 32_768;
    let power = power(samples, size);
    let total: f64 = power.iter().sum();
    let weighted: f64 = power
        .iter()
        .enumerate()
        .map(|(i, p)| p * i as f64 * rate / size as f64)
        .sum();
    // Energy still to come (Schroeder 1965), from the end backwards.
    let all: f64 = samples.iter().map(|s| f64::from(s * s)).sum();
    let mut to_come = all;
    let fallen = samples
        .iter()
        .position(|s| {
            to_come -= f64::from(s * s);
            to_come <= 0.01 * all
        })
        .unwrap_or(samples.len());
    Features {
        pitch: line(&power, size, rate, 40.0, 6000.0).log2(),
        centroid: (weighted / total.max(1e-30)).max(1.0).log2(),
        decay: (fallen.max(1) as f64 / rate).log2(),
    }
}
