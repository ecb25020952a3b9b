//! Reaching a PostgreSQL server: what the address, a service and the environment say of it, and whom a password is told.
//!
//! A password and the whole record go to whoever answers. So the connection is encrypted, and the server shows a certificate
//! for its name, unless the server is this computer; nothing that an address says makes it less than encrypted.

use std::net::IpAddr;
use std::path::{Path, PathBuf};

use sqlx::postgres::{PgConnectOptions, PgSslMode};

use super::address::{self, Known, Settings, cannot};
use crate::error::StoreError;

/// How to reach a server, and what may be shown of it.
pub(super) struct Server {
    pub(super) options: PgConnectOptions,
    pub(super) place: String,
}

/// What the environment says of a name.
type Environment<'a> = &'a dyn Fn(&str) -> Option<String>;

/// Puts together what the address says, then a service, then the environment and the file of passwords.
///
/// # Errors
/// [`StoreError::CannotOpen`], with no word of a password.
pub(super) fn of(address: &str) -> Result<Server, StoreError> {
    let environment = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let mut settings = address::read(address)?;
    if let Some(name) = settings.remove("service").or_else(|| environment("PGSERVICE")) {
        let mut service = service(&name, &environment)?;
        service.append(&mut settings);
        settings = service;
    }
    if settings.contains_key("hostaddr") {
        settings.remove("host");
    }
    let asked = settings.remove("sslmode").or_else(|| environment("PGSSLMODE"));
    let root = settings.remove("sslrootcert").or_else(|| environment("PGSSLROOTCERT"));
    let options: PgConnectOptions = plainly(&settings).parse().map_err(|_| cannot("its address cannot be read"))?;
    let local = is_this_computer(&options);
    let root = match root {
        Some(name) if name == "system" => Root::System,
        Some(file) => Root::File(PathBuf::from(file)),
        None => usual_root().map_or(Root::Unsaid, Root::File),
    };
    let mode = mode(asked.as_deref(), local, &root)?;
    // Given as text, so that a file that cannot be read is said to be just that.
    let trusted = match &root {
        Root::File(file) => certificates(file)?,
        Root::System | Root::Unsaid => Vec::new(),
    };
    let host = match options.get_socket() {
        Some(socket) => socket.display().to_string(),
        None => options.get_host().to_owned(),
    };
    let place = format!("{} on {host}", options.get_database().unwrap_or("the default database"));
    Ok(Server { options: options.ssl_mode(mode).ssl_root_cert_from_pem(trusted), place })
}

/// Whom a server's certificate is to be signed by, beside those that this computer trusts.
#[derive(Debug)]
enum Root {
    Unsaid,
    System,
    File(PathBuf),
}

/// How much the connection is to be guarded.
fn mode(asked: Option<&str>, local: bool, root: &Root) -> Result<PgSslMode, StoreError> {
    let mode = match asked {
        None if local => PgSslMode::Prefer,
        None => PgSslMode::VerifyFull,
        Some(word) => word
            .parse()
            .map_err(|_| cannot("its sslmode is none of disable, allow, prefer, require, verify-ca, verify-full"))?,
    };
    match (mode, root) {
        (PgSslMode::Disable | PgSslMode::Allow | PgSslMode::Prefer, _) if !local => Err(cannot(
            "its sslmode lets the password and the record go over the network unencrypted, which is only done where the \
             server is this computer: leave sslmode away, which means verify-full",
        )),
        // As PostgreSQL's own programs read it: whoever names a root wants it looked at.
        (PgSslMode::Require, Root::File(_)) => Ok(PgSslMode::VerifyCa),
        (PgSslMode::Require | PgSslMode::VerifyCa, Root::System) => Err(cannot(
            "with sslrootcert=system anybody can show a certificate that this computer trusts, for a name of their own: it \
             needs sslmode=verify-full",
        )),
        (mode, _) => Ok(mode),
    }
}

/// Whether what is sent to the server stays in this computer: a socket, a loopback address, or the name that stands for one.
fn is_this_computer(options: &PgConnectOptions) -> bool {
    let host = options.get_host();
    options.get_socket().is_some() || host.starts_with('/') || is_loopback(host)
}

fn is_loopback(host: &str) -> bool {
    match host.parse::<IpAddr>() {
        Ok(address) => address.to_canonical().is_loopback(),
        // Not what the name is looked up as: that is what a stranger can answer.
        Err(_) => host.eq_ignore_ascii_case("localhost"),
    }
}

/// The settings as an address in the one form that every sign can be written in.
fn plainly(settings: &Settings) -> String {
    let mut address = "postgres://?".to_owned();
    for (name, value) in settings {
        address.push_str(name);
        address.push('=');
        for byte in value.bytes() {
            address.push_str(&format!("%{byte:02X}"));
        }
        address.push('&');
    }
    address
}

/// Where PostgreSQL's own programs look for a root when nobody says.
fn usual_root() -> Option<PathBuf> {
    std::env::home_dir().map(|home| home.join(".postgresql/root.crt")).filter(|file| file.exists())
}

fn certificates(file: &Path) -> Result<Vec<u8>, StoreError> {
    let text = std::fs::read(file)
        .map_err(|error| cannot(&format!("its root certificate {} cannot be read: {error}", file.display())))?;
    match text.windows(27).any(|bytes| bytes == b"-----BEGIN CERTIFICATE-----") {
        true => Ok(text),
        false => Err(cannot(&format!("there is no certificate (PEM) in {}", file.display()))),
    }
}

/// What a service says: a part of a file that the shop's computers share.
/// Source: PostgreSQL documentation, 34.17 "The Connection Service File".
fn service(name: &str, environment: Environment<'_>) -> Result<Settings, StoreError> {
    let files = match environment("PGSERVICEFILE") {
        Some(file) => vec![PathBuf::from(file)],
        None => {
            let own = std::env::home_dir().map(|home| home.join(".pg_service.conf"));
            let shared = environment("PGSYSCONFDIR").map(|folder| PathBuf::from(folder).join("pg_service.conf"));
            own.into_iter().chain(shared).filter(|file| file.exists()).collect()
        }
    };
    for file in &files {
        let text = std::fs::read_to_string(file)
            .map_err(|error| cannot(&format!("the service file {} cannot be read: {error}", file.display())))?;
        if let Some(found) = in_service_file(&text, name) {
            return found.map_err(|faults| cannot(&format!("{}: {}", file.display(), faults.join("; "))));
        }
    }
    let looked: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
    Err(cannot(&match looked.as_slice() {
        [] => {
            "a service is named, and there is no service file (PGSERVICEFILE, or .pg_service.conf in the home folder)"
                .to_owned()
        }
        looked => format!("the service that is named does not stand in {}", looked.join(" or ")),
    }))
}

/// The part of a service file under `[name]`, or what is wrong with it.
fn in_service_file(text: &str, name: &str) -> Option<Result<Settings, Vec<String>>> {
    let mut found: Option<Settings> = None;
    let mut faults = Vec::new();
    let mut inside = false;
    for (number, line) in (1..).zip(text.lines().map(str::trim)) {
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if let Some(heading) = line.strip_prefix('[') {
            // The first part of a name counts.
            inside = found.is_none() && heading.strip_suffix(']') == Some(name);
            if inside {
                found = Some(Settings::new());
            }
            continue;
        }
        let Some(settings) = found.as_mut().filter(|_| inside) else { continue };
        let Some((key, value)) = line.split_once('=') else {
            faults.push(format!("line {number} is no name = value"));
            continue;
        };
        match address::known(key.trim()) {
            Known::Taken("service") => faults.push(format!("line {number}: a service cannot name another")),
            Known::Taken(key) => {
                settings.entry(key).or_insert_with(|| value.trim().to_owned());
            }
            Known::PassedOver => {}
            Known::Not => faults.push(address::unknown_setting(&format!("what line {number} sets"))),
        }
    }
    let found = found?;
    faults.extend(address::faults_of(&found));
    Some(if faults.is_empty() { Ok(found) } else { Err(faults) })
}

/// What went wrong while connecting, where it is about whom we are talking to.
pub(super) fn connecting_error(error: sqlx::Error, place: &str) -> StoreError {
    let cannot = |detail: String| StoreError::CannotOpen { place: place.to_owned(), detail };
    match error {
        sqlx::Error::Tls(error) if error.to_string().contains("does not support TLS") => cannot(
            "the server does not encrypt, and a password and the record go unencrypted only to this computer: switch TLS on \
             there (ssl = on)"
                .to_owned(),
        ),
        sqlx::Error::Tls(error) => cannot(format!("its certificate or ours is not in order: {error}")),
        sqlx::Error::Io(error) if error.kind() == std::io::ErrorKind::InvalidData => {
            cannot(format!("what answers there could not show that it is the server: {error}"))
        }
        error => match StoreError::from(error) {
            StoreError::CannotOpen { detail, .. } => cannot(detail),
            StoreError::NoAnswer { detail } => StoreError::NoAnswer { detail: format!("{place}: {detail}") },
            other => other,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Only these addresses are this computer; a name that is looked up is not, whatever it is looked up as.
    #[test]
    fn this_computer_is_a_socket_or_a_loopback_address() {
        for host in ["localhost", "LOCALHOST", "127.0.0.1", "127.8.9.1", "::1", "::ffff:127.0.0.1"] {
            assert!(is_loopback(host), "{host}");
        }
        for host in [
            "127.1",
            "0.0.0.0",
            "192.0.2.7",
            "db.example",
            "localhost.example",
            "127.0.0.1.example",
            "::",
            "fe80::1",
            "2130706433",
            "localhost.",
        ] {
            assert!(!is_loopback(host), "{host}");
        }
        let of = |address: &str| of(address).unwrap().options;
        assert!(is_this_computer(&of("postgres://pat@%2Frun%2Fpostgresql/shop")));
        assert!(is_this_computer(&of("postgres://pat@/shop?host=/run/postgresql")));
        assert!(!is_this_computer(&of("postgres://pat@localhost/shop?hostaddr=192.0.2.7")));
        // What is named last is what is connected to.
        assert!(!is_this_computer(&of("postgres://pat@%2Frun/shop?host=db.example")));
    }

    #[test]
    fn encrypted_and_looked_at_unless_it_is_this_computer() {
        let none = Root::Unsaid;
        assert!(matches!(mode(None, true, &none), Ok(PgSslMode::Prefer)));
        assert!(matches!(mode(None, false, &none), Ok(PgSslMode::VerifyFull)));
        for word in ["disable", "allow", "prefer"] {
            assert!(mode(Some(word), true, &none).is_ok(), "{word}");
            assert!(mode(Some(word), false, &none).is_err(), "{word}");
            assert!(mode(Some(word), false, &Root::File("ca.pem".into())).is_err(), "{word}");
        }
        assert!(matches!(mode(Some("require"), false, &none), Ok(PgSslMode::Require)));
        assert!(matches!(mode(Some("require"), false, &Root::File("ca.pem".into())), Ok(PgSslMode::VerifyCa)));
        assert!(matches!(mode(Some("verify-full"), false, &Root::System), Ok(PgSslMode::VerifyFull)));
        assert!(mode(Some("require"), false, &Root::System).is_err());
        assert!(mode(Some("verify-ca"), false, &Root::System).is_err());
        let error = mode(Some("hunter2"), true, &none).unwrap_err().to_string();
        assert!(!error.contains("hunter2"), "{error}");
    }

    #[test]
    fn a_service_is_found_in_its_file() {
        let file = "# ours\n[other]\nhost=a\n\n[oxbow]\nhost = db.example\nuser=pat\npassword=p=q\nkeepalives=1\n[oxbow]\nport=1\n";
        let found = in_service_file(file, "oxbow").unwrap().unwrap();
        let found: Vec<_> = found.iter().map(|(name, value)| (*name, value.as_str())).collect();
        assert_eq!(found, [("host", "db.example"), ("password", "p=q"), ("user", "pat")]);
        assert!(in_service_file(file, "nobody").is_none());
        let faults = in_service_file("[a]\nhunter2\nchannel_binding=require\nport=x\n", "a").unwrap().unwrap_err();
        assert_eq!(faults.len(), 3, "{faults:?}");
        assert!(faults[0].contains("line 2") && faults[1].contains("line 3"), "{faults:?}");
        assert!(faults.iter().all(|fault| !fault.contains("hunter2")), "{faults:?}");
    }

    /// What goes to the library is what was read, whatever signs are in it.
    #[test]
    fn every_sign_arrives() {
        let settings = Settings::from([("user", "a&b=c %/?#é".to_owned()), ("dbname", "the + shop".to_owned())]);
        let options: PgConnectOptions = plainly(&settings).parse().unwrap();
        assert_eq!((options.get_username(), options.get_database()), ("a&b=c %/?#é", Some("the + shop")));
    }
}
