//! `oddpot card`: the job card.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::answer::Answer;
use super::context::{Context, View};
use super::failure::Failure;
use super::{card_json, letterhead, named, output, photos};
use facts::job::read::minutes_spent;
use facts::job::timeline::Standing;
use judge::{diagnosis, limits, plan};
use measure::named_enum;
use pages::report::pdf::Paper;
use pages::report::{self, Card, CardInput, Doc, Letterhead, Style};

named_enum! {
    /// Forms of a card.
    Format, "format" {
        /// For a terminal.
        Text = "text",
        /// Markdown.
        Md = "md",
        /// A web page in one file.
        Html = "html",
        /// For paper.
        Pdf = "pdf",
    }
}

/// Write the job card, or the handover sheet of an open job
///
/// Page one is for the customer: what was wrong, what was done, how it was proven. The next sheet is
/// for the next mechanic: causes, tests, parts moved, measured depths, what to watch. The record of all
/// entries follows. A web page is one file that needs no network; a PDF brings its typeface.
///
/// `--workshop` and `--currency` are kept, and stand on every card from then on.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot card van
  oddpot card van --format pdf -o van.pdf
  oddpot card van --format html -o van.html
  oddpot card van --workshop 'Yard garage' --currency EUR -o van.pdf")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    #[command(flatten)]
    form: Form,
    /// The workshop's name, for this card and all that follow
    #[arg(long, value_name = "NAME")]
    workshop: Option<String>,
    /// The currency of prices, as EUR, for this card and all that follow
    #[arg(long, value_name = "WORD")]
    currency: Option<String>,
}

/// In which form a page is wanted, and where.
#[derive(Debug, Clone, clap::Args)]
pub(super) struct Form {
    /// Form [default: that of the file's ending, else text]
    #[arg(long, value_parser = named::<Format>(Format::NAMES))]
    format: Option<Format>,
    /// Size of paper for PDF
    #[arg(long, default_value = "a4", value_parser = named::<Paper>(Paper::NAMES))]
    paper: Paper,
    /// File to write instead of standard output; the ending .txt, .md, .html or .pdf says the form
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    force: bool,
}

impl Form {
    /// The form asked for: as said, else by the ending of the file.
    ///
    /// # Errors
    /// When the ending is that of no form.
    pub(super) fn format(&self) -> Result<Format, Failure> {
        output::form(self.format, self.output(), &FORMS)
    }

    /// The file asked for.
    pub(super) fn output(&self) -> Option<&Path> {
        self.output.as_deref()
    }

    /// Whether nothing but the usual text on standard output is wanted.
    pub(super) fn is_plain(&self) -> bool {
        self.output.is_none() && self.format.is_none_or(|format| format == Format::Text)
    }
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let (view, note) = context.view_anyway(&args.job)?;
    let mut letterhead = letterhead::read(context);
    let mut kept = None;
    if args.workshop.is_some() || args.currency.is_some() {
        if let Some(name) = &args.workshop {
            letterhead.workshop = letterhead::line(name, 0);
        }
        if let Some(word) = &args.currency {
            letterhead.currency = letterhead::line(word, 1);
        }
        let path = letterhead::keep(context, &letterhead)?;
        kept = Some(format!("kept for all cards in {}", path.display()));
    }
    let (mut doc, card) = page(context, &view, &letterhead);
    let path = context.path(&args.job)?;
    let (photos, left_out) = photos::inside(&path, &view.knowledge, &view.journal, context.scale());
    doc.add_photos(photos);
    let mut answer = put(context, &doc, &args.form)?;
    answer.json["sheet"] = json!(card_json::card(&view.knowledge, &view.timeline.engine, &card));
    Ok(answer.notes(note).notes(kept).notes(left_out))
}

/// The card of a job as a page, and what it says as data.
pub(super) fn page(context: &Context, view: &View, letterhead: &Letterhead) -> (Doc, Card) {
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let assessment = &diagnosis.assessment;
    let advice = (timeline.standing == Standing::Open).then(|| plan::advise(&diagnosis));
    let verification = plan::verify(&diagnosis);
    let limits = limits::as_set(knowledge, &view.journal);
    let input = CardInput {
        knowledge,
        journal: &view.journal,
        timeline,
        assessment,
        advice: advice.as_ref(),
        verification: &verification,
        limits: limits.as_ref(),
        spent: minutes_spent(knowledge, &view.journal),
        letterhead,
        local: &context.local,
    };
    let scale = context.scale();
    (report::card(&input, scale), Card::of(&input, scale))
}

/// A page in some form, into a file or on standard output.
pub(super) fn put(context: &Context, doc: &Doc, form: &Form) -> Result<Answer, Failure> {
    let (format, paper) = (form.format()?, form.paper);
    let Some(path) = &form.output else {
        return shown(context, doc, (format, paper));
    };
    output::write(path, &file(context, doc, (format, paper)), form.force)?;
    let said = format!("wrote {}", path.display());
    let document = json!({
        "ok": true, "said": said, "format": format, "file": path.display().to_string(),
    });
    Ok(Answer::new(said, document))
}

/// A page in some form on standard output.
fn shown(
    context: &Context,
    doc: &Doc,
    (format, paper): (Format, Paper),
) -> Result<Answer, Failure> {
    let bytes = match format {
        // A document for a program has no use for styles.
        Format::Text if !context.json => context.whole(doc).into_bytes(),
        _ => file(context, doc, (format, paper)),
    };
    on_output(
        context,
        bytes,
        format == Format::Pdf,
        |text| json!({"ok": true, "format": format, "card": text}),
    )
}

/// Bytes for standard output: text with its document, or a PDF where that can be taken.
pub(super) fn on_output(
    context: &Context,
    bytes: Vec<u8>,
    pdf: bool,
    document: impl Fn(&str) -> Value,
) -> Result<Answer, Failure> {
    if pdf && context.json {
        let said = format!("a PDF is no text ({} bytes)", bytes.len());
        return Err(Failure::usage(said).hint("write it to a file with `-o FILE`"));
    }
    if pdf && io::stdout().is_terminal() {
        return Err(Failure::usage("a PDF is nothing to read on a terminal")
            .hint("write it to a file with `-o FILE`"));
    }
    match String::from_utf8(bytes) {
        Ok(text) if !pdf => {
            let document = document(&text);
            Ok(Answer::new(text, document))
        }
        Ok(text) => Ok(Answer::raw(text.into_bytes())),
        Err(bytes) => Ok(Answer::raw(bytes.into_bytes())),
    }
}

/// A page in the form that the ending of a file's name asks for; plain text without one.
pub(super) fn file_of(context: &Context, doc: &Doc, path: &Path) -> Result<Vec<u8>, Failure> {
    Ok(file(context, doc, (output::form(None, Some(path), &FORMS)?, Paper::A4)))
}

const FORMS: output::Forms<'static, Format> = output::Forms {
    usual: Format::Text,
    endings: &[("txt", Format::Text)],
    what: "a page",
    named: ".txt, .md, .html or .pdf",
};

/// A page as the content of a file.
fn file(context: &Context, doc: &Doc, (format, paper): (Format, Paper)) -> Vec<u8> {
    match format {
        Format::Text => report::text::render(doc, context.width, Style::Plain).into_bytes(),
        Format::Md => report::markdown::render(doc).into_bytes(),
        Format::Html => report::html::render(doc).into_bytes(),
        Format::Pdf => report::pdf::render(doc, paper),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_of_a_name_says_the_form_and_none_is_passed_off_as_another() {
        let context = Context::for_tests();
        let doc = Doc::new("Card");
        let text = |name| file_of(&context, &doc, Path::new(name));
        assert!(text("card").is_ok_and(|b| b.starts_with(b"Card\n====")));
        assert!(text("card.TXT").is_ok_and(|b| b.starts_with(b"Card\n====")));
        assert!(text("card.md").is_ok_and(|b| b.starts_with(b"# Card")));
        assert!(text("card.html").is_ok_and(|b| b.starts_with(b"<!DOCTYPE html>")));
        assert!(text("card.pdf").is_ok_and(|b| b.starts_with(b"%PDF-")));
        assert!(text("card.doc").is_err());
    }
}
