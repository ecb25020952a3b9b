//! What must not hurt: a program killed while it writes, a full disk, a locked or damaged file, a newer program's.

mod support;

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::time::Duration;

use shop::{FORMAT, Store, StoreError};
use support::{booked, folder, reading};

/// How often the writer is killed; the full count is a matter of the benchmark.
const KILLS: usize = 24;

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
    let mut acknowledged = Vec::new();
    for round in 0..KILLS {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "writer", "--nocapture"])
            .env(WRITER, &file)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap());
        // The moments differ from round to round; what matters is that many fall within a write.
        let moment = Duration::from_millis(60 + (round as u64 * 37) % 90);
        let killer = std::thread::spawn(move || {
            std::thread::sleep(moment);
            child.kill().unwrap();
            child.wait().unwrap();
        });
        acknowledged.extend(
            lines.lines().map_while(Result::ok).filter_map(|l| l.split_once("kept ").map(|(_, id)| id.to_owned())),
        );
        killer.join().unwrap();
    }
    assert!(
        acknowledged.len() > KILLS,
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
    assert!(matches!(found, Err(StoreError::Damaged { .. })), "{found:?}");
    assert_eq!(std::fs::read(&rubbish).unwrap(), before);

    let other = folder.join("other.tenunder");
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(&other).create_if_missing(true);
    let pool = sqlx::SqlitePool::connect_with(options).await.unwrap();
    sqlx::query("CREATE TABLE stock (part TEXT)").execute(&pool).await.unwrap();
    pool.close().await;
    assert!(matches!(Store::open(other.to_str().unwrap()).await, Err(StoreError::NotARecord { .. })));

    let newer = folder.join("newer.tenunder");
    let store = Store::open(newer.to_str().unwrap()).await.unwrap();
    store.close().await;
    let pool =
        sqlx::SqlitePool::connect_with(sqlx::sqlite::SqliteConnectOptions::new().filename(&newer)).await.unwrap();
    sqlx::query("UPDATE record SET format = 99").execute(&pool).await.unwrap();
    pool.close().await;
    let found = Store::open(newer.to_str().unwrap()).await;
    assert!(matches!(found, Err(StoreError::NewerFormat { found: 99, known: FORMAT })), "{found:?}");
    let says = found.unwrap_err().to_string();
    assert!(says.contains("newer"), "{says}");
    assert!(matches!(Store::open(folder.to_str().unwrap()).await, Err(StoreError::CannotOpen { .. })));
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
