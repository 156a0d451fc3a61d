//! What no text, however foreign, may do to a page.

use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;

use facts::job::timeline::Standing;
use measure::engine::Place;
use measure::units::Scale;

use super::doc::{Align, Bar, Block, Doc, Image, NoticeKind, Photograph, Table};
use super::figure::tests::figure;
use super::style::Style;
use super::{CardInput, JobAbout, JobLine, Letterhead, LocalTime, markdown, sample, text};

/// Text as a customer, a file or an attacker might give it.
fn foreign() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[a-z ]{0,80}",
        "[|*_`<>#\\\\\n\r\t\u{1b}\u{9b}\u{7}\u{202e}\u{200d}\\[\\]()!&~$=+0-9. -]{0,60}",
        "[温度é\u{301}👩🔧\u{fe0f}\u{1f3fd} ]{0,40}",
        Just("x".repeat(200)),
        Just("\u{1b}]0;title\u{7}\u{1b}[2J".to_owned()),
    ]
}

fn block() -> impl Strategy<Value = Block> {
    let texts = || proptest::collection::vec(foreign(), 0..5);
    let table = (1usize..6, proptest::collection::vec(texts(), 0..5), texts());
    prop_oneof![
        foreign().prop_map(Block::Part),
        foreign().prop_map(Block::Heading),
        foreign().prop_map(Block::Para),
        (any::<bool>(), texts()).prop_map(|(ordered, items)| Block::List { ordered, items }),
        table.prop_map(|(columns, rows, mut names)| {
            names.resize(columns, "name".to_owned());
            let sides = [Align::Left, Align::Right].into_iter().cycle();
            Block::Table(Table { columns: names.into_iter().zip(sides).collect(), rows })
        }),
        proptest::collection::vec((foreign(), foreign()), 0..4).prop_map(Block::Fields),
        proptest::collection::vec((foreign(), -1.0..2.0, foreign()), 0..4).prop_map(|bars| {
            let bar = |(label, value, text)| Bar { label, value, text };
            Block::Bars(bars.into_iter().map(bar).collect())
        }),
        texts().prop_map(Block::SignOff),
        foreign().prop_map(|about| {
            let image = Image::Inside { media: "image/png", bytes: about.clone().into_bytes() };
            Block::Photos(vec![Photograph { about, image }])
        }),
        proptest::collection::vec(figure(), 0..3).prop_map(Block::Figures),
        foreign().prop_map(|text| Block::Notice(NoticeKind::Caution, text)),
        foreign().prop_map(Block::Command),
    ]
}

pub(super) fn doc() -> impl Strategy<Value = Doc> {
    (foreign(), foreign(), proptest::collection::vec(block(), 0..6))
        .prop_map(|(title, foot, blocks)| Doc { title, foot, blocks, tight: false })
}

fn check_text(out: &str, width: usize) -> Result<(), TestCaseError> {
    for line in out.lines() {
        prop_assert!(line.width() <= width, "{} cells: {line:?}", line.width());
    }
    let bad = out.chars().find(|&c| c != '\n' && c.is_control());
    prop_assert_eq!(bad, None);
    Ok(())
}

/// Cells of a Markdown row: pipes without a backslash before them, less the outer ones.
fn cells(row: &str) -> usize {
    let mut escaped = false;
    let mut pipes = 0usize;
    for c in row.chars() {
        if c == '|' && !escaped {
            pipes += 1;
        }
        escaped = c == '\\' && !escaped;
    }
    pipes.saturating_sub(1)
}

proptest! {
    #[test]
    fn no_text_line_is_too_wide_or_controls_the_terminal(doc in doc(), width in 0usize..120) {
        let out = text::render(&doc, width, Style::Plain);
        check_text(&out, width.max(text::LEAST_WIDTH))?;
    }

    #[test]
    fn nothing_leaves_its_markdown_cell(
        rows in proptest::collection::vec(proptest::collection::vec(foreign(), 0..4), 1..6),
    ) {
        let count = rows.len();
        let table = Table {
            columns: vec![("a|b".to_owned(), Align::Left), ("c".to_owned(), Align::Right)],
            rows,
        };
        let mut doc = Doc::new("t");
        doc.blocks.push(Block::Table(table));
        let out = markdown::render(&doc);
        let lines: Vec<&str> = out.lines().skip(2).collect();
        prop_assert_eq!(lines.len(), count + 2);
        for line in lines {
            prop_assert_eq!(cells(line), 2, "{}", line);
            prop_assert!(!line.contains(['<', '>']), "{}", line);
        }
    }

    #[test]
    fn markdown_holds_no_control_character_and_no_html(doc in doc()) {
        let out = markdown::render(&doc);
        let bad = out.chars().find(|&c| c != '\n' && c.is_control());
        prop_assert_eq!(bad, None);
        let mut fence: Option<&str> = None;
        for line in out.lines() {
            match fence {
                Some(open) if line == open => fence = None,
                Some(_) => {}
                None if line.starts_with("```") => fence = Some(line),
                None => prop_assert!(!line.contains('<'), "{}", line),
            }
        }
        prop_assert_eq!(fence, None);
    }

    #[test]
    fn foreign_words_in_a_job_do_no_harm(
        vehicle in foreign(),
        complaint in foreign(),
        job in foreign(),
        cylinder in 1u8..=4,
    ) {
        let knowledge = sample::knowledge();
        let mut journal = sample::journal();
        journal.head.vehicle.clone_from(&vehicle);
        journal.head.complaint.clone_from(&complaint);
        let (timeline, assessment) = (sample::timeline(), sample::assessment());
        let mut verification = sample::verified();
        verification.remedied = Some(sample::at(sample::INJ_LEAN, Place::Cylinder(cylinder)));
        let advice = sample::advice();
        let input = CardInput {
            knowledge: &knowledge,
            journal: &journal,
            timeline: &timeline,
            assessment: &assessment,
            advice: Some(&advice),
            verification: &verification,
            limits: None,
            spent: sample::cost(1.0, 2.0, 3.0),
            letterhead: &Letterhead::default(),
            local: &LocalTime::default(),
        };
        let about = JobAbout {
            opened: journal.head.opened,
            vehicle,
            complaint,
            entries: 1,
            standing: Standing::Open,
        };
        let line = JobLine { name: job.clone(), about: Ok(about) };
        for doc in [
            super::card(&input, Scale::Celsius),
            super::jobs(&[line], &LocalTime::default()),
            super::journal(&knowledge, &journal, Scale::Celsius, &LocalTime::default()),
            super::next(&knowledge, &timeline, &assessment, &advice, &job, Scale::Celsius),
        ] {
            check_text(&text::render(&doc, 60, Style::Plain), 60)?;
            let heads = markdown::render(&doc).lines().filter(|l| l.starts_with("# ")).count();
            prop_assert_eq!(heads, 1);
        }
    }
}
