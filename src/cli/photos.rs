//! Photos beside the entries of a job, in a folder beside its file: `van.photos/3-1.jpg` is the first of
//! entry 3.
//!
//! What lies there is taken for a photo only after the same look as at one that is sent, for the folder
//! may have come from a stranger. It must not change a job.

use std::fs::{self, File};
use std::io::Read as _;
use std::path::{Path, PathBuf};

use super::folder::make_folder;
use facts::job::entry::Journal;
use facts::job::store;
use facts::knowledge::Knowledge;
use measure::units::Scale;
use pages::photo::{self, Kind, LARGEST, Photo};
use pages::report::{self, Image, Photograph};

/// Photos of one entry, and of one job.
const OF_ENTRY: u32 = 8;
const OF_JOB: usize = 60;

/// Where a photo is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Kept {
    /// The entry that it is beside.
    pub(super) entry: usize,
    /// Which of that entry, from 1.
    pub(super) number: u32,
    path: PathBuf,
}

fn folder(job: &Path) -> PathBuf {
    job.with_extension("photos")
}

fn path(job: &Path, entry: usize, number: u32, kind: Kind) -> PathBuf {
    folder(job).join(format!("{entry}-{number}.{}", kind.ending()))
}

/// The photos of a job by entry; none where there is no folder.
pub(super) fn list(job: &Path) -> Vec<Kept> {
    let mut kept: Vec<Kept> = store::listed(&folder(job))
        .unwrap_or_default()
        .into_iter()
        .filter_map(|path| {
            let ending = path.extension()?.to_str()?;
            if ending != Kind::Jpeg.ending() && ending != Kind::Png.ending() {
                return None;
            }
            let (entry, number) = path.file_stem()?.to_str()?.split_once('-')?;
            let (entry, number) = (entry.parse().ok()?, number.parse().ok()?);
            Some(Kept { entry, number, path })
        })
        .collect();
    kept.sort();
    kept
}

/// Reads a photo.
///
/// # Errors
/// When it cannot be read, or is none.
pub(super) fn read(kept: &Kept) -> Result<Photo, String> {
    let failed = |error: std::io::Error| format!("could not read {}: {error}", kept.path.display());
    // A pipe would be waited for, for ever; a link may lead anywhere.
    if !fs::symlink_metadata(&kept.path).map_err(failed)?.is_file() {
        return Err(format!("{} is no plain file", kept.path.display()));
    }
    let mut bytes = Vec::new();
    let most = u64::try_from(LARGEST).unwrap_or(u64::MAX).saturating_add(1);
    File::open(&kept.path).map_err(failed)?.take(most).read_to_end(&mut bytes).map_err(failed)?;
    photo::taken(&bytes).map_err(|error| format!("{}: {error}", kept.path.display()))
}

/// Keeps a photo beside an entry.
///
/// # Errors
/// When there are as many as there may be, or it cannot be written; nothing is replaced.
pub(super) fn keep(job: &Path, entry: usize, photo: &Photo) -> Result<(), String> {
    let there = list(job);
    if there.len() >= OF_JOB {
        return Err(format!("the job has {OF_JOB} photos, and no more are kept"));
    }
    make_folder(&folder(job))?;
    let taken = there.iter().filter(|kept| kept.entry == entry).map(|kept| kept.number).max();
    for number in taken.unwrap_or(0) + 1..=OF_ENTRY {
        match store::write_new(&path(job, entry, number, photo.kind), &photo.bytes) {
            // Another has just kept one.
            Err(store::StoreError::Exists(_)) => {}
            other => return other.map_err(|error| error.to_string()),
        }
    }
    Err(format!("entry {entry} has {OF_ENTRY} photos, and no more are kept"))
}

/// What a photo is beside, in words.
pub(super) fn about(
    knowledge: &Knowledge,
    journal: &Journal,
    entry: usize,
    scale: Scale,
) -> String {
    match entry.checked_sub(1).and_then(|index| journal.entries.get(index)) {
        Some(found) => {
            format!("Entry {entry}: {}", report::entry_text(knowledge, &found.what, scale))
        }
        None => format!("Entry {entry}"),
    }
}

/// The photos of a job for a page that holds them; what is none is left out, and said.
pub(super) fn inside(
    job: &Path,
    knowledge: &Knowledge,
    journal: &Journal,
    scale: Scale,
) -> (Vec<Photograph>, Vec<String>) {
    let (mut photos, mut notes) = (Vec::new(), Vec::new());
    for kept in list(job).iter().take(OF_JOB) {
        match read(kept) {
            Ok(photo) => photos.push(Photograph {
                about: about(knowledge, journal, kept.entry, scale),
                image: Image::Inside { media: photo.kind.media(), bytes: photo.bytes },
            }),
            Err(problem) => notes.push(format!("a photo was left out: {problem}")),
        }
    }
    (photos, notes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photo() -> Photo {
        let mut bytes = vec![0xff, 0xd8];
        bytes.extend([0xff, 0xc0, 0, 11, 8, 0, 1, 0, 1, 1, 1, 0x11, 0]);
        bytes.extend([0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 7, 0xff, 0xd9]);
        photo::taken(&bytes).expect("a photo")
    }

    #[test]
    fn photos_are_kept_in_order_and_bounded_and_replace_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let job = folder.path().join("van.ron");
        assert!(list(&job).is_empty());
        for _ in 0..OF_ENTRY {
            keep(&job, 3, &photo()).expect("kept");
        }
        assert!(keep(&job, 3, &photo()).is_err());
        keep(&job, 1, &photo()).expect("kept");
        let there: Vec<(usize, u32)> = list(&job).iter().map(|k| (k.entry, k.number)).collect();
        assert_eq!(there[..3], [(1, 1), (3, 1), (3, 2)]);
        assert_eq!(read(&list(&job)[0]), Ok(photo()));
    }

    #[cfg(unix)]
    #[test]
    fn what_lies_there_and_is_no_photo_is_not_shown() {
        let folder = tempfile::tempdir().expect("a folder");
        let job = folder.path().join("van.ron");
        let photos = folder.path().join("van.photos");
        fs::create_dir(&photos).expect("a folder");
        fs::write(photos.join("1-1.jpg"), "<script>alert(1)</script>").expect("written");
        std::os::unix::fs::symlink("/etc/passwd", photos.join("1-2.jpg")).expect("a link");
        std::os::unix::fs::symlink("/dev/zero", photos.join("1-3.png")).expect("a link");
        for name in ["x.jpg", "1-x.jpg", "1-4.html", "-1.jpg", "1.jpg"] {
            fs::write(photos.join(name), photo().bytes).expect("written");
        }
        let there = list(&job);
        assert_eq!(there.len(), 3);
        assert!(there.iter().all(|kept| read(kept).is_err()));
    }
}
