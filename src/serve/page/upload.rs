//! Pages to hand files over: photos beside entries, a job of another workshop.
//!
//! It must not look into a file; what was taken and what was wrong with it comes in.

use maud::{PreEscaped, html};

use super::frame::Frame;
use pages::report::html::fragment;
use pages::report::{Block, NoticeKind, Photograph, clean};

/// The photos of a job, and the form to keep one beside an entry; `entries` are their numbers and what they
/// say, the newest first.
#[must_use]
pub fn photos(photos: Vec<Photograph>, entries: &[(usize, String)], wrong: Option<&str>) -> String {
    let kept = [Block::Photos(photos)];
    let content = html! {
        main {
            h1 { "Photos" }
            @if let Some(wrong) = wrong {
                p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
            }
            @if entries.is_empty() {
                p { "A photo is kept beside an entry, and there is none yet." }
            } @else {
                form.answer.photo method="post" action="/photos" enctype="multipart/form-data" {
                    label for="entry" { "Beside which entry" }
                    select #entry name="entry" {
                        @for (number, text) in entries { option value=(number) { (number) ": " (clean(text)) } }
                    }
                    label for="photo" { "The photo (JPEG or PNG)" }
                    input #photo type="file" name="photo" accept="image/jpeg,image/png" required;
                    p.help { "Only the picture is kept: where, when and with what it was taken goes. It is shown on the card." }
                    button.first { "Keep it" }
                }
            }
            (PreEscaped(fragment(&kept)))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Photos", ..Frame::PLAIN }.around(&content)
}

/// The page to take in a job; `wrong` is why one was not taken.
#[must_use]
pub fn take_in(wrong: Option<&str>) -> String {
    let content = html! {
        main {
            h1 { "Take in a job" }
            @if let Some(wrong) = wrong {
                p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
            }
            p { "A job file that another workshop gave away, as `Job as a file` does here. It gets a name of "
                "its own and replaces nothing." }
            form.answer method="post" action="/take-in" enctype="multipart/form-data" {
                label for="job" { "The job file (.ron)" }
                input #job type="file" name="job" accept=".ron,text/plain" required;
                button.first { "Take it in" }
            }
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Take in a job", ..Frame::PLAIN }.around(&content)
}

/// That a job was taken in.
#[must_use]
pub fn taken_in(name: &str, notes: &[String]) -> String {
    let mut blocks = vec![Block::Para(format!("It is kept as {name}; it is among the jobs now."))];
    blocks.extend(notes.iter().map(|note| Block::Notice(NoticeKind::Doubt, note.clone())));
    let content = html! {
        main {
            h1 { "The job was taken in" }
            (PreEscaped(fragment(&blocks)))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "The job was taken in", ..Frame::PLAIN }.around(&content)
}
