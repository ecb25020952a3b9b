//! What must not hurt: a program killed while it writes, a full disk, a locked or damaged file, a newer program's.

mod support;

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::time::Duration;

use shop::{FORMAT, Store, StoreError};
use support::{booked, folder, reading};

/// How often the writer is killed, unless [`KILLS_WANTED`] says otherwise; the full count is a matter of the benchmark.
const KILLS: usize = 24;

/// So many readings are acknowledged before a kill: one before the first of them tries nothing.
const BEFORE_A_KILL: usize = 2;

/// Set to kill the writer more often: `TENUNDER_TEST_KILLS=200 cargo test -p shop --test hardship killed`.
const KILLS_WANTED: &str = "TENUNDER_TEST_KILLS";

/// Set for the process that writes until it is killed: the file to write to.
const WRITER: &str = "TENUNDER_TEST_WRITER";

/// Set for the process that writes until nothing more fits.
const FILLER: &str = "TENUNDER_TEST_FILLER";

/// Not a test of its own: run again by `killed_at_random_nothing_acknowledged_is_lost`, it writes readings and says
/// the name of each once it is acknowledged.
#[tokio::test]
async fn writer() {
    let Some(file) = std::env::var_os(WRITER) else { return };
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    loop {
        let draft = reading("0", "1.2450");
        let seen = store.job(1001).await.unwrap().seq;
        store.append_keeping(1001, seen, std::slice::from_ref(&draft)).await.unwrap();
        let mut out = std::io::stdout().lock();
        writeln!(out, "kept {}", draft.id).unwrap();
        out.flush().unwrap();
    }
}

#[tokio::test]
async fn killed_at_random_nothing_acknowledged_is_lost() {
    let file = folder("killed").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap();
    store.close().await;
    let kills = std::env::var(KILLS_WANTED).map_or(KILLS, |count| count.parse().expect("a number of kills"));
    let mut acknowledged = Vec::new();
    for round in 0..kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "writer", "--nocapture"])
            .env(WRITER, &file)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap());
        // It is killed once it writes, however long a busy machine takes to start it, and a moment after: the moments
        // differ from round to round, and what matters is that many fall within a write.
        let moment = Duration::from_millis((round as u64 * 37) % 90);
        let mut kept = 0;
        let (writes, begun) = std::sync::mpsc::channel();
        let killer = std::thread::spawn(move || {
            // Where it ends by itself nobody writes, and there is nothing to wait for.
            let _ = begun.recv();
            std::thread::sleep(moment);
            child.kill().unwrap();
            child.wait().unwrap();
        });
        for line in lines.lines().map_while(Result::ok) {
            let Some((_, id)) = line.split_once("kept ") else { continue };
            acknowledged.push(id.to_owned());
            kept += 1;
            if kept == BEFORE_A_KILL {
                writes.send(()).unwrap();
            }
        }
        drop(writes);
        killer.join().unwrap();
    }
    assert!(
        acknowledged.len() > kills,
        "only {} readings were acknowledged: the test saw too little",
        acknowledged.len()
    );
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let entries = store.entries(1001, 0).await.unwrap();
    for id in &acknowledged {
        let times = entries.iter().filter(|entry| entry.id.to_string() == *id).count();
        assert_eq!(times, 1, "{id} was acknowledged and is there {times} times");
    }
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
}

#[tokio::test]
async fn a_changed_row_is_found() {
    let file = folder("changed").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.book_in(&[booked("C-0412", "A. Miller"), reading("0", "1.2450"), reading("90", "1.2470")]).await.unwrap();
    store.close().await;
    for (change, found) in [
        ("UPDATE entry SET body = replace(body, '1.2450', '1.2440')", "entry 2 is not what was written"),
        ("DELETE FROM entry WHERE seq = 2", "entry 2 is missing"),
        ("UPDATE head SET customer = 'nobody' WHERE job = 1001", "not in step"),
    ] {
        let copy = file.with_extension("copy");
        std::fs::copy(&file, &copy).unwrap();
        let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&copy);
        let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
        sqlx::query(sqlx::AssertSqlSafe(change)).execute(&pool).await.unwrap();
        pool.close().await;
        let store = Store::open(copy.to_str().unwrap()).await.unwrap();
        let faults = store.verify().await.unwrap().faults;
        assert!(faults.iter().any(|fault| fault.contains(found)), "{change}: {faults:?}");
        store.close().await;
    }
}

#[tokio::test]
async fn files_that_are_no_records_are_refused_and_left_alone() {
    let folder = folder("refused");
    let rubbish = folder.join("rubbish.tenunder");
    std::fs::write(&rubbish, b"this is no database, however long it is. ".repeat(200)).unwrap();
    let before = std::fs::read(&rubbish).unwrap();
    let found = Store::open(rubbish.to_str().unwrap()).await;
    assert!(matches!(found, Err(StoreError::NotARecord { .. })), "{found:?}");
    assert_eq!(std::fs::read(&rubbish).unwrap(), before);

    let other = folder.join("other.tenunder");
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&other).create_if_missing(true);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    sqlx::query("CREATE TABLE stock (part TEXT)").execute(&pool).await.unwrap();
    pool.close().await;
    let before = std::fs::read(&other).unwrap();
    assert!(matches!(Store::open(other.to_str().unwrap()).await, Err(StoreError::NotARecord { .. })));
    assert_eq!(std::fs::read(&other).unwrap(), before, "not a byte of a foreign file is changed");

    let newer = folder.join("newer.tenunder");
    let store = Store::open(newer.to_str().unwrap()).await.unwrap();
    store.close().await;
    let pool =
        sqlx::SqlitePool::connect_with(sqlx::sqlite::SqliteConnectOptions::new().filename(&newer)).await.unwrap();
    sqlx::query("UPDATE record SET format = 99").execute(&pool).await.unwrap();
    pool.close().await;
    let before = std::fs::read(&newer).unwrap();
    let found = Store::open(newer.to_str().unwrap()).await;
    assert!(matches!(found, Err(StoreError::NewerFormat { found: 99, known: FORMAT })), "{found:?}");
    assert_eq!(std::fs::read(&newer).unwrap(), before, "not a byte of a newer record is changed");
    let beside: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(beside.iter().all(|name| !name.to_string_lossy().contains("-wal")), "{beside:?}");
    let says = found.unwrap_err().to_string();
    assert!(says.contains("newer"), "{says}");
    assert!(matches!(Store::open(folder.to_str().unwrap()).await, Err(StoreError::CannotOpen { .. })));
}

fn key_of(file: &std::path::Path) -> std::path::PathBuf {
    std::path::PathBuf::from(format!("{}.key", file.display()))
}

/// A hand that changes one number: said in words, in time, and nothing is counted through that is not there.
#[tokio::test]
async fn a_number_that_cannot_be_is_found_and_not_counted_through() {
    let file = folder("numbers").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    for n in 0..3 {
        store.book_in(&[booked(&format!("C-{n:04}"), "A. Miller"), reading("0", "1.2450")]).await.unwrap();
    }
    store.close().await;
    let most = i64::MAX;
    for (change, found) in [
        (format!("UPDATE record SET next_job = {most}"), "the next crank would be job 9223372036854775807"),
        ("UPDATE record SET next_job = 1000000000".to_owned(), "the last in the list is job 1003"),
        ("UPDATE record SET next_job = 1002".to_owned(), "and job 1003 is in the list"),
        ("UPDATE record SET next_job = -5".to_owned(), "the next crank would be job -5"),
        ("UPDATE record SET next_job = 1006".to_owned(), "job 1005 was booked in and is missing"),
        (format!("UPDATE head SET job = {most} WHERE job = 1003"), "job 1003 was booked in and is missing"),
        (format!("UPDATE head SET seq = {most} WHERE job = 1002"), "job 1002: the list knows"),
        (format!("UPDATE head SET seq = {} WHERE job = 1002", i64::MIN), "job 1002: the list knows"),
        (format!("UPDATE entry SET seq = {most} WHERE job = 1002 AND seq = 2"), "job 1002: entry 2 is missing"),
    ] {
        let copy = file.with_extension("copy");
        for end in ["", "-wal", "-shm", ".key"] {
            let _ = std::fs::remove_file(format!("{}{end}", copy.display()));
        }
        std::fs::copy(&file, &copy).unwrap();
        let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&copy).foreign_keys(false);
        let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
        sqlx::query(sqlx::AssertSqlSafe(change.clone())).execute(&pool).await.unwrap();
        pool.close().await;
        let store = Store::open_to_read(&copy).await.unwrap();
        let faults = store.verify().await.unwrap().faults;
        assert!(faults.iter().any(|fault| fault.contains(found)), "{change}: {faults:?}");
        assert!(faults.len() < 300, "{change}: {} faults", faults.len());
        store.jobs(&shop::Wanted::default()).await.unwrap();
        for job in [1001, 1002, 1003, 1004, most, 0, i64::MIN] {
            let _ = store.entries(job, 0).await;
            let _ = store.head(job).await;
        }
        let backup = file.with_extension("backup");
        assert!(store.backup(&backup).await.is_err() && !backup.exists(), "{change}: a copy was made of it");
        store.close().await;
        if change.contains("next_job") && !change.contains("1006") {
            std::fs::copy(key_of(&file), key_of(&copy)).unwrap();
            let store = Store::open(copy.to_str().unwrap()).await.unwrap();
            let refused = store.book_in(&[booked("C-0009", "A. Miller")]).await;
            assert!(matches!(refused, Err(StoreError::Damaged { .. })), "{change}: {refused:?}");
            store.close().await;
        }
    }
}

/// Three copies to one name in one moment: one is there and whole, two are told that it is, and nothing is left of them.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_three_backups_to_one_name_one_is_made() {
    let folder = folder("three");
    let file = folder.join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    for n in 0..5 {
        store.book_in(&[booked(&format!("C-{n:04}"), "A. Miller"), reading("0", "1.2450")]).await.unwrap();
    }
    for round in 0..5 {
        let backup = folder.join(format!("monday-{round}.backup"));
        let ended = tokio::join!(store.backup(&backup), store.backup(&backup), store.backup(&backup));
        let ended = [ended.0, ended.1, ended.2];
        assert_eq!(ended.iter().filter(|end| end.is_ok()).count(), 1, "{ended:?}");
        for end in ended.into_iter().filter_map(Result::err) {
            assert_eq!(end, StoreError::FileExists { file: backup.display().to_string() });
        }
        let there = Store::open_to_read(&backup).await.unwrap();
        assert_eq!(there.jobs(&shop::Wanted::default()).await.unwrap().all, 5);
        there.close().await;
    }
    store.close().await;
    let mut left: Vec<String> =
        std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    left.retain(|name| !name.starts_with("monday-"));
    left.sort();
    assert_eq!(left, ["shop.tenunder", "shop.tenunder.key"]);
}

/// Names that a database takes for none, or for part of an address, are names of files here.
#[tokio::test]
async fn a_record_is_in_the_file_that_is_named() {
    let folder = folder("names");
    for name in [":memory:", "a?mode=memory#%20b.tenunder", "sqlite.tenunder", "ünï code.tenunder"] {
        let file = folder.join(name);
        let place = format!("sqlite:{}", file.display());
        let none = Store::open_with(&place, &shop::Opening::default()).await;
        assert!(matches!(none, Err(StoreError::NoRecord { .. })), "{none:?}");
        let store = Store::open(&place).await.unwrap();
        store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap();
        store.close().await;
        assert!(std::fs::read(&file).unwrap().starts_with(b"SQLite format 3\0"), "{name}");
        for place in [place.clone(), format!("sqlite://{}", file.display()), file.display().to_string()] {
            let store = Store::open_reading(&place, None).await.unwrap();
            assert_eq!(store.jobs(&shop::Wanted::default()).await.unwrap().all, 1, "{place}");
            store.close().await;
        }
    }
    // Nobody writes to this pipe, and a device has no end.
    let pipe = folder.join("pipe.tenunder");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for place in [pipe.to_str().unwrap(), "/dev/zero", "/dev/null"] {
        let found = Store::open_reading(place, None).await;
        assert!(matches!(found, Err(StoreError::NotARecord { .. })), "{place:?}: {found:?}");
        let found = Store::open(place).await;
        assert!(matches!(found, Err(StoreError::NotARecord { .. })), "{place:?}: {found:?}");
    }
    for place in ["", "sqlite:", "sqlite://"] {
        let found = Store::open(place).await;
        assert!(matches!(found, Err(StoreError::CannotOpen { .. })), "{place:?}: {found:?}");
    }
}

/// Not a test of its own: run again by `a_full_disk_is_said_and_nothing_is_half_written` under a limit on the size of
/// files, it writes until it cannot, and says how far it came and what it was told.
#[tokio::test]
async fn filler() {
    let Some(file) = std::env::var_os(FILLER) else { return };
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let mut seq = 1;
    while seq < 20_000 {
        let batch: Vec<_> = (0..20).map(|k| reading("0", &format!("1.24{k:02}"))).collect();
        match store.append(1001, seq, &batch).await {
            Ok(shop::Appended::Written { seq: last }) => seq = last,
            Ok(other) => panic!("{other:?}"),
            Err(error) => {
                let mut out = std::io::stdout().lock();
                writeln!(out, "stopped at {seq}: {}", error.to_string().replace('\n', " ")).unwrap();
                return;
            }
        }
    }
}

/// A limit on the size of files stands in for a small disk: writing beyond it fails in the same place.
#[tokio::test]
async fn a_full_disk_is_said_and_nothing_is_half_written() {
    let file = folder("full").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap();
    store.close().await;
    // 400 blocks of 1024 bytes; the signal that would end the process is ignored so that the write fails instead.
    let output = Command::new("bash")
        .args(["-c", "trap '' XFSZ; ulimit -f 400; exec \"$0\" --exact filler --nocapture"])
        .arg(std::env::current_exe().unwrap())
        .env(FILLER, &file)
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let (_, stopped) = said.split_once("stopped at ").expect(&said);
    let (seq, message) = stopped.split_once(": ").unwrap();
    assert!(message.contains("disk is full"), "{message}");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let kept = store.job(1001).await.unwrap().seq;
    assert_eq!(kept.to_string(), seq, "what was acknowledged is there, and nothing of the batch that failed");
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
}

/// A file system of its own with next to no room, gone when this is dropped. Only root can make one.
struct SmallDisk(std::path::PathBuf);

impl SmallDisk {
    fn mount(name: &str, options: &str) -> Option<SmallDisk> {
        let place = folder(name);
        let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", options, "tmpfs"]).arg(&place).status();
        mounted.is_ok_and(|status| status.success()).then_some(SmallDisk(place))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("--lazy").arg(&self.0).status();
    }
}

/// On a disk that is really full: the message, nothing half written, and work goes on once there is room.
/// Where file systems cannot be mounted, the limit on the size of files above has to do.
#[tokio::test]
async fn a_small_disk_fills_up_and_is_cleared() {
    let Some(disk) = SmallDisk::mount("small", "size=1m") else { return };
    let file = disk.0.join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let mut seq = store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap().seq;
    std::fs::write(disk.0.join("ballast"), vec![0_u8; 200_000]).unwrap();
    let full = loop {
        assert!(seq < 20_000, "the disk never filled");
        let batch: Vec<_> = (0..20).map(|k| reading("0", &format!("1.24{k:02}"))).collect();
        match store.append(1001, seq, &batch).await {
            Ok(shop::Appended::Written { seq: last }) => seq = last,
            Ok(other) => panic!("{other:?}"),
            Err(error) => break error,
        }
    };
    assert_eq!(full, StoreError::DiskFull);
    let says = full.to_string();
    assert!(says.contains("disk is full") && says.contains("is safe") && says.contains("Free some space"), "{says}");
    assert_eq!(store.job(1001).await.unwrap().seq, seq, "reading goes on, and nothing is half written");
    // A backup has no room either, and leaves nothing behind.
    let backup = disk.0.join("monday.backup");
    assert_eq!(store.backup(&backup).await, Err(StoreError::DiskFull));
    let left: Vec<_> = std::fs::read_dir(&disk.0).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(left.iter().all(|name| !name.to_string_lossy().contains("backup")), "{left:?}");
    std::fs::remove_file(disk.0.join("ballast")).unwrap();
    let draft = reading("0", "1.2450");
    let written = store.append(1001, seq, &[draft]).await.unwrap();
    assert_eq!(written, shop::Appended::Written { seq: seq + 1 });
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
    store.close().await;
}

#[tokio::test]
async fn a_record_that_may_only_be_read_says_so() {
    let Some(disk) = SmallDisk::mount("read-only", "size=4m") else { return };
    let file = disk.0.join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap();
    store.close().await;
    let remounted = Command::new("mount").args(["-o", "remount,ro"]).arg(&disk.0).status().unwrap();
    assert!(remounted.success());
    let found = Store::open(file.to_str().unwrap()).await.expect_err("nothing can be written here");
    assert!(matches!(found, StoreError::ReadOnly | StoreError::CannotOpen { .. }), "{found:?}");
    let nowhere = Store::open(disk.0.join("new.tenunder").to_str().unwrap()).await.expect_err("no room for a new one");
    assert!(matches!(nowhere, StoreError::CannotOpen { .. } | StoreError::ReadOnly), "{nowhere:?}");
}

#[tokio::test]
async fn a_record_that_another_program_holds_says_so_and_works_again_afterwards() {
    let file = folder("held").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let seq = store.book_in(&[booked("C-0412", "A. Miller")]).await.unwrap().seq;
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&file);
    let other = sqlx::SqlitePool::connect_with(options).await.unwrap();
    let held = other.begin_with("BEGIN EXCLUSIVE").await.unwrap();
    let draft = reading("0", "1.2450");
    let refused = store.append(1001, seq, std::slice::from_ref(&draft)).await;
    assert_eq!(refused, Err(StoreError::Locked));
    let says = StoreError::Locked.to_string();
    assert!(says.contains("Another program") && says.contains("is safe"), "{says}");
    held.rollback().await.unwrap();
    let written = store.append(1001, seq, &[draft]).await.unwrap();
    assert_eq!(written, shop::Appended::Written { seq: seq + 1 });
    other.close().await;
    store.close().await;
}

/// Bytes spoilt in the middle of the file, as a dying disk does it: found by looking through, said when it is met, never
/// a panic, and no backup is made of it.
#[tokio::test]
async fn spoilt_bytes_are_found_wherever_they_are() {
    let folder = folder("spoilt");
    let file = folder.join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    for n in 0..12 {
        let mut batch = vec![booked(&format!("C-{n:04}"), "A. Miller")];
        batch.extend((0..40).map(|k| reading("0", &format!("1.24{k:02}"))));
        store.book_in(&batch).await.unwrap();
    }
    assert!(store.verify().await.unwrap().faults.is_empty());
    let everything = async |store: &Store| {
        let mut logs = Vec::new();
        for job in 1001..1013 {
            logs.push(store.entries(job, 0).await);
        }
        (logs, store.jobs(&shop::Wanted::default()).await)
    };
    let before = everything(&store).await;
    store.close().await;
    let sound = std::fs::read(&file).unwrap();
    let (mut met, mut rounds) = (0, 0);
    for start in (4096..sound.len() - 600).step_by(sound.len() / 24) {
        let mut bytes = sound.clone();
        bytes[start..start + 500].iter_mut().for_each(|byte| *byte ^= 0x5a);
        let spoilt = folder.join(format!("spoilt-{start}.tenunder"));
        std::fs::write(&spoilt, &bytes).unwrap();
        rounds += 1;
        let faulty = match Store::open(spoilt.to_str().unwrap()).await {
            Ok(store) => {
                let faults = store.verify().await.map(|checked| checked.faults.len()).unwrap_or(1);
                let now = everything(&store).await;
                if faults > 0 {
                    assert!(store.backup(&folder.join(format!("of-{start}.backup"))).await.is_err());
                } else {
                    assert_eq!(now, before, "what is not found must not matter");
                }
                store.close().await;
                faults > 0
            }
            Err(error) => {
                assert!(matches!(error, StoreError::Damaged { .. } | StoreError::NotARecord { .. }), "{error:?}");
                true
            }
        };
        met += usize::from(faulty);
    }
    // Some places hold nothing: pages of an index are a third empty.
    assert!(met * 2 > rounds, "{met} of {rounds}");
}

/// Work that is written together still stands alone: what is refused takes nothing else with it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_refusal_among_many_takes_nothing_with_it() {
    let file = folder("together").join("shop.tenunder");
    let store = Store::open(file.to_str().unwrap()).await.unwrap();
    let mut jobs = Vec::new();
    for n in 0..30 {
        jobs.push(store.book_in(&[booked(&format!("C-{n:04}"), "A. Miller")]).await.unwrap().job);
    }
    let mut people = Vec::new();
    for (n, job) in jobs.iter().copied().enumerate() {
        let store = store.clone();
        people.push(tokio::spawn(async move {
            let good = reading("0", "1.2450");
            let batch = match n % 3 {
                0 => vec![good],
                // Refused after a good line was already put down.
                1 => vec![good, booked("C-0999", "somebody")],
                _ => vec![good, support::draft(shop::EntryKind::Undo { entry: support::id() })],
            };
            store.append(job, 1, &batch).await
        }));
    }
    for (n, person) in people.into_iter().enumerate() {
        let ended = person.await.unwrap();
        match n % 3 {
            0 => assert_eq!(ended, Ok(shop::Appended::Written { seq: 2 })),
            _ => assert!(matches!(ended, Err(StoreError::Refused(_))), "{ended:?}"),
        }
        assert_eq!(store.job(jobs[n]).await.unwrap().seq, if n % 3 == 0 { 2 } else { 1 });
    }
    assert_eq!(store.verify().await.unwrap().faults, Vec::<String>::new());
    store.close().await;
}
