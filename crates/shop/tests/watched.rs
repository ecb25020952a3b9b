//! The file of a record while it is open: deleted, replaced, linked, copied over; and at rest: one file, for its owner only.
#![cfg(unix)]

mod support;

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use shop::{Appended, Opening, Store, StoreError, Wanted};
use support::{booked, folder, reading};

fn beside(file: &Path, end: &str) -> PathBuf {
    PathBuf::from(format!("{}{end}", file.display()))
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

async fn filled(file: &Path) -> Store {
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.book_in(&[booked("C-0412", "A. Miller"), reading("0", "1.2450")]).await.unwrap();
    store
}

#[tokio::test]
async fn a_file_that_is_not_the_record_any_more_takes_nothing() {
    type Harm = fn(&Path);
    let harms: [(&str, Harm, &str); 5] = [
        ("deleted", |file| std::fs::remove_file(file).unwrap(), "deleted"),
        ("renamed", |file| std::fs::rename(file, beside(file, ".old")).unwrap(), "another name"),
        (
            "replaced",
            |file| {
                std::fs::copy(file, beside(file, ".new")).unwrap();
                std::fs::rename(beside(file, ".new"), file).unwrap();
            },
            "in its place",
        ),
        ("linked", |file| std::fs::hard_link(file, beside(file, ".too")).unwrap(), "second name"),
        (
            "copied-over",
            |file| {
                let other = file.with_file_name("monday.backup");
                std::fs::write(file, std::fs::read(other).unwrap()).unwrap();
            },
            "copied over",
        ),
    ];
    for (name, harm, words) in harms {
        let folder = folder(&format!("watched-{name}"));
        let file = folder.join("shop.tenunder");
        let store = filled(&file).await;
        // A copy of this very record, so that only the file tells that it is another.
        store.backup(&folder.join("monday.backup")).await.unwrap();
        let kept = store.append(1001, 2, &[reading("90", "1.2470")]).await.unwrap();
        assert_eq!(kept, Appended::Written { seq: 3 });
        harm(&file);
        let lost = store.append(1001, 3, &[reading("90", "1.2471")]).await.expect_err(name);
        assert!(matches!(lost, StoreError::Moved { .. }), "{name}: {lost:?}");
        assert!(lost.to_string().contains(words), "{name}: {lost}");
        assert!(matches!(store.book_in(&[booked("C-2", "next")]).await, Err(StoreError::Moved { .. })), "{name}");
        assert!(matches!(store.job(1001).await, Err(StoreError::Moved { .. })), "{name}: nor is another file shown");
        if !matches!(name, "copied-over" | "linked") {
            // What was acknowledged is in the file that is still open, and can be saved from there.
            let saved = folder.join("saved.tenunder");
            store.backup(&saved).await.unwrap();
            let back = Store::open_to_read(&saved).await.unwrap();
            assert_eq!(back.entries(1001, 0).await.unwrap().len(), 3, "{name}");
            back.close().await;
        }
        store.close().await;
    }
}

#[tokio::test]
async fn a_record_with_two_names_is_not_worked_in() {
    let folder = folder("watched-two-names");
    let file = folder.join("shop.tenunder");
    filled(&file).await.close().await;
    std::fs::hard_link(&file, folder.join("too.tenunder")).unwrap();
    let found = Store::open(file.to_str().unwrap()).await;
    assert!(matches!(found, Err(StoreError::Moved { .. })), "{found:?}");
    std::fs::remove_file(folder.join("too.tenunder")).unwrap();
    Store::open(file.to_str().unwrap()).await.unwrap().close().await;
}

/// At rest one file is the whole record: nothing stands in the log beside it a moment after the last entry.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_file_copied_at_rest_is_the_whole_record() {
    let folder = folder("watched-rest");
    let file = folder.join("shop.tenunder");
    let store = filled(&file).await;
    let log = || std::fs::metadata(beside(&file, "-wal")).map_or(0, |found| found.len());
    let by = Instant::now() + Duration::from_secs(20);
    while log() > 0 && Instant::now() < by {
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    assert_eq!(log(), 0, "while nobody works all of it is in the file");
    let copy = folder.join("copy").join("copy.tenunder");
    std::fs::create_dir(copy.parent().unwrap()).unwrap();
    std::fs::copy(&file, &copy).unwrap();
    let read = Store::open_to_read(&copy).await.unwrap();
    assert_eq!(read.entries(1001, 0).await.unwrap(), store.entries(1001, 0).await.unwrap());
    assert_eq!(read.jobs(&Wanted::default()).await.unwrap().all, 1);
    assert_eq!(read.verify().await.unwrap().faults, Vec::<String>::new());
    read.close().await;
    assert_eq!(names(copy.parent().unwrap()), ["copy.tenunder"], "reading makes nothing beside it");
    store.close().await;
    assert_eq!(names(&folder), ["copy", "shop.tenunder", "shop.tenunder.key"]);
    // While another program has it open, it is read as it is at that moment, and nothing more is left.
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.append(1001, 2, &[reading("90", "1.2470")]).await.unwrap();
    let there = names(&folder);
    let read = Store::open_to_read(&file).await.unwrap();
    assert_eq!(read.entries(1001, 0).await.unwrap().len(), 3);
    read.close().await;
    assert_eq!(names(&folder), there);
    store.close().await;
}

#[tokio::test]
async fn records_and_keys_and_backups_are_for_their_owner_only() {
    let folder = folder("watched-mode");
    let file = folder.join("shop.tenunder");
    let store = filled(&file).await;
    store.backup(&folder.join("monday.backup")).await.unwrap();
    for name in names(&folder) {
        let mode = std::fs::metadata(folder.join(&name)).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{name}");
    }
    store.close().await;
}

#[tokio::test]
async fn a_record_is_made_only_when_it_is_asked_for() {
    let folder = folder("watched-new");
    let file = folder.join("shop.tenunder");
    let place = file.to_str().unwrap();
    let found = Store::open_with(place, &Opening::default()).await;
    assert!(matches!(found, Err(StoreError::NoRecord { .. })), "{found:?}");
    assert!(matches!(Store::open_reading(place, None).await, Err(StoreError::NoRecord { .. })));
    std::fs::write(folder.join("empty.tenunder"), "").unwrap();
    let found = Store::open_with(folder.join("empty.tenunder").to_str().unwrap(), &Opening::default()).await;
    assert!(matches!(found, Err(StoreError::NotARecord { .. })), "{found:?}");
    assert_eq!(names(&folder), ["empty.tenunder"]);
    Store::open_with(place, &Opening { make: true, key: None }).await.unwrap().close().await;
    Store::open_with(place, &Opening::default()).await.unwrap().close().await;
}
