//! A store of jobs in brief, with a cache beside them so that thousands are not read each time.
//!
//! The cache may be deleted at any time, may be damaged, and may be behind: a line of it is used
//! only while the file it speaks of has the size and the times it had when it was read. It must
//! not be needed for anything.

use std::collections::BTreeMap;
use std::fs::{self, Metadata};
use std::io;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serde::{Deserialize, Serialize};

use super::disk::{Disk as _, Real};
use super::{StoreError, io_error, names, open_in, write_whole};
use crate::job::brief::Brief;

/// Name of the cache; that of no job, since it begins with a point.
const NAME: &str = ".jobs.index";

/// Bytes of it that are read: some hundred thousand jobs. The last line of a longer one is broken, so
/// that it is not used.
const LARGEST: u64 = 64 * 1024 * 1024;

/// Version of its form; another is read anew.
const FORM: u32 = 3;

/// A file changed so shortly before the cache was written may have been changed again since without
/// its times telling: clocks of file systems tick as slowly as every two seconds.
const TICK: Duration = Duration::from_secs(2);

/// A job in the store in brief, with why it cannot be read if so.
#[derive(Debug)]
pub struct Scanned {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub job: Result<Brief, StoreError>,
}

/// The cache as it is written, one JSON document a line: the form, then a row for each job.
#[derive(Debug, Serialize, Deserialize)]
struct Row {
    name: String,
    stamp: Stamp,
    brief: Brief,
}

/// By which a file is taken for unchanged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
struct Stamp {
    size: u64,
    /// When its content was changed, nanoseconds since 1970.
    changed: u128,
    /// When anything about it was changed, where the system says so.
    about: i128,
}

impl Stamp {
    fn of(metadata: &Metadata) -> Self {
        #[cfg(unix)]
        let about = {
            use std::os::unix::fs::MetadataExt;
            i128::from(metadata.ctime()) * 1_000_000_000 + i128::from(metadata.ctime_nsec())
        };
        #[cfg(not(unix))]
        let about = 0;
        Self { size: metadata.len(), changed: nanoseconds(metadata.modified()), about }
    }
}

fn nanoseconds(time: io::Result<SystemTime>) -> u128 {
    let since = |time: SystemTime| time.duration_since(UNIX_EPOCH).ok();
    time.ok().and_then(since).map_or(0, |since| since.as_nanos())
}

/// All jobs of a store in brief, in order of name; a store that is not there has none.
///
/// # Errors
/// When the folder cannot be read.
pub fn scan(store: &Path) -> Result<Vec<Scanned>, StoreError> {
    let (mut known, written) = cached(store);
    let count = known.len();
    let mut found: Vec<Found> = Vec::new();
    for name in names(store)? {
        let path = store.join(format!("{name}.ron"));
        let stamp = fs::metadata(&path).map(|metadata| Stamp::of(&metadata)).ok();
        let sure = |stamp: Stamp| stamp.changed.saturating_add(TICK.as_nanos()) < written;
        let row = known.remove(&name);
        let row = row.filter(|row| stamp.is_some_and(|stamp| stamp == row.stamp && sure(stamp)));
        found.push(Found { name, path, stamp, job: row.map(|row| Ok(row.brief)) });
    }
    let read_anew = read_all(store, &mut found);
    let mut scanned = Vec::with_capacity(found.len());
    let mut rows = Vec::with_capacity(found.len());
    for Found { name, stamp, job, .. } in found {
        let Some(job) = job else { continue };
        if let (Some(stamp), Ok(brief)) = (stamp, &job) {
            rows.push(Row { name: name.clone(), stamp, brief: brief.clone() });
        }
        scanned.push(Scanned { name, job });
    }
    if read_anew || rows.len() != count {
        // Nothing hangs on it: a folder that cannot be written is read through next time as well.
        let _ = keep(store, &rows);
    }
    Ok(scanned)
}

/// A job that was found, and what is in it once that is known.
struct Found {
    name: String,
    path: PathBuf,
    stamp: Option<Stamp>,
    job: Option<Result<Brief, StoreError>>,
}

/// Fewest files worth a worker of their own.
const A_WORKER: usize = 64;
/// Most workers; a disk is not faster for more.
const WORKERS: usize = 8;

/// Reads the jobs that nothing is known of yet; false when there were none.
fn read_all(store: &Path, found: &mut [Found]) -> bool {
    let mut open_ones: Vec<&mut Found> = found.iter_mut().filter(|f| f.job.is_none()).collect();
    if open_ones.is_empty() {
        return false;
    }
    let cores = thread::available_parallelism().map_or(1, usize::from).min(WORKERS);
    let workers = cores.min(open_ones.len().div_ceil(A_WORKER));
    let share = open_ones.len().div_ceil(workers);
    // Files do not depend on each other, and each result goes where its file stands.
    thread::scope(|scope| {
        for part in open_ones.chunks_mut(share) {
            scope.spawn(move || {
                for file in part {
                    file.job = Some(open_in(store, &file.path).map(|journal| Brief::of(&journal)));
                }
            });
        }
    });
    true
}

/// Rows by name, and when they were written; none when there is no cache that can be used.
fn cached(store: &Path) -> (BTreeMap<String, Row>, u128) {
    let path = store.join(NAME);
    let read = || -> Option<(BTreeMap<String, Row>, u128)> {
        let written = nanoseconds(fs::metadata(&path).ok()?.modified());
        let bytes = Real.read(&path, LARGEST).ok()?;
        let text = String::from_utf8(bytes).ok()?;
        let (form, rest) = text.split_once('\n')?;
        if form.parse() != Ok(FORM) {
            return None;
        }
        let rows: Result<Vec<Row>, _> = rest.lines().map(serde_json::from_str::<Row>).collect();
        Some((rows.ok()?.into_iter().map(|row| (row.name.clone(), row)).collect(), written))
    };
    read().unwrap_or_default()
}

fn keep(store: &Path, rows: &[Row]) -> Result<(), StoreError> {
    let mut text = format!("{FORM}\n");
    for row in rows {
        let line = serde_json::to_string(row)
            .map_err(|error| io_error("write", store)(io::Error::other(error)))?;
        text.push_str(&line);
        text.push('\n');
    }
    write_whole(&store.join(NAME), text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use crate::job::entry::What;
    use crate::job::store::{Held, create, list};

    fn store() -> tempfile::TempDir {
        let folder = tempfile::tempdir().expect("folder");
        for name in ["van", "boat", "bus"] {
            let mut journal = fixture::journal();
            journal.head.vehicle = name.to_owned();
            create(&folder.path().join(format!("{name}.ron")), &journal).expect("created");
        }
        folder
    }

    /// As every file was long before the cache: the cache's time is put off.
    fn settle(store: &Path) {
        let later = SystemTime::UNIX_EPOCH + Duration::from_secs(4_000_000_000);
        let cache = fs::File::options().write(true).open(store.join(NAME)).expect("the cache");
        cache.set_modified(later).expect("its time");
    }

    /// The scan, which must say what reading everything says.
    #[track_caller]
    fn scanned(store: &Path) -> Vec<(String, Option<Brief>)> {
        let scanned: Vec<(String, Option<Brief>)> =
            scan(store).expect("scanned").into_iter().map(|s| (s.name, s.job.ok())).collect();
        let plain: Vec<(String, Option<Brief>)> = list(store)
            .expect("listed")
            .into_iter()
            .map(|l| (l.name, l.job.ok().map(|journal| Brief::of(&journal))))
            .collect();
        assert_eq!(scanned, plain);
        scanned
    }

    #[test]
    fn a_scan_says_what_reading_everything_says_whatever_happens_to_the_jobs() {
        let folder = store();
        let store = folder.path();
        assert_eq!(scanned(store).len(), 3);
        settle(store);
        assert_eq!(scanned(store).len(), 3);
        Held::take(&store.join("van.ron"))
            .and_then(|mut van| van.append(fixture::entry(What::Reopen)))
            .expect("added");
        assert_eq!(scanned(store)[2].1.as_ref().map(|brief| brief.entries), Some(1));
        settle(store);
        fs::remove_file(store.join("bus.ron")).expect("removed");
        fs::rename(store.join("boat.ron"), store.join("ark.ron")).expect("renamed");
        fs::write(store.join("torn.ron"), "(format: 1").expect("written");
        let now = scanned(store);
        let names: Vec<&str> = now.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["ark", "torn", "van"]);
        assert!(now[1].1.is_none());
    }

    #[test]
    fn the_cache_is_used_only_when_it_can_be_trusted() {
        let folder = store();
        let store = folder.path();
        scanned(store);
        let cache = store.join(NAME);
        let told = fs::read_to_string(&cache).expect("the cache");
        let lie = told.replace("an invented van", "a lie").replace("\"van\"", "\"lie\"");
        // The files are as young as the cache, so that it is not believed.
        fs::write(&cache, &lie).expect("written");
        scanned(store);
        // Damaged or of another form, it is nothing.
        for bad in ["", "1\n{", "2\n", "1\n{}\n", "\u{0}"] {
            fs::write(&cache, bad).expect("written");
            settle(store);
            scanned(store);
        }
        // Only where size and times are the same does it speak for the files.
        let told = fs::read_to_string(&cache).expect("the cache");
        fs::write(&cache, told.replace("cylinder 2", "cylinder 4")).expect("written");
        settle(store);
        let believed = scan(store).expect("scanned");
        let complaint = believed[0].job.as_ref().map(|brief| brief.complaint.clone());
        assert_eq!(complaint.ok().as_deref(), Some("\"cylinder 4\" reads low"));
    }

    #[cfg(unix)]
    #[cfg(unix)]
    #[test]
    fn a_cache_that_is_no_file_is_not_read() {
        let store = store();
        // Endless, and no cache of ours.
        std::os::unix::fs::symlink("/dev/zero", store.path().join(NAME)).expect("a link");
        assert_eq!(scan(store.path()).expect("scanned").len(), 3);
    }

    #[test]
    fn a_store_that_cannot_be_written_is_scanned_all_the_same() {
        use std::os::unix::fs::PermissionsExt;
        let folder = store();
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).expect("set");
        scanned(folder.path());
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).expect("set");
        assert!(scan(&folder.path().join("none")).expect("nothing there").is_empty());
    }
}
