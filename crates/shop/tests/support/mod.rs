//! What the tests of the record share: drafts to write, and a PostgreSQL of their own.
#![allow(dead_code, reason = "each test binary uses its own part")]

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use shop::{BookedIn, Draft, EntryId, EntryKind, Row, Value, fresh_id};

/// A folder of its own for a test, empty.
pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder in the build folder");
    folder
}

pub(crate) fn id() -> EntryId {
    fresh_id().expect("random numbers")
}

pub(crate) fn draft(kind: EntryKind) -> Draft {
    Draft::new(id(), "Pat", "2026-11-25T09:30:00Z", kind)
}

/// Books in a single with its specification inside the sheet.
pub(crate) fn booked(mark: &str, customer: &str) -> Draft {
    let specification = Value::from_text(
        "specification = 1\nname = \"Wren, a test\"\nunits = \"in\"\nthrow = 1.25\n[main]\ncount = 2\npositions = [0, 4]\n\
         length = 1.2\nsize = [1.4990, 1.5000]\nundersizes = [0.010, 0.020]\n[pin]\ncount = 1\nangles = [0]\n\
         positions = [2]\nlength = 1.1\nsize = [1.2490, 1.2500]\nundersizes = [0.010, 0.020]\n",
    )
    .expect("a sound specification");
    draft(EntryKind::BookedIn(BookedIn {
        mark: mark.into(),
        customer: customer.into(),
        telephone: "01792 446 118".into(),
        crank: "Wren".into(),
        promised: None,
        sheet: Value::table([("units", Value::from("in")), ("specification", specification)]),
        example: false,
    }))
}

/// A reading on the pin, typed.
pub(crate) fn reading(plane: &str, size: &str) -> Draft {
    draft(EntryKind::Reading(Row::typed(Value::table([
        ("journal", Value::from("pin 1")),
        ("at", Value::from("middle")),
        ("plane", Value::typed(plane)),
        ("size", Value::typed(size)),
    ]))))
}

/// A PostgreSQL server on loopback with a cluster in a folder that goes with it.
pub(crate) struct Postgres {
    binaries: PathBuf,
    data: PathBuf,
    port: u16,
}

impl Postgres {
    /// Makes a cluster and starts it.
    ///
    /// PostgreSQL refuses to run as root, so there it runs as `nobody`.
    pub(crate) fn start(name: &str) -> Postgres {
        Postgres::start_at(name, "127.0.0.1", |_| String::new())
    }

    /// The same on these addresses of this computer, with what `prepare` says once it has seen the folder.
    fn start_at(name: &str, addresses: &str, prepare: impl FnOnce(&Postgres) -> String) -> Postgres {
        let binaries = binaries();
        let data = std::env::temp_dir().join(format!("tenunder-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&data);
        std::fs::create_dir_all(&data).expect("a folder for the cluster");
        if is_root() {
            run(Command::new("chown").arg("nobody").arg(&data));
        }
        let port = TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).expect("a free port").port();
        let server = Postgres { binaries, data, port };
        run(server
            .command("initdb")
            .args(["--auth=trust", "--username=tenunder", "--no-sync", "--pgdata"])
            .arg(&server.data));
        let more = prepare(&server);
        let options = format!("-h {addresses} -p {port} -k {} {more}", server.data.display());
        let log = server.data.join("log");
        run(server
            .command("pg_ctl")
            .args(["--wait", "--timeout=60", "-o", &options, "-l"])
            .arg(log)
            .args(["-D"])
            .arg(&server.data)
            .arg("start"));
        server
    }

    /// The address of the cluster's database.
    pub(crate) fn address(&self) -> String {
        format!("postgres://tenunder@127.0.0.1:{}/postgres", self.port)
    }

    /// A server that is reached over the network: with TLS, a certificate for `host` by an authority made here (`ca.pem`
    /// in `folder`), and a password from whoever comes that way. Who comes unencrypted is let in unasked, so that
    /// it is never the server that refuses.
    pub(crate) fn start_with_tls(name: &str, host: &str, folder: &Path) -> Postgres {
        authority(folder, "ca");
        let (key, signed) = (folder.join("server.key"), folder.join("server.pem"));
        let names = match host.parse::<std::net::IpAddr>() {
            Ok(address) => format!("subjectAltName=IP:{address}"),
            Err(_) => format!("subjectAltName=DNS:{host}"),
        };
        let mut openssl = Command::new("openssl");
        openssl.args([
            "req",
            "-x509",
            "-newkey",
            "ec",
            "-pkeyopt",
            "ec_paramgen_curve:prime256v1",
            "-nodes",
            "-days",
            "2",
        ]);
        openssl.args(["-subj", "/CN=the server", "-addext", &names, "-addext", "basicConstraints=critical,CA:FALSE"]);
        openssl.arg("-CA").arg(folder.join("ca.pem")).arg("-CAkey").arg(folder.join("ca.key"));
        run(openssl.arg("-keyout").arg(&key).arg("-out").arg(&signed).stderr(Stdio::null()));
        Postgres::start_at(name, &format!("127.0.0.1,{host}"), |server| {
            for (from, to) in [(&key, "server.key"), (&signed, "server.crt")] {
                let to = server.data.join(to);
                std::fs::copy(from, &to).expect("a copy in the cluster");
                run(Command::new("chmod").arg("600").arg(&to));
                if is_root() {
                    run(Command::new("chown").arg("nobody").arg(&to));
                }
            }
            let rules = "local all all trust\nhostssl all tenunder all trust\nhostssl all all all scram-sha-256\n\
                         hostnossl all all all trust\n";
            std::fs::write(server.data.join("pg_hba.conf"), rules).expect("the rules of the cluster");
            "-c ssl=on".to_owned()
        })
    }

    /// The port.
    pub(crate) fn port(&self) -> u16 {
        self.port
    }

    /// A line to a database as the one who may do everything.
    pub(crate) async fn as_administrator(&self, database: &str) -> sqlx::PgPool {
        let address = format!("postgres://tenunder@127.0.0.1:{}/{database}?sslmode=disable", self.port);
        sqlx::PgPool::connect(&address).await.expect("the administrator's line")
    }

    fn command(&self, program: &str) -> Command {
        let program = self.binaries.join(program);
        let mut command = if is_root() {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=nobody", "--regid=nogroup", "--clear-groups", "--"]).arg(program);
            command
        } else {
            Command::new(program)
        };
        command.current_dir("/").stdin(Stdio::null()).stdout(Stdio::null());
        command
    }
}

impl Drop for Postgres {
    fn drop(&mut self) {
        let _ = self.command("pg_ctl").args(["--mode=immediate", "-D"]).arg(&self.data).arg("stop").status();
        let _ = std::fs::remove_dir_all(&self.data);
    }
}

/// An authority of a name: its certificate and its key in the folder.
pub(crate) fn authority(folder: &Path, name: &str) {
    let mut openssl = Command::new("openssl");
    openssl.args(["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2"]);
    openssl.args(["-subj", &format!("/CN={name}"), "-keyout"]).arg(folder.join(format!("{name}.key")));
    run(openssl.arg("-out").arg(folder.join(format!("{name}.pem"))).stderr(Stdio::null()));
}

fn run(command: &mut Command) {
    let status = command.status().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    assert!(status.success(), "{command:?}: {status}");
}

fn is_root() -> bool {
    let output = Command::new("id").arg("-u").output().expect("id");
    output.stdout.trim_ascii() == b"0"
}

/// Where Debian keeps the server's programs: the newest version.
fn binaries() -> PathBuf {
    let mut versions: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .map(|entries| entries.flatten().map(|entry| entry.path().join("bin")).collect())
        .unwrap_or_default();
    versions.retain(|folder| folder.join("initdb").exists());
    versions.sort();
    versions.pop().expect("no PostgreSQL server: apt-get install postgresql")
}
