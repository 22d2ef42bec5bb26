//! The files that pages load, and the security headers of every answer.

use crate::draw::html::DRAWING;
use crate::draw::palette;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

/// A file embedded in the program.
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

/// The style sheet, our script, htmx (its licence is next to it) and the icon.
pub(crate) const ALL: [Asset; 4] = [
    Asset { path: "/bench.css", kind: "text/css; charset=utf-8", text: style },
    Asset { path: "/bench.js", kind: SCRIPT, text: || text!("bench.js") },
    Asset { path: "/htmx.js", kind: SCRIPT, text: || text!("htmx.min.js") },
    Asset { path: "/icon.svg", kind: "image/svg+xml", text: || text!("icon.svg") },
];

const SCRIPT: &str = "text/javascript; charset=utf-8";

fn style() -> String {
    palette::styles() + &text!("bench.css") + DRAWING
}

impl Asset {
    /// A browser may keep it for five minutes, unlike a page.
    pub fn response(self) -> Response {
        let head =
            [(header::CONTENT_TYPE, self.kind), (header::CACHE_CONTROL, "private, max-age=300")];
        (head, (self.text)()).into_response()
    }
}

/// Pages load only our own style, scripts and pictures, and nobody else may frame them. Our own
/// pages receive the referrer: without one, browsers withhold the origin of a form.
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

/// The policy for a standalone document, which loads nothing but the icon. Its only style sheet is
/// allowed by its digest.
pub(crate) fn document_policy(html: &str) -> String {
    let style = html.split_once("<style>").and_then(|(_, rest)| rest.split_once("</style>"));
    let digest = Sha256::digest(style.map_or("", |(style, _)| style).as_bytes());
    format!(
        "default-src 'none'; style-src 'sha256-{}'; img-src 'self'; form-action 'none'; base-uri 'none'; \
         frame-ancestors 'none'",
        base64(&digest)
    )
}

/// Base64, as in RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let group = |group: &[u8]| {
        let bits = (0..3).fold(0, |bits, at| bits << 8 | u32::from(*group.get(at).unwrap_or(&0)));
        let sign = |at: usize| match at <= group.len() {
            true => char::from(SIGNS[(bits >> (18 - 6 * at)) as usize % 64]),
            false => '=',
        };
        [0, 1, 2, 3].map(sign)
    };
    bytes.chunks(3).flat_map(group).collect()
}

/// Adds the headers of [`GUARDS`], except one that the answer sets more strictly itself.
pub(crate) fn guard(headers: &mut HeaderMap) {
    for (name, value) in GUARDS {
        headers.entry(HeaderName::from_static(name)).or_insert(HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// htmx 2.0.10 as its makers publish it: `dist/htmx.min.js`.
    #[test]
    fn htmx_is_as_its_makers_publish_it() {
        let digest = Sha256::digest(text!("htmx.min.js").as_bytes());
        let figures: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(figures, "71ea67185bfa8c98c39d31717c6fce5d852370fcdfd129db4543774d3145c0de");
    }

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn bytes_are_written_as_the_standard_has_it() {
        let written =
            ["", "f", "fo", "foo", "foob", "fooba", "foobar"].map(|it| base64(it.as_bytes()));
        assert_eq!(written, ["", "Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"]);
    }

    #[test]
    fn a_document_may_use_its_own_style_and_nothing_else() {
        // The digest of `p{}` by sha256sum.
        let policy = document_policy("<head><style>p{}</style></head><script>1</script>");
        assert!(policy.starts_with("default-src 'none'; style-src 'sha256-gG2yISYereRMiG2lMXrbiUgi0Ubw9p7QCeWcroOvy9Y='; "), "{policy}");
        assert!(!policy.contains("script-src") && !policy.contains("inline"), "{policy}");
    }
}
