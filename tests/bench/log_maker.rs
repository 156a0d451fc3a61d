//! Writes a large invented data log, the same bytes for the same seed.
//!
//! `cargo bench --bench log_maker -- FILE [MEGABYTES] [SEED]`. A twelve-cylinder diesel that nobody
//! built, on a bench that changes its speed and load every few minutes: sixteen columns (time,
//! speed, load, oil, twelve exhaust temperatures) at 100 rows a second. Displays follow with
//! first-order lags of their own and white noise; display 7 reads low. Numbers are invented.
#![expect(clippy::print_stderr, reason = "a bench reports on the terminal")]
#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "counts of rows, and small numbers above nought"
)]

use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write};

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Speed in rpm, load in per cent, mean exhaust temperature in °C.
const POINTS: [(f64, f64, f64); 4] =
    [(650.0, 8.0, 160.0), (1200.0, 45.0, 350.0), (1500.0, 60.0, 410.0), (1800.0, 96.0, 520.0)];
const DISPLAYS: usize = 12;
const STEP: f64 = 0.01;

fn main() -> std::io::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let Some(file) = words.first() else {
        eprintln!("usage: cargo bench --bench log_maker -- FILE [MEGABYTES] [SEED]");
        return Ok(());
    };
    let number =
        |at: usize, usual: u64| words.get(at).and_then(|w| w.parse().ok()).unwrap_or(usual);
    let (bytes, start) = (number(1, 200) * 1_000_000, number(2, 1));
    let mut out = BufWriter::with_capacity(1 << 20, File::create(file)?);
    let mut random = Pcg64Mcg::seed_from_u64(start);
    let mut noise = move || {
        // Twelve uniform numbers less their mean: near enough to normal, and quick.
        (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0
    };
    let offsets: Vec<f64> =
        (0..DISPLAYS).map(|i| if i == 6 { -55.0 } else { 8.0 * noise() }).collect();
    let lags: Vec<f64> = (0..DISPLAYS).map(|_| 9.0 * (0.15 * noise()).exp()).collect();
    let mut shown = [20.0; DISPLAYS];
    let (mut speed, mut load) = (0.0, 0.0);
    let (mut written, mut until, mut row) = (0_u64, 0_u64, 0_u64);
    let mut point = POINTS[0];
    let mut line = String::from("Time [s],Speed [rpm],Load [%],Oil [°C]");
    for display in 1..=DISPLAYS {
        let _ = write!(line, ",EGT {display} [°C]");
    }
    line.push('\n');
    while written < bytes {
        out.write_all(line.as_bytes())?;
        written += line.len() as u64;
        if row >= until {
            let pick = (3.999 * (0.5 + noise() / 6.0).clamp(0.0, 1.0)) as usize;
            point = POINTS[pick.min(3)];
            until = row + 18_000 + (6_000.0 * (noise() + 1.0).abs()) as u64;
        }
        speed += (point.0 - speed) * STEP / 1.5;
        load += (point.1 - load) * STEP;
        for i in 0..DISPLAYS {
            let aim = point.2 + offsets[i] * point.2 / 400.0;
            shown[i] += (aim - shown[i]) * STEP / lags[i];
        }
        line.clear();
        let oil = 85.0 + 4.0 * (row as f64 * STEP / 900.0).sin();
        let _ = write!(
            line,
            "{:.2},{:.0},{:.1},{oil:.1}",
            row as f64 * STEP,
            speed + 3.0 * noise(),
            load + 0.4 * noise()
        );
        for value in shown {
            let _ = write!(line, ",{:.1}", value + 0.8 * noise());
        }
        line.push('\n');
        row += 1;
    }
    out.flush()
}
