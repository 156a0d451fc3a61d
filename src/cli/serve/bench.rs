//! What belongs to the job on the bench, or comes in as one: the card, the file, photos.
//!
//! Paths are made of names that the session gave and of numbers, never of a word of a request.

use std::path::{Path, PathBuf};

use super::app::{App, bad, no_job};
use super::shelf::named;
use crate::cli::folder::make_folder;
use crate::cli::{card, letterhead, photos};
use crate::serve::keys::Device;
use crate::serve::{Reply, page, upload};
use crate::session::name_for;
use facts::job::entry::Journal;
use facts::job::file;
use facts::job::store;
use measure::units::Scale;
use pages::photo;
use pages::report::{self, Image, Photograph};

impl App {
    /// The card of the job on the bench, as `oddpot card` has it.
    pub(super) fn card(&self, device: &Device) -> Reply {
        let Some(bench) = self.table(device).and_then(|table| table.bench()) else {
            return no_job();
        };
        let context = self.basis.context();
        let view = named(&bench.name, &self.basis.store())
            .and_then(|path| store::open(&path).map_err(|error| error.to_string()))
            .and_then(|journal| {
                let view = context.view_with(self.basis.knowledge().clone(), journal);
                view.map_err(|failure| failure.in_a_line())
            });
        match view {
            Ok(view) => {
                let (mut doc, _) = card::page(&context, &view, &letterhead::read(&context));
                let scale = context.scale();
                let about = |entry| photos::about(&view.knowledge, &view.journal, entry, scale);
                if let Ok(path) = named(&bench.name, &self.basis.store()) {
                    doc.add_photos(photographs(&path, about));
                }
                Reply::page(200, page::report(&doc))
            }
            Err(problem) => bad(&problem),
        }
    }

    /// The job on the bench as one file, byte by byte.
    pub(super) fn file(&self, device: &Device) -> Reply {
        let Some(bench) = self.table(device).and_then(|table| table.bench()) else {
            return no_job();
        };
        let bytes = named(&bench.name, &self.basis.store())
            .and_then(|path| store::raw(&path).map_err(|error| error.to_string()));
        match bytes {
            Ok(body) => {
                let file = Some(format!("{}.ron", bench.name));
                let kind = "application/octet-stream";
                Reply { kind, body, file, ..Reply::word(200, "") }
            }
            Err(problem) => bad(&problem),
        }
    }

    /// The job on the bench with its path and what is in it.
    fn on_bench(&self, device: &Device) -> Result<(PathBuf, Journal), Box<Reply>> {
        let Some(bench) = self.table(device).and_then(|table| table.bench()) else {
            return Err(Box::new(no_job()));
        };
        let read = named(&bench.name, &self.basis.store()).and_then(|path| {
            let journal = store::open(&path).map_err(|error| error.to_string())?;
            Ok((path, journal))
        });
        read.map_err(|problem| Box::new(bad(&problem)))
    }

    /// The photos of the job, and the form to keep one.
    pub(super) fn photos(&self, device: &Device, wrong: Option<&str>) -> Reply {
        let (path, journal) = match self.on_bench(device) {
            Ok(found) => found,
            Err(reply) => return *reply,
        };
        let scale = journal.scale().unwrap_or(Scale::Celsius);
        let about = |entry| photos::about(self.basis.knowledge(), &journal, entry, scale);
        let entries: Vec<(usize, String)> = journal
            .standing()
            .into_iter()
            .map(|(number, entry)| {
                (number, report::entry_text(self.basis.knowledge(), &entry.what, scale))
            })
            .collect();
        let entries: Vec<(usize, String)> = entries.into_iter().rev().collect();
        let kept = photographs(&path, about);
        Reply::page(if wrong.is_some() { 400 } else { 200 }, page::photos(kept, &entries, wrong))
    }

    pub(super) fn photo(&self, device: &Device, entry: usize, number: u32) -> Reply {
        let (path, _) = match self.on_bench(device) {
            Ok(found) => found,
            Err(reply) => return *reply,
        };
        let kept = photos::list(&path);
        let kept = kept.iter().find(|kept| kept.entry == entry && kept.number == number);
        match kept.map(photos::read) {
            Some(Ok(photo)) => {
                Reply { kind: photo.kind.media(), body: photo.bytes, ..Reply::word(200, "") }
            }
            Some(Err(_)) | None => Reply::word(404, "no such photo\n"),
        }
    }

    pub(super) fn keep_photo(&self, device: &Device, kind: &str, body: &[u8]) -> Reply {
        let (path, journal) = match self.on_bench(device) {
            Ok(found) => found,
            Err(reply) => return *reply,
        };
        let kept = || -> Result<(), String> {
            let entry = upload::part(kind, body, "entry");
            let entry = entry.and_then(|text| std::str::from_utf8(text).ok()?.parse().ok());
            let entry =
                entry.filter(|entry| journal.standing().iter().any(|(number, _)| number == entry));
            let entry = entry.ok_or("choose an entry that the photo is beside")?;
            let bytes =
                upload::part(kind, body, "photo").ok_or("no photo came: choose one first")?;
            let photo = photo::taken(bytes).map_err(|error| error.to_string())?;
            photos::keep(&path, entry, &photo)
        };
        match kept() {
            Ok(()) => Reply::on("/photos"),
            Err(wrong) => self.photos(device, Some(&wrong)),
        }
    }

    /// Takes in a job as a file, under a name that nobody has.
    pub(super) fn take_in(&self, kind: &str, body: &[u8]) -> Reply {
        let again = |wrong: &str| Reply::page(400, page::take_in(Some(wrong)));
        let Some(bytes) = upload::part(kind, body, "job") else {
            return again("no file came: choose one first");
        };
        let Ok(text) = std::str::from_utf8(bytes) else {
            return again("that file is no text, and a job is one");
        };
        let journal = match file::read(text) {
            Ok(journal) => journal,
            Err(error) => return again(&format!("that file is no job that can be used: {error}")),
        };
        let folder = self.basis.store();
        let kept = make_folder(&folder).and_then(|()| {
            let listed = store::list(&folder).map_err(|error| error.to_string())?;
            let same = listed.iter().find(|l| l.job.as_ref().is_ok_and(|job| *job == journal));
            if let Some(same) = same {
                return Err(format!("the same job is here already, as {}", same.name));
            }
            let taken: Vec<String> = listed.into_iter().map(|listed| listed.name).collect();
            let name = name_for(&journal.head.vehicle, &taken);
            // Nothing is replaced, even where another takes the same name at this moment.
            store::create(&named(&name, &folder)?, &journal).map_err(|error| error.to_string())?;
            Ok(name)
        });
        match kept {
            Ok(name) => Reply::page(200, page::taken_in(&name, &[])),
            Err(problem) => again(&problem),
        }
    }
}

/// The photos of a job, each at its address here.
fn photographs(path: &Path, about: impl Fn(usize) -> String) -> Vec<Photograph> {
    let kept = photos::list(path).into_iter();
    kept.map(|kept| Photograph {
        about: about(kept.entry),
        image: Image::At(format!("/photo?e={}&n={}", kept.entry, kept.number)),
    })
    .collect()
}
