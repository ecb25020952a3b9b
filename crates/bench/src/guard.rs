//! Who may ask: this computer's own pages, and programs on this computer. Nobody else's page in a browser.
//!
//! A web page from anywhere can make a browser send requests to this computer. So the Host must be one of ours (a
//! foreign name that points here is refused), a change must come from our own pages, and no page of ours may be framed
//! or run what is not ours.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

use crate::trouble::Trouble;

/// The cookie that the token in our forms belongs to.
const FORMS_COOKIE: &str = "forms";

/// The hosts by which this program may be asked for, with their port: `127.0.0.1:7160`.
#[derive(Clone, Debug)]
pub(crate) struct Hosts(pub(crate) Arc<[String]>);

/// Sent with every answer.
const HEADERS: [(&str, &str); 8] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; \
         form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
    ("x-robots-tag", "noindex"),
];

/// Lets through what may ask, and marks every answer.
pub(crate) async fn guard(State(hosts): State<Hosts>, request: Request, next: Next) -> Response {
    let path_is_json = request.uri().path().starts_with("/api/");
    let forms = cookie(request.headers(), FORMS_COOKIE).filter(|value| is_forms(value));
    let refused = refusal(&hosts, request.method(), request.headers());
    let size = type_size(request.headers());
    let mut fresh = None;
    let mut response = match refused {
        Some(trouble) if path_is_json => trouble.as_json(),
        Some(trouble) => trouble.into_response(),
        None => {
            let mut request = request;
            let value = match forms {
                Some(value) => value,
                None => match shop::fresh_id() {
                    Ok(id) => {
                        fresh = Some(id.to_string());
                        id.to_string()
                    }
                    Err(error) => return Trouble::from(error).into_response(),
                },
            };
            request.extensions_mut().insert(Token(token_of(&value)));
            next.run(request).await
        }
    };
    if size != "desk"
        && let Some(trouble) = response.extensions_mut().remove::<Trouble>()
    {
        response = trouble.page(size);
    }
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    if let Some(value) = fresh
        && !path_is_json
        && let Ok(value) = HeaderValue::from_str(&format!("{FORMS_COOKIE}={value}; Path=/; HttpOnly; SameSite=Strict"))
    {
        headers.append(header::SET_COOKIE, value);
    }
    response
}

/// Why a request is turned away, if it is.
fn refusal(hosts: &Hosts, method: &Method, headers: &HeaderMap) -> Option<Trouble> {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let host = text(header::HOST).unwrap_or_default().to_ascii_lowercase();
    if !hosts.0.contains(&host) {
        let advice = format!("Open http://{} in this computer's browser.", hosts.0.first().map_or("", String::as_str));
        return Some(Trouble::new(StatusCode::MISDIRECTED_REQUEST, "This is not an address of this program.", advice));
    }
    // What cannot be read is not ours.
    let all = |name: HeaderName| headers.get_all(name).iter().map(|value| value.to_str().unwrap_or("not to be read"));
    let ours =
        |origin: &str| origin.strip_prefix("http://").is_some_and(|from| hosts.0.iter().any(|known| known == from));
    let elsewhere = all(HeaderName::from_static("sec-fetch-site")).any(|site| !matches!(site, "same-origin" | "none"))
        || all(header::ORIGIN).any(|origin| !ours(&origin.to_ascii_lowercase()));
    if !elsewhere {
        return None;
    }
    // Looking costs work as well, and a page that may look can tell from how long it takes what is here.
    let (says, advice) = if matches!(*method, Method::GET | Method::HEAD) {
        ("A page of some other program led here.", "If you want to go on, start from the list of jobs.")
    } else {
        let says = "A page of some other program tried to change something here.";
        (says, "If it was you: load the page again and repeat it.")
    };
    Some(Trouble::new(StatusCode::FORBIDDEN, says, advice))
}

/// What the forms on a page carry, so that a form made elsewhere is known by its lack.
#[derive(Clone, Debug)]
pub(crate) struct Token(pub(crate) String);

fn token_of(cookie: &str) -> String {
    Sha256::digest(format!("a form of this bench {cookie}")).iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

fn is_forms(value: &str) -> bool {
    value.len() == 32 && value.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// The value of a cookie.
pub(crate) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|all| all.split(';'))
        .find_map(|pair| {
            let (known, value) = pair.trim().split_once('=')?;
            (known == name).then(|| value.to_owned())
        })
}

/// How large somebody wants the type: `desk`, `bench` or `far`.
pub(crate) fn type_size(headers: &HeaderMap) -> &'static str {
    match cookie(headers, "size").as_deref() {
        Some("bench") => "bench",
        Some("far") => "far",
        _ => "desk",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hosts() -> Hosts {
        Hosts(Arc::from(["127.0.0.1:7160".to_owned(), "localhost:7160".to_owned()]))
    }

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs.iter().map(|&(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value))).collect()
    }

    #[test]
    fn only_our_own_names_are_answered() {
        for (host, taken) in [
            ("127.0.0.1:7160", true),
            ("LOCALHOST:7160", true),
            ("127.0.0.1", false),
            ("tenunder.example:7160", false),
            ("127.0.0.1:7160.example", false),
        ] {
            assert_eq!(refusal(&hosts(), &Method::GET, &headers(&[("host", host)])).is_none(), taken, "{host}");
        }
        assert!(refusal(&hosts(), &Method::GET, &HeaderMap::new()).is_some());
    }

    #[test]
    fn a_change_comes_from_our_own_pages_or_from_a_program() {
        let from = |pairs: &[(&'static str, &'static str)]| {
            let mut all = headers(&[("host", "localhost:7160")]);
            all.extend(headers(pairs));
            refusal(&hosts(), &Method::POST, &all).is_none()
        };
        assert!(from(&[]));
        assert!(from(&[("origin", "http://localhost:7160"), ("sec-fetch-site", "same-origin")]));
        assert!(!from(&[("origin", "http://elsewhere.example")]));
        assert!(!from(&[("origin", "null")]));
        assert!(!from(&[("origin", "https://localhost:7160")]));
        assert!(!from(&[("origin", "http://localhost:7160"), ("sec-fetch-site", "cross-site")]));
        assert!(!from(&[("sec-fetch-site", "same-site")]));
        // Two of them, one of which is ours.
        assert!(!from(&[("origin", "http://localhost:7160"), ("origin", "http://elsewhere.example")]));
        let mut odd = headers(&[("host", "localhost:7160")]);
        odd.insert(header::ORIGIN, HeaderValue::from_bytes(b"http://localhost:7160\xff").unwrap());
        assert!(refusal(&hosts(), &Method::POST, &odd).is_some());
    }

    #[test]
    fn a_page_is_shown_where_somebody_opens_it_and_not_where_another_page_does() {
        let from = |pairs: &[(&'static str, &'static str)]| {
            let mut all = headers(&[("host", "localhost:7160")]);
            all.extend(headers(pairs));
            refusal(&hosts(), &Method::GET, &all).is_none()
        };
        assert!(from(&[]) && from(&[("sec-fetch-site", "none")]) && from(&[("sec-fetch-site", "same-origin")]));
        for mode in ["navigate", "no-cors", "cors"] {
            assert!(!from(&[("sec-fetch-site", "cross-site"), ("sec-fetch-mode", mode)]), "{mode}");
            assert!(!from(&[("sec-fetch-site", "same-site"), ("sec-fetch-mode", mode)]), "{mode}");
        }
        assert!(!from(&[("origin", "http://elsewhere.example")]));
        let mut odd = headers(&[("host", "localhost:7160")]);
        odd.insert("sec-fetch-site", HeaderValue::from_bytes(b"none\xff").unwrap());
        assert!(refusal(&hosts(), &Method::GET, &odd).is_some());
    }
}
