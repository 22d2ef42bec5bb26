//! Pages as a browser shows them. Where there is no browser the test says that it was not run;
//! with `CI` set it fails.

use crate::folder::Folder;
use std::path::{Path, PathBuf};
use std::process::Command;
use swellbook::book::{Config, Entries};

/// The widths of a phone and a desk, in pixels.
const WIDTHS: [u32; 2] = [390, 1200];
const CHECKS: &str = include_str!("page_checks.js");

/// A browser that draws without a window.
fn browser() -> Option<PathBuf> {
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&paths)
        .flat_map(|dir| names.map(|name| dir.join(name)))
        .find(|path| path.is_file());
    let required = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    assert!(found.is_some() || !required, "pages cannot be looked at without a browser");
    if found.is_none() {
        eprintln!("not run: no browser on the path to look at pages with");
    }
    found
}

/// The page with the checks at its end, and a frame of each width around it.
fn framed(dir: &Path, html: &str) -> PathBuf {
    let checked = html.replace("</body>", &format!("<script>{CHECKS}</script></body>"));
    std::fs::write(dir.join("checked.html"), checked).expect("a page");
    let frame = |width: &u32| format!("<iframe src='checked.html' width='{width}' height='900'></iframe>");
    let frames: String = WIDTHS.iter().map(frame).collect();
    let listener = "addEventListener('message', e => { found.textContent += e.data + '\\n'; });";
    let outer = format!("<!DOCTYPE html><pre id=found></pre><script>{listener}</script>{frames}");
    let path = dir.join("frames.html");
    std::fs::write(&path, outer).expect("a page");
    path
}

/// What the browser finds at each width.
fn look(browser: &Path, dir: &Path, html: &str) -> Vec<serde_json::Value> {
    let page = framed(dir, html);
    let profile = tempfile::tempdir().expect("a folder");
    let output = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .args(["--enable-logging=stderr", "--virtual-time-budget=5000", "--window-size=1300,1000"])
        .arg(format!("--user-data-dir={}", profile.path().display()))
        .arg("--dump-dom")
        .arg(format!("file://{}", page.display()))
        .output()
        .expect("the browser starts");
    let errors = String::from_utf8_lossy(&output.stderr);
    let console: Vec<&str> = errors.lines().filter(|line| line.contains("CONSOLE")).collect();
    assert!(console.is_empty(), "the page complains: {console:?}");
    let dom = String::from_utf8_lossy(&output.stdout);
    let found = dom.split("<pre id=\"found\">").nth(1).and_then(|rest| rest.split("</pre>").next());
    let found = found.unwrap_or_default().replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">");
    found.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
}

/// Asserts that nothing is wrong with a page and that it shows so many pictures.
fn sound(html: &str, pictures: u64) {
    let Some(browser) = browser() else { return };
    let dir = tempfile::tempdir().expect("a folder");
    let found = look(&browser, dir.path(), html);
    assert_eq!(found.len(), WIDTHS.len(), "{found:?}");
    for at in found {
        assert_eq!(at["wrong"], serde_json::json!([]), "{at}");
        assert!(at["words"].as_u64() > Some(20), "{at}");
        assert_eq!(at["pictures"].as_u64(), Some(pictures), "{at}");
    }
}
