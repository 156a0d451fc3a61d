use super::frame::{SCRIPT, style};
use super::*;
use crate::serve::parked::{Line, Question};
use crate::serve::reply;
use crate::session::Bench;
use pages::report::Block;

const NASTY: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&amp;";

fn parked_with(question: Question) -> Parked {
    Parked {
        number: 7,
        bench: Some(Bench {
            name: NASTY.to_owned(),
            about: NASTY.to_owned(),
            notice: Some((NoticeKind::Stop, NASTY.to_owned())),
            entries: 3,
        }),
        said: vec![Block::Para(NASTY.to_owned())],
        stands: vec![Block::Fields(vec![(NASTY.to_owned(), NASTY.to_owned())])],
        rest: true,
        question,
    }
}

fn options(count: usize) -> Vec<String> {
    (0..count).map(|n| format!("{n} {NASTY}")).collect()
}

fn questions() -> Vec<Question> {
    let seats = vec![vec![(1, Some(0)), (2, None)], vec![(3, Some(1)), (4, Some(99))]];
    let line = Line {
        question: NASTY.to_owned(),
        help: NASTY.to_owned(),
        default: NASTY.to_owned(),
        typed: NASTY.to_owned(),
        ..Line::default()
    };
    let states = vec!["open".to_owned(), NASTY.to_owned()];
    vec![
        Question::Choose {
            question: NASTY.to_owned(),
            options: options(40),
            start: 3,
            seats: None,
        },
        Question::Choose {
            question: NASTY.to_owned(),
            options: options(3),
            start: 99,
            seats: Some(seats),
        },
        Question::Choose { question: String::new(), options: Vec::new(), start: 0, seats: None },
        Question::Many { question: NASTY.to_owned(), options: options(2) },
        Question::Line(line.clone()),
        Question::Line(Line { values: 4, states, ..line }),
    ]
}

/// Every page there is, full of what a stranger may have typed.
fn pages() -> Vec<String> {
    let around = Around { wrong: Some(NASTY), meanwhile: 2, find: NASTY, live: None };
    let mut doc = Doc::new(NASTY);
    doc.blocks.push(Block::Para(NASTY.to_owned()));
    let mut pages: Vec<String> =
        questions().into_iter().map(|question| parked(&parked_with(question), &around)).collect();
    pages.extend([
        begin(Some(NASTY)),
        working(),
        door(NASTY),
        refused(NASTY, NASTY),
        report(&doc),
        take_in(Some(NASTY)),
        photos(Vec::new(), &[(1, NASTY.to_owned())], Some(NASTY)),
        taken_in(NASTY, &[NASTY.to_owned()]),
        invite(Some(NASTY), true),
        invite(None, true),
        live::none(),
        log::page(
            &log::Found {
                wrong: vec![NASTY.to_owned(), NASTY.to_owned()],
                entered: vec![NASTY.to_owned()],
                notes: vec![NASTY.to_owned()],
                shown: vec![Block::Para(NASTY.to_owned())],
            },
            facts::knowledge::Points::built_in(),
        ),
    ]);
    pages
}

#[test]
fn foreign_text_stays_text_on_every_page() {
    for page in pages() {
        assert_eq!(page.matches("<script>").count(), 1, "{page}");
        assert!(page.contains(&format!("<script>{SCRIPT}</script>")));
        assert!(!page.contains("<img"), "{page}");
        for quoted in page.split("value=\"").skip(1) {
            assert!(!quoted.split('"').next().unwrap_or_default().contains('<'), "{quoted}");
        }
    }
}

#[test]
fn a_page_needs_nothing_from_elsewhere_and_no_style_of_its_own() {
    for page in pages() {
        let ours = page.replace(SCRIPT, "").replace(style(), "");
        for word in ["http:", "https:", "url(", "@import", " src=\"", " style=", " on"] {
            let found = ours.split('<').skip(1).any(|tag| {
                let tag = tag.split('>').next().unwrap_or_default();
                tag.replace(&maud::html! { (NASTY) }.into_string(), "").contains(word)
            });
            assert!(!found, "{word}: {ours}");
        }
    }
    assert!(!style().contains("url(") && !style().contains("@import"));
}

#[test]
fn the_policy_names_the_style_and_the_script_that_are_in_the_page() {
    let page = begin(None);
    let between = |open: &str, close: &str| {
        let from = page.find(open).expect("there") + open.len();
        &page[from..from + page[from..].find(close).expect("closed")]
    };
    for text in [between("<style>", "</style>"), between("<script>", "</script>")] {
        assert!(allowed().contains(&reply::hash(text)));
    }
    assert!(page.len() < 40_000, "{} bytes", page.len());
}

#[test]
fn stop_stands_first_and_in_the_title() {
    for question in questions() {
        let page = parked(&parked_with(question), &Around::default());
        let body = page.find("<body").expect("a body");
        let stop = page.find("heat stop").expect("stop");
        assert!(page[body..stop].matches("<p").count() <= 1, "nothing stands before it");
        assert!(page.contains("<title>STOP:"));
    }
}

#[test]
fn options_have_the_keys_of_their_numbers_and_seats_those_of_their_cylinders() {
    let [list, engine, ..] = &questions()[..] else { panic!("two questions") };
    let page = parked(&parked_with(list.clone()), &Around::default());
    for index in 0..40 {
        assert!(page.contains(&format!("value=\"{index}\" data-k=\"{}\"", index + 1)), "{index}");
    }
    assert!(page.contains("role=\"search\""));
    let page = parked(&parked_with(engine.clone()), &Around::default());
    assert!(page.contains("value=\"0\" data-k=\"1\"") && page.contains("value=\"1\" data-k=\"3\""));
    assert!(page.contains("value=\"2\" data-k=\"0\""), "what is no cylinder stands below");
    assert_eq!(page.matches("class=\"gone\"").count(), 2);
}

#[test]
fn a_search_without_a_script_leaves_what_has_the_word() {
    let question = Question::Choose {
        question: "Which?".to_owned(),
        options: (0..40).map(|n| format!("answer {n} of them")).collect(),
        start: 0,
        seats: None,
    };
    let count = |find| {
        let page = parked(&parked_with(question.clone()), &Around { find, ..Around::default() });
        page.matches("name=\"choice\"").count()
    };
    assert_eq!((count(""), count(" ANSWER 39"), count("nothing")), (40, 1, 0));
}

#[test]
fn what_another_entered_is_said() {
    let question = questions().remove(0);
    let page = |meanwhile| {
        parked(&parked_with(question.clone()), &Around { meanwhile, ..Around::default() })
    };
    assert!(!page(0).contains("meanwhile: "));
    assert!(page(1).contains("meanwhile: 1 entry") && page(1).contains("action=\"/anew\""));
}
