//! Courses drawn with characters, one for each display.
//!
//! Pure; no colour, so that it can be sent on. It must not judge what it draws.

use measure::units::{Scale, TempDelta};

/// Rows of the plot.
const HEIGHT: usize = 16;
/// Least range, °C.
const LEAST_RANGE: f64 = 20.0;
/// Cells for the numbers at the left.
const MARGIN: usize = 7;

/// Characters of displays 1, 2, 3 …
const MARKS: &[u8] = b"123456789abcdefghijklmnopqrstuvw";

/// Draws courses into `width` cells: times in s, values in °C point by point. `windows` are marked
/// under the time.
#[must_use]
pub(super) fn plot(
    times: &[f64],
    values: &[f64],
    windows: &[(f64, f64)],
    width: usize,
    scale: Scale,
) -> Vec<String> {
    let displays = values.len().checked_div(times.len()).unwrap_or(0);
    let there = || values.iter().copied().filter(|v| v.is_finite());
    let low = there().fold(f64::INFINITY, f64::min);
    let high = there().fold(f64::NEG_INFINITY, f64::max);
    let (Some(&first), Some(&last)) = (times.first(), times.last()) else { return Vec::new() };
    if !low.is_finite() || displays == 0 || displays > MARKS.len() || last <= first {
        return Vec::new();
    }
    let columns = width.saturating_sub(MARGIN).max(20);
    // A narrower range would only show noise.
    let beyond = ((LEAST_RANGE - (high - low)) / 2.0).max(0.0);
    let (low, high) = (low - beyond, high + beyond);
    let mut grid = vec![vec![b' '; columns]; HEIGHT];
    let column = |time: f64| cell((time - first) / (last - first), columns);
    // The last point of a column stands for it; where two displays meet, a star.
    let mut at: Vec<Option<usize>> = vec![None; columns];
    for (index, &time) in times.iter().enumerate() {
        at[column(time)] = Some(index);
    }
    for (x, index) in at.iter().enumerate() {
        let Some(index) = index else { continue };
        for display in 0..displays {
            let value = values[index * displays + display];
            if value.is_finite() {
                let y = HEIGHT - 1 - cell((value - low) / (high - low), HEIGHT);
                let mark = &mut grid[y][x];
                *mark = if *mark == b' ' { MARKS[display] } else { b'*' };
            }
        }
    }
    let degrees = |row: usize| {
        #[expect(clippy::cast_precision_loss, reason = "sixteen rows")]
        let share = 1.0 - row as f64 / (HEIGHT - 1) as f64;
        let celsius = low + share * (high - low);
        let base = if scale == Scale::Fahrenheit { 32.0 } else { 0.0 };
        base + scale.show_delta(TempDelta(celsius))
    };
    let mut lines = vec![format!("{:>5}", scale.sign())];
    for (row, cells) in grid.iter().enumerate() {
        let label =
            if row % 5 == 0 { format!("{:>5.0} |", degrees(row)) } else { "      |".into() };
        lines.push(format!("{label}{}", String::from_utf8_lossy(cells).trim_end()));
    }
    let mut rule = vec![b'-'; columns];
    for &(from, to) in windows {
        for mark in &mut rule[column(from.max(first))..=column(to.min(last))] {
            *mark = b'=';
        }
    }
    lines.push(format!("      +{}", String::from_utf8_lossy(&rule)));
    let end = format!("{last:.0} s");
    let gap = columns.saturating_sub(end.len() + 3);
    lines.push(format!("{:MARGIN$}{first:<3.0}{:gap$}{end}", "", ""));
    lines
}

/// The cell of a share from 0 to 1.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a share of a small count"
)]
fn cell(share: f64, cells: usize) -> usize {
    (share.clamp(0.0, 1.0) * (cells - 1) as f64).round() as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_drawn_with_its_window() {
        let times: Vec<f64> = (0..60).map(f64::from).collect();
        let values: Vec<f64> =
            times.iter().flat_map(|t| [if *t < 30.0 { 100.0 } else { 400.0 }, 250.0]).collect();
        let lines = plot(&times, &values, &[(40.0, 60.0)], 40, Scale::Celsius);
        insta::assert_snapshot!(lines.join("\n"), @r"
           °C
          400 |                11111111111111111
              |
              |
              |
              |
          300 |
              |
              |222222222222222222222222222222222
              |
              |
          200 |
              |
              |
              |
              |
          100 |1111111111111111
              +----------------------===========
               0                            59 s
        ");
        assert!(lines.iter().all(|line| line.chars().count() <= 40));
        assert!(plot(&[], &[], &[], 40, Scale::Celsius).is_empty());
        assert!(plot(&[0.0, 1.0], &[f64::NAN; 4], &[], 40, Scale::Celsius).is_empty());
    }
}
