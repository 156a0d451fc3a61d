//! Jobs on a real disk: names, locks, what others saved meanwhile, links, permissions.

use super::*;
use crate::fixture;
use crate::job::brief::Brief;
use crate::job::entry::What;

#[test]
fn names_stay_in_the_store_and_paths_are_taken_as_given() {
    let store = Path::new("store");
    let name = |job| locate(job, store).map_err(|e| e.to_string());
    assert_eq!(name("van 3"), Ok(store.join("van 3.ron")));
    assert_eq!(name("Käfer_1.2"), Ok(store.join("Käfer_1.2.ron")));
    assert_eq!(name("./van"), Ok(PathBuf::from("./van")));
    assert_eq!(name("van.ron"), Ok(PathBuf::from("van.ron")));
    for bad in ["", ".", "..", ".van", "van?", " van", "a:b", "a\nb"] {
        assert!(name(bad).is_err(), "{bad}");
    }
}

#[test]
fn entries_are_added_and_nothing_else_is_left_behind() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("van.ron");
    create(&path, &fixture::journal()).expect("created");
    assert!(matches!(create(&path, &fixture::journal()), Err(StoreError::Exists(_))));
    let mut held = Held::take(&path).expect("held");
    assert_eq!(held.append(fixture::entry(What::Reopen)).expect("added"), 1);
    assert_eq!(held.append(fixture::entry(What::Recorded)).expect("added"), 2);
    assert_eq!(&open(&path).expect("read"), held.journal());
    let mut left: Vec<_> = fs::read_dir(folder.path())
        .expect("folder")
        .map(|item| item.expect("item").file_name())
        .collect();
    left.sort();
    assert_eq!(left, ["van.ron", "van.ron.lock"]);
}

#[test]
fn a_second_writer_is_kept_out_until_the_first_lets_go() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("van.ron");
    create(&path, &fixture::journal()).expect("created");
    let first = Held::take(&path).expect("held");
    let error = Held::take(&path).expect_err("held").to_string();
    let process = format!(" (process {}", std::process::id());
    assert!(error.contains(&process) && error.ends_with(" UTC)"), "{error}");
    assert!(open(&path).is_ok(), "reading needs no lock");
    drop(first);
    assert!(Held::take(&path).is_ok());
}

#[test]
fn what_an_editor_saved_meanwhile_is_not_lost() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("van.ron");
    create(&path, &fixture::journal()).expect("created");
    let mut held = Held::take(&path).expect("held");
    let mut edited = fixture::journal();
    edited.entries.push(fixture::entry(What::LoadConfirmed));
    fs::write(&path, file::write(&edited).expect("text")).expect("saved");
    assert_eq!(held.append(fixture::entry(What::Reopen)).expect("added"), 2);
    fs::write(&path, "(broken").expect("saved");
    assert!(held.append(fixture::entry(What::Reopen)).is_err());
    assert_eq!(fs::read_to_string(&path).expect("read"), "(broken");
}

#[test]
fn nothing_is_added_to_a_file_that_lost_what_was_entered() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("van.ron");
    create(&path, &fixture::journal()).expect("created");
    let older = fs::read(&path).expect("read");
    let mut held = Held::take(&path).expect("held");
    held.append(fixture::entry(What::Reopen)).expect("added");
    // As a service does that brings an older copy from another machine.
    fs::write(&path, &older).expect("saved");
    let error = held.append(fixture::entry(What::Recorded)).expect_err("replaced");
    assert!(matches!(error, StoreError::Replaced(_)), "{error}");
    assert_eq!(fs::read(&path).expect("read"), older);
    // What was entered here can still be had.
    assert_eq!(held.journal().entries.len(), 1);
}

#[cfg(unix)]
#[test]
fn a_lock_that_is_no_file_is_not_waited_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("van.ron");
    create(&path, &fixture::journal()).expect("created");
    fs::remove_file(folder.path().join("van.ron.lock")).expect("removed");
    let made =
        std::process::Command::new("mkfifo").arg(folder.path().join("van.ron.lock")).status();
    if made.is_ok_and(|made| made.success()) {
        let error = Held::take(&path).expect_err("no lock").to_string();
        assert!(error.contains("it is no plain file"), "{error}");
    }
}

#[cfg(unix)]
#[test]
fn a_lock_that_is_a_link_leads_nowhere() {
    let folder = tempfile::tempdir().expect("folder");
    let (path, other) = (folder.path().join("van.ron"), folder.path().join("other"));
    create(&path, &fixture::journal()).expect("created");
    fs::remove_file(folder.path().join("van.ron.lock")).expect("removed");
    fs::write(&other, "precious").expect("saved");
    std::os::unix::fs::symlink(&other, folder.path().join("van.ron.lock")).expect("link");
    let error = Held::take(&path).expect_err("refused").to_string();
    assert!(error.contains("it is a link, which no lock is"), "{error}");
    assert_eq!(fs::read_to_string(&other).expect("read"), "precious");
}

#[cfg(unix)]
#[test]
fn permissions_and_links_are_kept() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("folder");
    let (path, link) = (folder.path().join("van.ron"), folder.path().join("l.ron"));
    create(&path, &fixture::journal()).expect("created");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("set");
    std::os::unix::fs::symlink(&path, &link).expect("link");
    let mut held = Held::take(&link).expect("held");
    held.append(fixture::entry(What::Reopen)).expect("added");
    let mode = fs::metadata(&path).expect("there").permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
    assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
}

#[test]
fn a_store_lists_its_jobs_and_the_broken_ones_too() {
    let folder = tempfile::tempdir().expect("folder");
    assert!(list(&folder.path().join("none")).expect("empty").is_empty());
    create(&folder.path().join("b.ron"), &fixture::journal()).expect("created");
    fs::write(folder.path().join("a.ron"), "(").expect("saved");
    fs::write(folder.path().join("notes.txt"), "").expect("saved");
    let listed = list(folder.path()).expect("listed");
    let brief: Vec<_> = listed.iter().map(|l| (&*l.name, l.job.is_ok())).collect();
    assert_eq!(brief, [("a", false), ("b", true)]);
    let scanned = scan(folder.path()).expect("scanned");
    assert!(scanned[0].job.is_err());
    assert_eq!(scanned[1].job.as_ref().ok(), Some(&Brief::of(&fixture::journal())));
}
