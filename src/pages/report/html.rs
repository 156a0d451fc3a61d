//! A document as one web page: no script, no other file, a style for paper.
//!
//! Foreign text comes out as text, whatever it holds: `maud` escapes every string.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::doc::{Align, Bar, Block, Doc, Image, NoticeKind, Table, clean, clean_line};
use super::figure::{self, Figure};
use measure::base64::base64;

/// How the page looks, on a screen and on paper.
pub const STYLE: &str = include_str!("page.css");

/// Characters of a value that needs no line of its own on paper.
const SHORT: usize = 44;

/// What every page begins with, so that it fits a hand, is dark where that is wanted, and asks for nothing else.
#[must_use]
pub fn head() -> Markup {
    html! {
        meta charset="utf-8";
        meta name="viewport" content="width=device-width, initial-scale=1";
        meta name="color-scheme" content="light dark";
        // Without it a browser looks for one on the way.
        link rel="icon" href="data:,";
    }
}

/// Writes a document as a web page.
#[must_use]
pub fn render(doc: &Doc) -> String {
    let title = clean(&doc.title);
    let mut so_far = SoFar::default();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                (head())
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    h1 { (title) }
                    @for block in &doc.blocks { (piece(block, &mut so_far)) }
                    @if !doc.foot.is_empty() { footer { (clean(&doc.foot)) } }
                }
            }
        }
    };
    let mut page = page.into_string();
    page.push('\n');
    page
}

/// Writes blocks as part of another page.
#[must_use]
pub fn fragment(blocks: &[Block]) -> String {
    let mut so_far = SoFar::default();
    html! { @for block in blocks { (piece(block, &mut so_far)) } }.into_string()
}

/// What a page has had so far.
#[derive(Default)]
struct SoFar {
    pictures: usize,
    parts: usize,
}

fn piece(block: &Block, so_far: &mut SoFar) -> Markup {
    match block {
        Block::Part(text) => {
            so_far.parts += 1;
            html! { h2.part { (clean(text)) } }
        }
        Block::Heading(text) if so_far.parts > 0 => html! { h3 { (clean(text)) } },
        Block::Heading(text) => html! { h2 { (clean(text)) } },
        Block::Para(text) | Block::Foot(text) => html! { p { (clean(text)) } },
        Block::List { ordered: true, items } => html! {
            ol { @for item in items { li { (clean(item)) } } }
        },
        Block::List { ordered: false, items } => html! {
            ul { @for item in items { li { (clean(item)) } } }
        },
        Block::Table(given) => table(given),
        Block::Fields(fields) => html! {
            dl {
                @for (name, value) in fields {
                    // Two short ones share a line on paper.
                    div.long[value.chars().count() > SHORT] {
                        dt { (clean(name)) } dd { (clean(value)) }
                    }
                }
            }
        },
        Block::Bars(list) => bars(list),
        Block::Figures(list) => figures(list, &mut so_far.pictures),
        Block::Photos(photos) => html! {
            div.figures {
                @for photo in photos {
                    figure {
                        img src=(source(&photo.image)) alt=(clean(&photo.about));
                        figcaption { (clean(&photo.about)) }
                    }
                }
            }
        },
        Block::SignOff(names) => html! {
            div.sign {
                @for name in names {
                    div { span { (clean(name)) } i {} span { "date" } i.short {} }
                }
            }
        },
        Block::Notice(kind, text) => {
            let class = match kind {
                NoticeKind::Stop | NoticeKind::Watch | NoticeKind::Caution => "notice caution",
                NoticeKind::Rule | NoticeKind::Doubt | NoticeKind::Mind => "notice",
            };
            html! { p class=(class) { strong { (kind.word()) ":" } " " (clean(text)) } }
        }
        Block::Command(text) => html! { pre { code { (clean(text)) } } },
        Block::Drawing(lines) => html! {
            pre.drawing { @for line in lines { (clean_line(line)) "\n" } }
        },
    }
}

fn source(image: &Image) -> String {
    match image {
        Image::Inside { media, bytes } => format!("data:{media};base64,{}", base64(bytes)),
        Image::At(address) => address.clone(),
    }
}

fn table(table: &Table) -> Markup {
    let side = |align: Align| (align == Align::Right).then_some("right");
    html! {
        div.wide {
            table {
                thead {
                    tr {
                        @for (name, align) in &table.columns {
                            th scope="col" class=[side(*align)] { (clean(name)) }
                        }
                    }
                }
                tbody {
                    @for row in &table.rows {
                        tr.more[row.first().is_some_and(|cell| cell.trim().is_empty())] {
                            @for (index, (_, align)) in table.columns.iter().enumerate() {
                                td class=[side(*align)] {
                                    (row.get(index).map_or_else(String::new, |cell| clean(cell)))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The bar is a picture, which browsers print even where they leave out backgrounds; a style of its own
/// would be refused where a page may have only the style that it names.
fn bars(bars: &[Bar]) -> Markup {
    html! {
        div.bars {
            @for bar in bars {
                div {
                    span { (clean(&bar.label)) }
                    span.bar aria-hidden="true" {
                        svg viewBox="0 0 100 10" preserveAspectRatio="none" {
                            rect width=(format!("{:.1}", share(bar.value) * 100.0)) height="10" {}
                        }
                    }
                    span { (clean(&bar.text)) }
                }
            }
        }
    }
}

fn share(value: f64) -> f64 {
    if value.is_finite() { value.clamp(0.0, 1.0) } else { 0.0 }
}

fn figures(figures: &[Figure], pictures: &mut usize) -> Markup {
    html! {
        div.figures {
            @for figure in figures {
                @let id = { *pictures += 1; format!("figure-{pictures}") };
                figure {
                    (PreEscaped(figure::svg::inline(figure, figure::WIDTH, &id)))
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Photograph;
    use super::*;

    #[test]
    fn foreign_text_stays_text() {
        let nasty = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&";
        let mut doc = Doc::new(nasty);
        doc.blocks = vec![
            Block::Heading(nasty.to_owned()),
            Block::Para(nasty.to_owned()),
            Block::Fields(vec![(nasty.to_owned(), nasty.to_owned())]),
            Block::Command(nasty.to_owned()),
            Block::Notice(NoticeKind::Doubt, nasty.to_owned()),
            Block::SignOff(vec![nasty.to_owned()]),
            Block::Photos(vec![Photograph {
                about: nasty.to_owned(),
                image: Image::At(nasty.to_owned()),
            }]),
            Block::Bars(vec![Bar {
                label: nasty.to_owned(),
                value: f64::NAN,
                text: nasty.to_owned(),
            }]),
        ];
        let page = render(&doc);
        assert!(!page.contains("<script") && !page.contains("<img src=x"), "{page}");
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
        assert!(page.contains("width=\"0.0\""));
    }

    #[test]
    fn the_page_needs_nothing_from_elsewhere() {
        let page = render(&Doc::new("t"));
        for word in ["http:", "https:", "url(", "@import", "src="] {
            assert!(!page.contains(word), "{word}");
        }
    }
}
