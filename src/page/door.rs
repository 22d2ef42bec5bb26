//! Access control.
//!
//! Every request must name this machine as its host, so that the name of another site that resolves
//! to this machine gets nothing. It must carry the key: in the address once, then as a cookie. A
//! request that changes something must also come from a page of ours and carry the token of our
//! forms.

use super::key::Key;
use axum::http::{HeaderMap, Method, Uri, header};
use std::net::{IpAddr, SocketAddr};

/// Why a request is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Barred {
    /// The request names another host.
    Host,
    /// The key is missing or wrong.
    Key { wrong: bool },
    /// A form from another site.
    Origin,
    /// A form without our token.
    Token,
}

/// How a request is let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Entry {
    /// With the key in the address; a cookie replaces it from then on.
    ByAddress,
    ByCookie,
}

/// The cookie's name. It contains the port, because all ports of one machine share their cookies.
pub(crate) fn cookie_name(local: SocketAddr) -> String {
    format!("swellbook-{}", local.port())
}

/// Checks everything of a request except its body. `local` is the local address of the connection.
pub(crate) fn enter(
    key: &Key,
    local: SocketAddr,
    method: &Method,
    uri: &Uri,
    headers: &HeaderMap,
) -> Result<Entry, Barred> {
    // A request with an absolute URI names its host there too.
    let named = uri.authority().map(|named| named.as_str());
    if !is_host(one(headers, header::HOST), local)
        || named.is_some_and(|named| !is_host(Some(named), local))
    {
        return Err(Barred::Host);
    }
    let entry = entry(key, local, uri, headers)?;
    if *method != Method::GET && *method != Method::HEAD && !is_ours(headers, local) {
        return Err(Barred::Origin);
    }
    Ok(entry)
}

fn entry(key: &Key, local: SocketAddr, uri: &Uri, headers: &HeaderMap) -> Result<Entry, Barred> {
    let name = cookie_name(local);
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let pairs = cookies.flat_map(|line| line.split(';')).filter_map(|it| it.split_once('='));
    let mut own = pairs.filter(|(found, _)| found.trim() == name).map(|(_, value)| value.trim());
    let query = uri.query().unwrap_or_default().as_bytes();
    let typed: Vec<_> = form_urlencoded::parse(query).filter(|(name, _)| name == "key").collect();
    if !typed.is_empty() {
        let is_right = typed.iter().all(|(_, typed)| key.is(typed));
        return if is_right { Ok(Entry::ByAddress) } else { Err(Barred::Key { wrong: true }) };
    }
    // Another program on this machine may have set a cookie of this name; one right cookie is
    // enough.
    let Some(first) = own.next() else { return Err(Barred::Key { wrong: false }) };
    match key.is(first) || own.any(|other| key.is(other)) {
        true => Ok(Entry::ByCookie),
        false => Err(Barred::Key { wrong: true }),
    }
}

/// The value of a header that occurs once; `None` if repeated, because a proxy and a program might
/// read different ones.
fn one(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

/// Whether `host` names this machine: by the local address, or by `localhost` on a loopback
/// connection.
fn is_host(host: Option<&str>, local: SocketAddr) -> bool {
    let Some(host) = host else { return false };
    if let Ok(named) = host.parse::<SocketAddr>() {
        return plain(named) == plain(local);
    }
    // Without a port, the host means port 80.
    if let Ok(named) = host.trim_matches(['[', ']']).parse::<IpAddr>() {
        return plain(SocketAddr::new(named, 80)) == plain(local);
    }
    let local_name = format!("localhost:{}", local.port());
    plain(local).ip().is_loopback() && host.eq_ignore_ascii_case(&local_name)
}

/// An IPv4-mapped IPv6 address is the same address as its IPv4 form.
fn plain(address: SocketAddr) -> SocketAddr {
    SocketAddr::new(address.ip().to_canonical(), address.port())
}

/// Whether a form comes from a page of ours, by the `Origin` header that browsers send.
fn is_ours(headers: &HeaderMap, local: SocketAddr) -> bool {
    let origin = one(headers, header::ORIGIN).and_then(|origin| origin.strip_prefix("http://"));
    let host = one(headers, header::HOST);
    origin.is_some() && origin == host && is_host(origin, local)
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    const LOCAL: &str = "192.0.2.7:7077";

    fn headers(pairs: &[(&'static str, String)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(*name, HeaderValue::from_str(value).unwrap());
        }
        headers
    }

    fn judged(
        local: &str,
        method: &Method,
        uri: &str,
        pairs: &[(&'static str, String)],
        key: &Key,
    ) -> Result<Entry, Barred> {
        let (uri, headers) = (uri.parse().unwrap(), headers(pairs));
        enter(key, local.parse().unwrap(), method, &uri, &headers)
    }

    #[test]
    fn only_the_address_of_this_machine_is_a_host() {
        let is_host = |host: &str, local: &str| is_host(Some(host), local.parse().unwrap());
        assert!(is_host("192.0.2.7:7077", LOCAL) && is_host("localhost:7077", "127.0.0.1:7077"));
        assert!(is_host("[::1]:7077", "[::1]:7077") && is_host("192.0.2.7", "192.0.2.7:80"));
        assert!(is_host("192.0.2.7:7077", "[::ffff:192.0.2.7]:7077"));
        for other in [
            "",
            "localhost:7077",
            "192.0.2.7",
            "192.0.2.7:7078",
            "evil.example:7077",
            "192.0.2.8:7077",
            "192.0.2.7:7077.evil.example",
            "192.0.2.7:7077@evil.example",
        ] {
            assert!(!is_host(other, LOCAL), "{other}");
        }
        assert!(!is_host("evil.example:7077", "127.0.0.1:7077"));
    }

    #[test]
    fn a_key_is_needed_in_the_address_or_as_a_cookie() {
        let key = Key::random().unwrap();
        let host = ("host", LOCAL.to_owned());
        let cookie = |value: &str| ("cookie", format!("a=b; swellbook-7077={value}"));
        let get = |uri: &str, pairs: &[(&'static str, String)]| {
            judged(LOCAL, &Method::GET, uri, pairs, &key)
        };
        let right = format!("/?key={}", key.text());
        assert_eq!(get(&right, std::slice::from_ref(&host)), Ok(Entry::ByAddress));
        assert_eq!(get("/", &[host.clone(), cookie(key.text())]), Ok(Entry::ByCookie));
        assert_eq!(get("/", std::slice::from_ref(&host)), Err(Barred::Key { wrong: false }));
        assert_eq!(get("/", &[host.clone(), cookie("0")]), Err(Barred::Key { wrong: true }));
        assert_eq!(
            get("/?key=0", &[host.clone(), cookie(key.text())]),
            Err(Barred::Key { wrong: true })
        );
        let twice = format!("{right}&key=0");
        assert_eq!(get(&twice, std::slice::from_ref(&host)), Err(Barred::Key { wrong: true }));
        let cookies = [host.clone(), cookie("0"), cookie(key.text())];
        assert_eq!(get("/", &cookies), Ok(Entry::ByCookie));
        let whole = format!("http://{LOCAL}{right}");
        assert_eq!(get(&whole, std::slice::from_ref(&host)), Ok(Entry::ByAddress));
        let other = format!("http://evil.example{right}");
        assert_eq!(get(&other, std::slice::from_ref(&host)), Err(Barred::Host));
        assert_eq!(get(&right, &[]), Err(Barred::Host));
        assert_eq!(get(&right, &[host.clone(), host]), Err(Barred::Host));
    }

    #[test]
    fn a_form_must_come_from_a_page_of_ours() {
        let key = Key::random().unwrap();
        let post = |origin: Option<&str>| {
            let cookie = ("cookie", format!("swellbook-7077={}", key.text()));
            let origin = origin.map(|origin| ("origin", origin.to_owned()));
            let pairs: Vec<_> =
                [("host", LOCAL.to_owned()), cookie].into_iter().chain(origin).collect();
            judged(LOCAL, &Method::POST, "/plan", &pairs, &key)
        };
        assert_eq!(post(Some("http://192.0.2.7:7077")), Ok(Entry::ByCookie));
        for other in [
            None,
            Some("null"),
            Some("http://evil.example"),
            Some("https://192.0.2.7:7077"),
            Some("http://192.0.2.7:7077.evil.example"),
            Some("http://localhost:7077"),
        ] {
            assert_eq!(post(other), Err(Barred::Origin), "{other:?}");
        }
    }
}
