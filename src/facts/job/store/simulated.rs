//! A disk that fails on request and forgets what was not flushed, and the promise checked on it.
//!
//! Every call in turn fails, writes short, runs out of space, or is the last before the power
//! goes. After a cut each file may hold what was flushed, all that was written or a torn piece
//! of it, and each name may lead where it led at the last flush of its folder or where it led
//! just now: every combination is looked at.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

use super::disk::Disk;
use super::whole::{Target, write};
use super::{StoreError, file, open_on};
use crate::fixture;
use crate::job::entry::{Entry, Journal, What};

/// What happens at one call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// Nothing is done.
    Refused,
    /// Half of it is written, then an error.
    Short,
    /// As `Short`, for want of space.
    NoSpace,
    /// The power goes before it.
    CutBefore,
    /// The power goes after it.
    CutAfter,
}

const FAULTS: [Fault; 5] =
    [Fault::Refused, Fault::Short, Fault::NoSpace, Fault::CutBefore, Fault::CutAfter];

#[derive(Debug, Clone, Default)]
struct Kept {
    written: Vec<u8>,
    flushed: Vec<u8>,
}

#[derive(Debug, Clone, Default)]
struct State {
    files: Vec<Kept>,
    names: BTreeMap<PathBuf, usize>,
    flushed_names: BTreeMap<PathBuf, usize>,
}

#[derive(Debug, Default)]
struct Simulated {
    state: RefCell<State>,
    calls: Cell<usize>,
    fault: Option<(usize, Fault)>,
    /// Flushes that are only said to have been done, to see that the checks can fail.
    lies: bool,
    cut: Cell<bool>,
}

impl Simulated {
    fn from(state: State) -> Self {
        Self { state: RefCell::new(state), ..Self::default() }
    }

    /// Counts the call, and does `act` wholly, by half or not at all.
    fn call<T>(&self, act: impl FnOnce(&mut State, bool) -> io::Result<T>) -> io::Result<T> {
        let number = self.calls.get();
        self.calls.set(number + 1);
        let fault = self.fault.and_then(|(at, fault)| (at == number).then_some(fault));
        let gone = || io::Error::other("the power is gone");
        if self.cut.get() {
            return Err(gone());
        }
        let mut state = self.state.borrow_mut();
        match fault {
            None => act(&mut state, true),
            Some(Fault::Refused) => Err(io::Error::from(io::ErrorKind::PermissionDenied)),
            Some(Fault::Short) => {
                act(&mut state, false)?;
                Err(io::Error::other("input/output error"))
            }
            Some(Fault::NoSpace) => {
                act(&mut state, false)?;
                Err(io::Error::from(io::ErrorKind::StorageFull))
            }
            Some(Fault::CutBefore) => {
                self.cut.set(true);
                Err(gone())
            }
            Some(Fault::CutAfter) => {
                act(&mut state, true)?;
                self.cut.set(true);
                Err(gone())
            }
        }
    }
}

impl Disk for Simulated {
    type Temporary = usize;

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        self.call(|state, whole| {
            let &file = state.names.get(path).ok_or(io::ErrorKind::NotFound)?;
            let bytes = &state.files[file].written;
            let most = usize::try_from(limit).unwrap_or(usize::MAX).min(bytes.len());
            Ok(bytes[..if whole { most } else { most / 2 }].to_vec())
        })
    }

    fn temporary(&self, folder: &Path, prefix: &str) -> io::Result<usize> {
        self.call(|state, whole| {
            let file = state.files.len();
            if whole {
                state.files.push(Kept::default());
                state.names.insert(folder.join(format!("{prefix}{file}")), file);
            }
            Ok(file)
        })
    }

    fn write(&self, temporary: &mut usize, bytes: &[u8]) -> io::Result<()> {
        let file = *temporary;
        self.call(|state, whole| {
            let upto = if whole { bytes.len() } else { bytes.len() / 2 };
            state.files[file].written.extend_from_slice(&bytes[..upto]);
            Ok(())
        })
    }

    fn permit_like(&self, _: &usize, _: &Path) -> io::Result<()> {
        self.call(|_, _| Ok(()))
    }

    fn flush(&self, temporary: &usize) -> io::Result<()> {
        let (file, lies) = (*temporary, self.lies);
        self.call(|state, whole| {
            let kept = &mut state.files[file];
            let upto = if whole { kept.written.len() } else { kept.written.len() / 2 };
            if !lies {
                kept.flushed = kept.written[..upto].to_vec();
            }
            Ok(())
        })
    }

    fn place(&self, temporary: usize, path: &Path, replace: bool) -> io::Result<()> {
        self.call(|state, whole| {
            if !replace && state.names.contains_key(path) {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            // A rename is done or not; there is no half of it.
            if whole {
                state.names.retain(|_, file| *file != temporary);
                state.names.insert(path.to_owned(), temporary);
            }
            Ok(())
        })
    }

    fn flush_folder(&self, _: &Path) -> io::Result<()> {
        let lies = self.lies;
        self.call(|state, whole| {
            if whole && !lies {
                state.flushed_names = state.names.clone();
            }
            Ok(())
        })
    }
}

/// What may be found at a path after the power came back: nothing, or bytes.
fn after_the_cut(state: &State, path: &Path) -> Vec<Option<Vec<u8>>> {
    let mut found = Vec::new();
    for names in [&state.names, &state.flushed_names] {
        let Some(&file) = names.get(path) else {
            found.push(None);
            continue;
        };
        let Kept { written, flushed } = &state.files[file];
        found.push(Some(flushed.clone()));
        if written != flushed {
            // What was not flushed may be there, in part, or as a hole of zeros.
            found.push(Some(written.clone()));
            found.push(Some(written[..written.len() / 2].to_vec()));
            found.push(Some(vec![0; written.len()]));
        }
    }
    found
}

/// Reads and adds, as a session does that has the job in hand.
fn append_on(disk: &impl Disk, path: &Path, entry: Entry) -> Result<Journal, StoreError> {
    let known = open_on(disk, path)?;
    super::held::append_on(disk, path, &known, entry)
}

fn path() -> PathBuf {
    PathBuf::from("store/van.ron")
}

/// A disk with a job on it, everything flushed.
fn with_job(journal: &Journal) -> State {
    let disk = Simulated::default();
    write(&disk, &path(), journal, Target::New).expect("written");
    disk.state.into_inner()
}

/// Runs an append with a fault; gives whether it was acknowledged, and what may be found after.
fn append(before: &State, at: usize, fault: Fault, lies: bool) -> (bool, Vec<Option<Vec<u8>>>) {
    let disk = Simulated { fault: Some((at, fault)), lies, ..Simulated::from(before.clone()) };
    let done = append_on(&disk, &path(), fixture::entry(What::Recorded)).is_ok();
    let state = disk.state.into_inner();
    if disk.cut.get() {
        (done, after_the_cut(&state, &path()))
    } else {
        let file = state.names.get(&path()).copied();
        (done, vec![file.map(|file| state.files[file].written.clone())])
    }
}

/// Journals that the bytes found stand for; an error is a broken promise.
fn journals(found: &[Option<Vec<u8>>]) -> Result<Vec<Journal>, String> {
    found
        .iter()
        .map(|bytes| {
            let bytes = bytes.as_ref().ok_or("the job is gone")?;
            let text = std::str::from_utf8(bytes).map_err(|e| e.to_string())?;
            file::read(text).map_err(|e| e.to_string())
        })
        .collect()
}

/// Calls that an undisturbed append makes.
fn calls(before: &State) -> usize {
    let disk = Simulated::from(before.clone());
    append_on(&disk, &path(), fixture::entry(What::Recorded)).expect("appended");
    disk.calls.get()
}

#[expect(clippy::print_stderr, reason = "says what was tried, for the record")]
#[test]
fn an_entry_is_wholly_there_or_not_at_all_whatever_fails() {
    let old = fixture::long_journal();
    let mut new = old.clone();
    new.entries.push(fixture::entry(What::Recorded));
    let before = with_job(&old);
    let calls = calls(&before);
    assert!(calls >= 6, "the shim sees every call: {calls}");
    let mut looked_at = 0;
    for at in 0..calls {
        for fault in FAULTS {
            let (done, found) = append(&before, at, fault, false);
            let found = journals(&found).unwrap_or_else(|e| panic!("{fault:?} at {at}: {e}"));
            for journal in found {
                looked_at += 1;
                assert!(journal == old || journal == new, "{fault:?} at call {at}");
                assert!(!done || journal == new, "acknowledged and lost: {fault:?} at call {at}");
            }
        }
    }
    assert!(looked_at >= calls * FAULTS.len());
    eprintln!(
        "{calls} file calls of an append, each failing in {} ways: {looked_at} disks looked at, 0 \
         entries lost, 0 torn",
        FAULTS.len()
    );
}

#[test]
fn what_was_acknowledged_outlives_a_cut_right_after() {
    let old = fixture::journal();
    let disk = Simulated::from(with_job(&old));
    let new = append_on(&disk, &path(), fixture::entry(What::Recorded)).expect("appended");
    for journal in journals(&after_the_cut(&disk.state.borrow(), &path())).expect("whole") {
        assert_eq!(journal, new);
    }
}

#[test]
fn a_disk_that_lies_about_flushing_is_found_out() {
    // The checks above are worth something only if they can fail.
    let old = fixture::journal();
    let before = with_job(&old);
    let broken = (0..calls(&before)).any(|at| {
        let (_, found) = append(&before, at, Fault::CutAfter, true);
        journals(&found).is_err()
    });
    assert!(broken);
}

#[test]
fn a_new_job_is_there_whole_or_not_at_all() {
    let journal = fixture::journal();
    for at in 0..6 {
        for fault in FAULTS {
            let disk = Simulated { fault: Some((at, fault)), ..Simulated::default() };
            let done = write(&disk, &path(), &journal, Target::New).is_ok();
            let cut = disk.cut.get();
            let state = disk.state.into_inner();
            let found = if cut {
                after_the_cut(&state, &path())
            } else {
                vec![state.names.get(&path()).map(|&f| state.files[f].written.clone())]
            };
            for bytes in found {
                assert!(!done || bytes.is_some(), "{fault:?} at {at}");
                if let Some(bytes) = bytes {
                    let found = journals(&[Some(bytes)]).expect("whole");
                    assert_eq!(found[0], journal, "{fault:?} at {at}");
                }
            }
        }
    }
}

#[test]
fn nothing_is_put_in_the_place_of_a_job() {
    let disk = Simulated::from(with_job(&fixture::long_journal()));
    assert!(write(&disk, &path(), &fixture::journal(), Target::New).is_err());
    assert_eq!(open_on(&disk, &path()).expect("there"), fixture::long_journal());
}
