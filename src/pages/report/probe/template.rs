//! The template of a fitting plan: strips at full size, to be cut out and laid on.
//!
//! A line of 100 mm to hold a rule to, a strip from the flange to the boss for every distance, a
//! strip from the tip to the mark for every stem. Lengths are exact: a point is 25.4/72 mm, and
//! nothing may scale these pictures. It must not decide where anything goes.

use measure::probe::fit_plan::Plan;

use super::fit_plan::{cylinders, mm};
use crate::report::figure::{Ink, Look, Picture, Stroke};
use crate::report::words::upper_first;

/// Points in a millimetre.
const MM: f64 = 72.0 / 25.4;
/// Length of the line that shows the scale, mm.
pub const RULER: f64 = 100.0;
/// Edge left of where a strip begins, mm, so that its end can be seen on both sides of the cut.
const EDGE: f64 = 4.0;
/// Left right of the last mark, mm.
const BEYOND: f64 = 8.0;
/// Height of a strip, mm.
const HIGH: f64 = 12.0;
const TEXT: f64 = 8.0;
/// Thickness of lines that are measured by, and of others.
const FINE: f64 = 0.4;
const THIN: f64 = 0.25;

/// Title of the page that has them.
pub const TEMPLATE: &str = "Template, full size";

/// The strips, none wider than `width` points if that is as wide as the rule needs.
#[must_use]
pub fn template(plan: &Plan, width: f64) -> Vec<Picture> {
    let mut pictures = vec![ruler(width)];
    let mut places: Vec<(f64, Vec<usize>)> = Vec::new();
    let mut stems: Vec<((f64, f64), Vec<usize>)> = Vec::new();
    for one in &plan.cylinders {
        let inside = one.spot.depth_mm / one.spot.lean_deg.to_radians().cos();
        sorted_in(&mut places, one.spot.distance_mm, one.cylinder);
        sorted_in(&mut stems, (inside, one.mark_mm.unwrap_or(inside)), one.cylinder);
    }
    for (distance, who) in places {
        pictures.push(place(distance, plan.tolerance.place_mm, &who, width));
    }
    for ((inside, mark), who) in stems {
        pictures.push(stem((inside, mark), plan.tolerance.depth_mm, &who, width));
    }
    pictures
}

/// The strips one below the other.
#[must_use]
pub fn template_in_one(plan: &Plan, width: f64) -> Picture {
    let mut whole = Picture::new(width);
    for picture in template(plan, width) {
        let top = whole.height;
        whole.marks.extend(picture.marks.iter().map(|mark| mark.placed(1.0, 0.0, top)));
        whole.height += picture.height + 10.0;
    }
    whole
}

fn sorted_in<K: PartialEq>(kinds: &mut Vec<(K, Vec<usize>)>, key: K, cylinder: usize) {
    match kinds.iter_mut().find(|(other, _)| *other == key) {
        Some((_, who)) => who.push(cylinder),
        None => kinds.push((key, vec![cylinder])),
    }
}

/// A line of [`RULER`] with its millimetres.
fn ruler(width: f64) -> Picture {
    let mut picture = Picture::new(width);
    let y = 34.0;
    let (left, right) = (EDGE * MM, (EDGE + RULER) * MM);
    let words = "Hold a rule to this line: it is 100 mm. If it is not, print again at 100 %, without \
                 fitting to the page.";
    picture.text((0.0, TEXT), words, Look::new(TEXT).bold());
    let words = "Cut each strip out, and off at its first line: that end goes to the flange, or to the \
                 tip. Grey: the tolerance.";
    picture.text((0.0, 2.4 * TEXT), words, Look::new(TEXT));
    picture.line((left, y), (right, y), Stroke::solid(Ink::Black, FINE));
    for step in 0..=100_u8 {
        let x = left + f64::from(step) * MM;
        let long = match step {
            n if n % 10 == 0 => 9.0,
            n if n % 5 == 0 => 6.5,
            _ => 4.0,
        };
        picture.line((x, y), (x, y + long), Stroke::solid(Ink::Black, THIN));
        if step % 10 == 0 {
            let look = Look::new(6.0).middle();
            picture.text((x, y + 16.0), step.to_string(), look);
        }
    }
    picture.height = y + 20.0;
    picture
}

/// From the flange to the middle of the boss.
fn place(distance: f64, tolerance: f64, who: &[usize], width: f64) -> Picture {
    let words = format!(
        "{}: middle of the boss {} mm from the flange, ± {} mm",
        upper_first(&cylinders(who)),
        mm(distance),
        mm(tolerance)
    );
    strip(&words, "flange", &[(distance, "drill here")], (distance, tolerance), width)
}

/// From the tip to the mark.
fn stem((inside, mark): (f64, f64), tolerance: f64, who: &[usize], width: f64) -> Picture {
    if mark > inside {
        let words = format!(
            "{}: mark on the stem {} mm from the tip, ± {} mm",
            upper_first(&cylinders(who)),
            mm(mark),
            mm(tolerance)
        );
        let places = [(inside, "inner wall"), (mark, "mark")];
        strip(&words, "tip", &places, (mark, tolerance), width)
    } else {
        let words = format!(
            "{}: tip {} mm past the inner wall, ± {} mm; add the boss for the mark",
            upper_first(&cylinders(who)),
            mm(inside),
            mm(tolerance)
        );
        strip(&words, "tip", &[(inside, "inner wall")], (inside, tolerance), width)
    }
}

/// A strip that begins at nought, with places along it; the last has a band of tolerance.
fn strip(
    words: &str,
    begin: &str,
    places: &[(f64, &str)],
    (middle, tolerance): (f64, f64),
    width: f64,
) -> Picture {
    let mut picture = Picture::new(width);
    picture.text((0.0, TEXT), words, Look::new(TEXT).bold());
    picture.height = TEXT + 4.0;
    let longest = places.iter().map(|place| place.0).fold(0.0, f64::max);
    if (EDGE + longest + BEYOND) * MM > width {
        picture.height += TEXT + 2.0;
        let y = picture.height - 2.0;
        let words = "Longer than this paper: measure it with a rule.";
        picture.text((0.0, y), words, Look::new(TEXT));
        return picture;
    }
    let (top, bottom) = (picture.height, picture.height + HIGH * MM);
    let at = |mm: f64| (EDGE + mm) * MM;
    let from = at((middle - tolerance).max(0.0));
    let band = at(middle + tolerance) - from;
    picture.fill((from, top), (band, bottom - top), Ink::Pale);
    let outline = (at(longest + BEYOND), bottom - top);
    picture.frame((0.0, top), outline, None, Stroke::dashed(Ink::Rule, THIN));
    let fine = Stroke::solid(Ink::Black, FINE);
    picture.line((at(0.0), top), (at(0.0), bottom), fine);
    let middle_line = f64::midpoint(top, bottom);
    picture.line((at(0.0), middle_line), (at(longest), middle_line), fine);
    let label = |picture: &mut Picture, x: f64, text: &str| {
        picture.text((x, bottom + 8.0), text, Look::new(6.5).middle());
    };
    label(&mut picture, at(0.0) + 2.0, begin);
    for &(mm, name) in places {
        picture.line((at(mm), top), (at(mm), bottom), fine);
        label(&mut picture, at(mm), name);
    }
    picture.height = bottom + 12.0;
    picture
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Doc;
    use crate::report::figure::{Mark, svg};
    use crate::report::pdf::{self, Paper};
    use measure::probe::fit_plan::{Probe, Runner, Wish, plan};

    fn planned(boss_mm: Option<f64>, distance_mm: Option<f64>) -> Plan {
        let probe = Probe { diameter_mm: 3.0, length_mm: None, lead_mm: None };
        let runner = Runner { boss_mm, probe, ..Runner::straight(42.0) };
        let wish = Wish { distance_mm, ..Wish::default() };
        plan(&[runner, runner, Runner { lean_deg: 60.0, ..runner }], wish).expect("can be")
    }

    /// Lengths of the level lines, in mm.
    fn level(picture: &Picture) -> Vec<f64> {
        let lines = picture.marks.iter().filter_map(|mark| match mark {
            Mark::Line { points, .. } => Some((points[0], points[1])),
            _ => None,
        });
        let level = lines.filter(|(a, b)| (a.1 - b.1).abs() < 1e-9);
        level.map(|(a, b)| (b.0 - a.0).abs() / MM).collect()
    }

    #[test]
    fn strips_are_as_long_as_what_they_measure() {
        let strips = template(&planned(Some(20.0), None), 523.0);
        // The rule, one distance, two kinds of stem: 21 mm deep, and twice that leaning.
        let lengths: Vec<f64> = strips.iter().flat_map(level).collect();
        for (found, expected) in lengths.iter().zip([100.0, 50.0, 41.0, 62.0]) {
            assert!((found - expected).abs() < 1e-6, "{found} for {expected}");
        }
        assert_eq!(lengths.len(), 4);
    }

    /// Level lines of a PDF in points, read from what its pages draw: `x y m x y l`.
    fn drawn(pdf: &[u8]) -> Vec<f64> {
        let find = |from: usize, what: &[u8]| {
            pdf[from..].windows(what.len()).position(|w| w == what).map(|at| from + at)
        };
        let (mut at, mut lines) = (0, Vec::new());
        while let Some(begin) = find(at, b"stream\n").map(|begin| begin + 7) {
            let end = find(begin, b"\nendstream").expect("an end");
            at = end + 10;
            let Ok(stream) = miniz_oxide::inflate::decompress_to_vec_zlib(&pdf[begin..end]) else {
                continue;
            };
            let words = String::from_utf8_lossy(&stream).into_owned();
            let words: Vec<&str> = words.split_ascii_whitespace().collect();
            for line in words.windows(6).filter(|w| w[2] == "m" && w[5] == "l") {
                let number = |word: &str| word.parse::<f64>().expect("a number");
                if (number(line[1]) - number(line[4])).abs() < 1e-6 {
                    lines.push(number(line[3]) - number(line[0]));
                }
            }
        }
        lines
    }

    /// A hundred millimetres are 283.46 points on any paper, as the file's own operators draw them.
    #[test]
    fn the_rule_in_the_pdf_is_a_hundred_millimetres() {
        for paper in [Paper::A4, Paper::Letter] {
            let plan = planned(Some(20.0), None);
            let strips = template(&plan, paper.inside());
            let pdf = pdf::with_full_size(&Doc::new("Plan"), TEMPLATE, &strips, paper);
            let lines = drawn(&pdf);
            for wanted in [RULER, plan.common.distance_mm, 41.0] {
                let points = wanted / 25.4 * 72.0;
                let near = |line: &f64| (line - points).abs() < 0.005;
                assert!(lines.iter().any(near), "{wanted} mm, {points} pt: {lines:?}");
            }
            assert!((RULER / 25.4 * 72.0 - 283.46).abs() < 0.005);
            let asked = b"/PrintScaling/None";
            assert!(pdf.windows(asked.len()).any(|w| w == asked), "a viewer may shrink it");
            // Nothing but the strips and the rules under headings is drawn level.
            let rules = lines.iter().filter(|line| (**line - paper.inside()).abs() < 0.01).count();
            assert_eq!(lines.len() - rules, 4, "{lines:?}");
        }
    }

    #[test]
    fn the_svg_says_its_size_in_points() {
        let picture = template_in_one(&planned(Some(20.0), None), 523.28);
        let svg = svg::full_size(TEMPLATE, "strips", &picture);
        assert!(svg.contains("width=\"523.28pt\""), "{svg}");
        assert!(svg.contains("viewBox=\"0 0 523.28 "), "{svg}");
        // From 4 mm to 104 mm.
        assert!(svg.contains("points=\"11.34,34 294.8,34\""), "{svg}");
    }

    #[test]
    fn what_is_longer_than_the_paper_is_said_and_not_shrunk() {
        let strips = template(&planned(None, Some(300.0)), 523.0);
        let words: Vec<&Mark> = strips[1].marks.iter().collect();
        assert_eq!((words.len(), level(&strips[1]).len()), (2, 0));
        let whole = template_in_one(&planned(None, None), 523.0);
        assert!(whole.marks.iter().all(|mark| match mark {
            Mark::Rect { x, w, .. } => *x >= 0.0 && x + w <= 523.0,
            Mark::Line { points, .. } => points.iter().all(|p| (0.0..=523.0).contains(&p.0)),
            _ => true,
        }));
    }
}
