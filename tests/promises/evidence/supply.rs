//! What the program is built of: code of our own without unsafe blocks, and libraries from one
//! registry that are what Cargo.lock says. Their licences let anyone use them, and none of them
//! fetches from a network.
//!
//! Known advisories and withdrawn releases are in databases that an offline test cannot ask.
//! DEVELOPERS.md says how they are checked.

use crate::support::{repository, repository_text, sources};
use serde_json::Value;
use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

/// The libraries of this project.
const OWN: [&str; 2] = ["swellbook", "swellbook-mixed"];

/// Licences that only require their text to be included (SPDX identifiers). deny.toml has the same
/// list.
const LICENCES: [&str; 10] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "MIT",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Libraries made to fetch something. `hyper`, `tokio`, `mio` and `socket2` serve the page;
/// `network.rs` checks that no other command opens a socket.
const NETWORKS: [&str; 15] = [
    "attohttpc",
    "curl",
    "curl-sys",
    "h2",
    "h3",
    "isahc",
    "native-tls",
    "object_store",
    "openssl",
    "openssl-sys",
    "quinn",
    "reqwest",
    "rustls",
    "ureq",
    "tungstenite",
];

/// The triple of this machine. Without it, the libraries of every other system would be needed.
fn host() -> String {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let output = Command::new(rustc).arg("-vV").output().expect("rustc runs");
    let text = String::from_utf8(output.stdout).expect("text");
    let host = text.lines().find_map(|line| line.strip_prefix("host: "));
    host.expect("a host").to_owned()
}

/// Every package that is built here, as Cargo sees it without a network.
fn packages() -> &'static [Value] {
    static FOUND: OnceLock<Vec<Value>> = OnceLock::new();
    FOUND.get_or_init(|| {
        let output = Command::new(env!("CARGO"))
            .args(["metadata", "--offline", "--locked", "--format-version=1"])
            .args(["--filter-platform", &host()])
            .current_dir(repository("."))
            .output()
            .expect("cargo runs");
        let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
        let tree: Value = serde_json::from_slice(&output.stdout).expect(&complaint);
        let others = |package: &&Value| !OWN.iter().any(|own| package["name"] == *own);
        tree["packages"].as_array().expect("packages").iter().filter(others).cloned().collect()
    })
}

/// Whether a licence expression can be met with allowed licences alone.
///
/// SPDX specification, annex D: `AND` binds tighter than `OR`, and brackets bind tighter than both.
/// Older manifests write a slash for `OR`.
fn allowed(expression: &str) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = &words[..];
    either(&mut rest) && rest.is_empty()
}

fn either(words: &mut &[&str]) -> bool {
    let mut kept = both(words);
    while let ["OR", rest @ ..] = *words {
        *words = rest;
        kept |= both(words);
    }
    kept
}

fn both(words: &mut &[&str]) -> bool {
    let mut kept = one(words);
    while let ["AND", rest @ ..] = *words {
        *words = rest;
        kept &= one(words);
    }
    kept
}

fn one(words: &mut &[&str]) -> bool {
    let (name, rest) = match *words {
        ["(", inside @ ..] => {
            *words = inside;
            let kept = either(words);
            *words = words.strip_prefix(&[")"]).expect("a closing bracket");
            return kept;
        }
        [name, "WITH", exception, rest @ ..] => (format!("{name} WITH {exception}"), rest),
        [name, rest @ ..] => ((*name).to_owned(), rest),
        [] => return false,
    };
    *words = rest;
    LICENCES.contains(&name.as_str())
}

#[test]
fn every_library_may_be_used_by_anyone() {
    assert!(packages().len() > 100, "only {} libraries were seen", packages().len());
    for package in packages() {
        let licence = package["license"].as_str().unwrap_or("none said");
        assert!(allowed(licence), "{}: {licence}", package["name"]);
    }
}

#[test]
fn an_expression_of_licences_is_read_as_it_is_meant() {
    for kept in ["MIT", "GPL-3.0 OR MIT", "(MIT OR GPL-2.0) AND Zlib", "MIT/Apache-2.0"] {
        assert!(allowed(kept), "{kept}");
    }
    for refused in ["GPL-3.0", "MIT AND GPL-3.0", "MIT AND (GPL-2.0 OR MPL-2.0)", "", "none said"] {
        assert!(!allowed(refused), "{refused}");
    }
    assert!(allowed("GPL-2.0 AND MIT OR Zlib") && !allowed("GPL-2.0 AND (MIT OR Zlib)"));
    assert!(allowed("Apache-2.0 WITH LLVM-exception") && !allowed("GPL-2.0 WITH LLVM-exception"));
}

#[test]
fn the_licences_allowed_are_those_of_deny_toml() {
    let text = repository_text("deny.toml");
    let deny: toml::Table = text.parse().expect("deny.toml is TOML");
    let listed = deny["licenses"]["allow"].as_array().expect("licences");
    let listed: Vec<&str> = listed.iter().filter_map(toml::Value::as_str).collect();
    assert_eq!(listed, LICENCES);
}

#[test]
fn every_library_comes_from_one_registry_and_is_known_by_its_checksum() {
    const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";
    let lock = repository_text("Cargo.lock");
    let lock: toml::Table = lock.parse().expect("Cargo.lock is TOML");
    let locked = lock["package"].as_array().expect("packages");
    let is_other =
        |package: &&toml::Value| !OWN.iter().any(|own| package["name"].as_str() == Some(own));
    for package in locked.iter().filter(is_other) {
        let name = &package["name"];
        let source = package.get("source").and_then(toml::Value::as_str);
        assert_eq!(source, Some(REGISTRY), "{name}");
        let sum = package.get("checksum").and_then(toml::Value::as_str).unwrap_or_default();
        assert!(sum.len() == 64 && sum.bytes().all(|byte| byte.is_ascii_hexdigit()), "{name}");
    }
    for package in packages() {
        assert_eq!(package["source"], REGISTRY, "{}", package["name"]);
        let known = |locked: &toml::Value| {
            locked["name"].as_str() == package["name"].as_str()
                && locked["version"].as_str() == package["version"].as_str()
        };
        assert!(locked.iter().any(known), "{}", package["name"]);
    }
}

#[test]
fn no_library_has_fetching_for_its_business() {
    for package in packages() {
        let name = package["name"].as_str().unwrap_or_default();
        assert!(!NETWORKS.contains(&name), "{name}");
    }
}

/// The words of a source, without its comments.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let code = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    code.flat_map(|line| line.split(|c: char| !(c.is_alphanumeric() || c == '_')))
}

#[test]
fn no_code_of_our_own_is_unchecked_or_speaks_to_a_network() {
    // In two halves, so that this source does not hold the word.
    let unchecked = ["un", "safe"].concat();
    let found: Vec<PathBuf> = ["src", "tests", "benches"].into_iter().flat_map(sources).collect();
    assert!(found.len() > 100, "only {} sources were read", found.len());
    for path in found {
        let text = std::fs::read_to_string(&path).expect("text");
        assert!(!words(&text).any(|word| word == unchecked), "{}", path.display());
        let net = ["TcpStream", "TcpListener", "UdpSocket", "UnixStream"];
        let served = [
            "src/page",
            "src/jobs/bench",
            "tests/promises/bench_page",
            "tests/promises/support/served.rs",
            "tests/promises/support/driver.rs",
            "benches/page.rs",
        ];
        let own = path.ends_with("supply.rs")
            || served.iter().any(|place| path.starts_with(repository(place)));
        assert!(own || !words(&text).any(|word| net.contains(&word)), "{}", path.display());
    }
    for root in ["src/lib.rs", "src/main.rs"] {
        let text = repository_text(root);
        assert!(text.contains(&format!("#![forbid({unchecked}_code)]")), "{root}");
    }
    let manifest = repository_text("Cargo.toml");
    assert!(manifest.contains(&format!("{unchecked}_code = \"forbid\"")));
}
