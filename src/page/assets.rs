//! What pages load besides themselves, and what a browser may do with all of it.

use crate::draw::palette;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};

/// A file that comes with the program.
#[derive(Clone, Copy)]
pub(crate) struct Asset {
    pub path: &'static str,
    kind: &'static str,
    text: fn() -> String,
}

macro_rules! text {
    ($name:literal) => {
        include_str!(concat!("../../templates/bench/", $name)).to_owned()
    };
}

/// The style sheet, our script, and htmx, whose licence lies beside it.
pub(crate) const ALL: [Asset; 4] = [
    Asset { path: "/bench.css", kind: "text/css; charset=utf-8", text: style },
    Asset { path: "/bench.js", kind: SCRIPT, text: || text!("bench.js") },
    Asset { path: "/htmx.js", kind: SCRIPT, text: || text!("htmx.min.js") },
    Asset { path: "/icon.svg", kind: "image/svg+xml", text: || text!("icon.svg") },
];

const SCRIPT: &str = "text/javascript; charset=utf-8";

fn style() -> String {
    palette::styles() + &text!("bench.css")
}

impl Asset {
    /// A browser keeps it for as long as it keeps the page.
    pub fn response(self) -> Response {
        let head =
            [(header::CONTENT_TYPE, self.kind), (header::CACHE_CONTROL, "private, max-age=300")];
        (head, (self.text)()).into_response()
    }
}

/// Nothing but our own style, scripts and pictures, in no frame of anybody else's. The address is
/// told to our own pages only, for browsers leave a form's origin out where it is told to nobody.
const GUARDS: [(&str, &str); 5] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
         form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
];

/// Says so, where an answer does not say it more strictly itself.
pub(crate) fn guard(headers: &mut HeaderMap) {
    for (name, value) in GUARDS {
        headers.entry(HeaderName::from_static(name)).or_insert(HeaderValue::from_static(value));
    }
}
