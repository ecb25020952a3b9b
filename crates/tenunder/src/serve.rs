//! The pages, opened on a shop's record or on an invented shop.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use bench::{Beginning, Bench, KnownEngine, NotServed};
use shop::{Store, StoreError};

use crate::{AT_FAULT, FAILED, RecordPlace, complain, files, oxbow, record, say};

/// The port where nobody says another.
pub(crate) const USUAL_PORT: u16 = 7160;

/// What the record is waited for when the program ends.
const CLOSING: Duration = Duration::from_millis(1_500);

/// Serves the record in a file or on a server. Where nobody names one and there is none, the first page asks.
pub(crate) fn shop(place: &RecordPlace, new: bool, port: u16) -> u8 {
    let at = place.at();
    let none = shop::file_of(&at).is_some_and(|file| std::fs::symlink_metadata(file).is_err());
    if none && !new && place.record.is_none() {
        return on_runtime(begin(place, port));
    }
    on_runtime(async {
        match record::to_work_in(place, new).await {
            Ok(store) => serve(store, port, if new { Told::New } else { Told::Known }).await,
            Err(error) => refuse(&error),
        }
    })
}

/// The pages of a record that is made when the first page is told to.
async fn begin(place: &RecordPlace, port: u16) -> u8 {
    let made: Arc<OnceLock<Store>> = Arc::default();
    let (place, kept) = (place.clone(), Arc::clone(&made));
    let file = whole_name(Path::new(&place.at()));
    let make = move || {
        let (place, kept) = (place.clone(), Arc::clone(&kept));
        let store = async move {
            let store = record::to_work_in(&place, true).await?;
            say(&about(&store, &Told::New));
            Ok(bench(kept.get_or_init(|| store).clone()))
        };
        Box::pin(store) as Pin<Box<dyn Future<Output = Result<Bench, StoreError>> + Send>>
    };
    let listening = match Beginning::new(&file, make).listen(port).await {
        Ok(listening) => listening,
        Err(error) => return no_port(&error),
    };
    let stop = stopped();
    say(&format!("Open {} in this computer's browser. Ctrl+C stops it.\n", listening.address()));
    say(&crate::report::wrap(
        &format!("There is no record at {file} yet: the first page asks whether to begin one. Nothing is made before."),
        "",
        "",
    ));
    let served = listening.serve(stop).await;
    match made.get() {
        Some(store) => ended(served, store).await,
        None => served.map_or_else(|error| fail(&error), |()| crate::ANSWERED),
    }
}

/// What is said of the record when its pages are opened.
enum Told {
    /// It was there.
    Known,
    /// It was made just now.
    New,
    /// It is gone when the program ends.
    Nothing,
}

/// Serves an invented shop: in a new file that stays, or in one that is gone when the program ends.
pub(crate) fn invented_shop(keep: Option<PathBuf>, port: u16) -> u8 {
    let folder = match tempfile::Builder::new().prefix("tenunder-").tempdir() {
        Ok(folder) => folder,
        Err(error) => return fail(&error),
    };
    let told = if keep.is_some() { Told::Known } else { Told::Nothing };
    let place = match keep {
        Some(file) if file.exists() => return refuse(&StoreError::FileExists { file: file.display().to_string() }),
        Some(file) => file,
        None => folder.path().join("oxbow.tenunder"),
    };
    on_runtime(async move {
        match filled(&place.display().to_string()).await {
            Ok(store) => {
                // The folder lives as long as the pages are served.
                let served = serve(store, port, told).await;
                drop(folder);
                served
            }
            Err(error) => refuse(&error),
        }
    })
}

/// A new record with the invented shop in it.
async fn filled(place: &str) -> Result<Store, StoreError> {
    let store = Store::open(place).await?;
    oxbow::fill(&store, jiff::Timestamp::now()).await?;
    Ok(store)
}

fn on_runtime(work: impl Future<Output = u8>) -> u8 {
    match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => {
            let ended = runtime.block_on(work);
            // A verdict that is still being worked out is nobody's any more: the program does not wait for it.
            runtime.shutdown_background();
            ended
        }
        Err(error) => fail(&error),
    }
}

async fn serve(store: Store, port: u16, told: Told) -> u8 {
    let listening = match bench(store.clone()).listen(port).await {
        Ok(listening) => listening,
        Err(error) => return no_port(&error),
    };
    let stop = stopped();
    say(&format!("Open {} in this computer's browser. Ctrl+C stops it.\n", listening.address()));
    say(&about(&store, &told));
    ended(listening.serve(stop).await, &store).await
}

/// The pages over a record, with the engines that come with the program.
fn bench(store: Store) -> Bench {
    let engines = files::specifications()
        .map(|(name, text)| KnownEngine { name: name.to_owned(), text: text.to_owned() })
        .collect();
    let bench = Bench::new(store, engines);
    match files::shipped("tarn-four-worn.toml") {
        Some(example) => bench.with_example(example),
        None => bench,
    }
}

async fn ended(served: std::io::Result<()>, store: &Store) -> u8 {
    // A database that does not answer does not keep the program: what was acknowledged is safe without this.
    let _ = tokio::time::timeout(CLOSING, store.close()).await;
    served.map_or_else(|error| fail(&error), |()| crate::ANSWERED)
}

fn no_port(error: &NotServed) -> u8 {
    complain(&format!("tenunder: {error}\nStop whatever else uses it, or name another with --port.\n"));
    AT_FAULT
}

/// The name of a file from the root on: a name alone does not say in which folder somebody is.
fn whole_name(file: &Path) -> String {
    std::path::absolute(file).unwrap_or_else(|_| file.to_owned()).display().to_string()
}

/// Which record it is, and how it is copied.
fn about(store: &Store, told: &Told) -> String {
    let place = match shop::file_of(store.place()) {
        Some(file) if store.is_file() => whole_name(file),
        _ => store.place().to_owned(),
    };
    let which = match told {
        Told::Nothing => return String::new(),
        Told::Known => format!("The record is {place}."),
        Told::New => format!("The record is {place}, new and empty until the first crank is booked in."),
    };
    let mut says = format!(
        "{which} While it is open, copy it with tenunder backup FILE or under Shop, Record, not by copying the file.\n"
    );
    match store.key() {
        Some((name, true)) => {
            says += &format!("It is sealed with the key {name}: keep a copy of that file elsewhere.\n")
        }
        Some((name, false)) => {
            says += &format!(
                "Its key {name} is not beside it: it can be read, and nothing can be written until it is back.\n"
            );
        }
        None => says += "It is not sealed with a key.\n",
    }
    crate::report::wrap(says.trim_end(), "", "")
}

/// Waits until somebody wants the program to end: from the keyboard, by the system, or by closing its terminal. From the
/// call on, not from when it is first waited for.
#[cfg(unix)]
fn stopped() -> impl Future<Output = ()> + Send + 'static {
    use tokio::signal::unix::{SignalKind, signal};
    let mut kinds = vec![SignalKind::interrupt(), SignalKind::terminate()];
    if !outlives_its_terminal() {
        kinds.push(SignalKind::hangup());
    }
    // Where a signal cannot be waited for, the program is stopped by whoever started it.
    let mut signals: Vec<_> = kinds.into_iter().filter_map(|kind| signal(kind).ok()).collect();
    std::future::poll_fn(move |context| match signals.iter_mut().any(|signal| signal.poll_recv(context).is_ready()) {
        true => std::task::Poll::Ready(()),
        false => std::task::Poll::Pending,
    })
}

#[cfg(not(unix))]
fn stopped() -> impl Future<Output = ()> + Send + 'static {
    async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    }
}

/// Whether whoever started the program wants it to go on when the terminal is closed, as with `nohup`: the signal of that is
/// ignored then. Linux says so in a mask, of which the lowest bit is signal 1 (proc(5), `SigIgn`).
#[cfg(unix)]
fn outlives_its_terminal() -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:")).unwrap_or_default();
    u64::from_str_radix(mask.trim(), 16).is_ok_and(|mask| mask & 1 == 1)
}

fn refuse(error: &StoreError) -> u8 {
    complain(&format!("tenunder: {error}\n"));
    if matches!(error, StoreError::Fault { .. }) { FAILED } else { AT_FAULT }
}

fn fail(error: &std::io::Error) -> u8 {
    // Where even this cannot be written there is nobody left to tell.
    let _ = writeln!(std::io::stderr().lock(), "tenunder: {error}");
    FAILED
}
