//! What holds for every picture, whatever is put into it.

use proptest::prelude::*;

use super::font;
use super::*;

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z ]{0,40}",
        any::<String>(),
        Just("<script>&\"'".to_owned()),
        Just("x".repeat(90)),
        "[温度é👩 ]{0,20}",
    ]
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![-50.0..1200.0, Just(f64::NAN), Just(f64::INFINITY), Just(400.0)]
}

fn share() -> impl Strategy<Value = f64> {
    prop_oneof![0.0..1.0, Just(f64::NAN), Just(7.0)]
}

fn levels() -> impl Strategy<Value = Chart> {
    let level = prop_oneof![
        number().prop_map(Level::Number),
        (number(), number()).prop_map(|(a, b)| Level::Range(a.min(b), a.max(b))),
        text().prop_map(Level::Word),
    ];
    let set = (text(), text(), proptest::option::of((number(), 0.0..90.0)));
    let sets = proptest::collection::vec(set, 1..3);
    let rows = proptest::collection::vec((text(), proptest::collection::vec(level, 2)), 1..13);
    (sets, rows).prop_map(|(sets, rows)| {
        let sets = sets.into_iter().map(|(name, long, band)| LevelSet {
            name,
            long,
            band: band.map(|(middle, reach)| (middle - reach, middle + reach)),
        });
        let rows = rows.into_iter().map(|(label, values)| LevelRow { label, values });
        Chart::Levels(Levels {
            unit: "°C",
            of: "display",
            within: "in here",
            sets: sets.collect(),
            rows: rows.collect(),
        })
    })
}

fn swap() -> impl Strategy<Value = Chart> {
    let value = || proptest::option::of(number());
    let row = (text(), [text(), text()], [value(), value()], any::<[bool; 3]>());
    let rows = proptest::collection::vec(row, 1..9);
    ([text(), text()], [text(), text()], [text(), text()], rows, text()).prop_map(
        |(places, items, when, rows, outcome)| {
            let rows = rows.into_iter().map(|(label, texts, values, [a, b, involved])| SwapRow {
                label,
                texts,
                values,
                odd: [a, b],
                involved,
            });
            Chart::Swap(Swap { unit: "°F", places, items, when, rows: rows.collect(), outcome })
        },
    )
}

fn course() -> impl Strategy<Value = Chart> {
    let row = (text(), proptest::collection::vec(share(), 0..30));
    (proptest::collection::vec("[0-9]{1,2}", 0..30), proptest::collection::vec(row, 0..7)).prop_map(
        |(columns, rows)| {
            let rows = rows.into_iter().map(|(label, shares)| CourseRow { label, shares });
            Chart::Course(Course { columns, rows: rows.collect() })
        },
    )
}

fn trace() -> impl Strategy<Value = Chart> {
    let samples = proptest::collection::vec((number(), number()), 0..40);
    let lines = proptest::collection::vec((text(), samples), 0..9);
    let windows = proptest::collection::vec((number(), number()), 0..4);
    (lines, windows).prop_map(|(lines, windows)| {
        let lines = lines.into_iter().map(|(label, samples)| TraceLine { label, samples });
        Chart::Trace(Trace { unit: "°C", lines: lines.collect(), windows })
    })
}

fn branches() -> impl Strategy<Value = Chart> {
    let leaf = (text(), text()).prop_map(|(step, takes)| Branches { step, takes, lines: vec![] });
    leaf.prop_recursive(3, 12, 3, |inner| {
        let line = (text(), text(), text(), proptest::option::of(inner)).prop_map(
            |(seen, chance, leads, then)| BranchLine {
                seen,
                chance,
                leads,
                then: then.map(Box::new),
            },
        );
        (text(), text(), proptest::collection::vec(line, 0..3))
            .prop_map(|(step, takes, lines)| Branches { step, takes, lines })
    })
    .prop_map(Chart::Branches)
}

fn tree() -> impl Strategy<Value = Chart> {
    let node = (any::<prop::sample::Index>(), any::<bool>(), text(), text(), share());
    (text(), proptest::collection::vec(node, 0..20), any::<bool>()).prop_map(
        |(root, list, shares)| {
            let mut nodes: Vec<TreeNode> = Vec::new();
            let mut depths: Vec<usize> = Vec::new();
            for (at, top, label, note, share) in list {
                let parent = (!top && !nodes.is_empty()).then(|| at.index(nodes.len()));
                let parent = parent.filter(|&p| depths[p] < 3);
                depths.push(parent.map_or(0, |p| depths[p] + 1));
                nodes.push(TreeNode { parent, label, note, share });
            }
            Chart::Tree(Tree { root, nodes, shares })
        },
    )
}

fn above() -> impl Strategy<Value = Chart> {
    let notes = proptest::collection::vec(text(), 0..4);
    let seat = (text(), text(), text(), any::<bool>(), notes).prop_map(
        |(cylinder, fires, reading, odd, notes)| AboveSeat { cylinder, fires, reading, odd, notes },
    );
    let bank = (text(), proptest::collection::vec(seat, 0..9))
        .prop_map(|(name, seats)| AboveBank { name, seats });
    let banks = proptest::collection::vec(bank, 1..3);
    (text(), banks, proptest::collection::vec(text(), 0..3))
        .prop_map(|(read, banks, below)| Chart::Above(Above { read, banks, below }))
}

pub(in crate::report) fn figure() -> impl Strategy<Value = Figure> {
    let chart = prop_oneof![levels(), swap(), course(), trace(), branches(), tree(), above()];
    (text(), text(), chart).prop_map(|(title, desc, chart)| Figure { title, desc, chart })
}

/// The corners of a mark.
fn extent(mark: &Mark) -> Vec<(f64, f64)> {
    match mark {
        Mark::Rect { x, y, w, h, .. } => vec![(*x, *y), (x + w, y + h)],
        Mark::Circle { x, y, r, .. } => vec![(x - r, y - r), (x + r, y + r)],
        Mark::Line { points, .. } | Mark::Area { points, .. } => points.clone(),
        Mark::Text { x, y, text, size, weight, anchor, .. } => {
            let long = font::width(text, *size, *weight);
            let left = match anchor {
                Anchor::Start => *x,
                Anchor::Middle => x - long / 2.0,
                Anchor::End => x - long,
            };
            vec![(left, y - size * 0.8), (left + long, y + size * 0.25)]
        }
    }
}

/// Whether tags are closed in order and nothing else begins with an angle bracket.
fn well_formed(svg: &str) -> bool {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = svg;
    while let Some(start) = rest.find('<') {
        let Some(end) = rest[start..].find('>') else { return false };
        let tag = &rest[start + 1..start + end];
        rest = &rest[start + end + 1..];
        let name = |tag: &str| tag.split([' ', '/']).next().unwrap_or("").len();
        if let Some(closing) = tag.strip_prefix('/') {
            if open.pop() != Some(closing) {
                return false;
            }
        } else if !tag.ends_with('/') && !tag.starts_with('?') {
            open.push(&tag[..name(tag)]);
        }
        if tag.contains('<') || tag.matches('"').count() % 2 == 1 {
            return false;
        }
    }
    open.is_empty() && !rest.contains('<')
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_mark_is_finite_and_inside(figure in figure(), width in 320.0..720.0) {
        let wide = matches!(figure.chart, Chart::Tree(_));
        let width = if wide { f64::max(width, 700.0) } else { width };
        let picture = figure.draw(width);
        prop_assert!(picture.height.is_finite() && picture.height > 0.0);
        for mark in &picture.marks {
            for (x, y) in extent(mark) {
                prop_assert!(x.is_finite() && y.is_finite(), "{:?}", mark);
                prop_assert!(-0.6 <= x && x <= width + 0.6, "{} of {}: {:?}", x, width, mark);
                prop_assert!(-0.6 <= y && y <= picture.height + 0.6, "{} of {}: {:?}", y, picture.height, mark);
            }
        }
    }

    #[test]
    fn svg_is_well_formed_and_the_same_each_time(figure in figure()) {
        let once = svg::file(&figure, WIDTH);
        prop_assert!(well_formed(&once), "{}", once);
        prop_assert!(!once.contains("<script") && !once.contains("NaN") && !once.contains("inf\""));
        prop_assert_eq!(once, svg::file(&figure, WIDTH));
    }

    #[test]
    fn a_terminal_has_room_for_every_line(figure in figure(), width in 40usize..120) {
        for line in figure.terminal(width) {
            prop_assert!(super::super::wrap::cells(&line) <= width, "{:?}", line);
            prop_assert!(!line.chars().any(char::is_control), "{:?}", line);
        }
    }
}
