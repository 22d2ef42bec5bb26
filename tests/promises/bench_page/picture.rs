//! The picture in the README is the page itself. `SWELLBOOK_TEXTS=write` takes the picture again.

use super::measuring::{go, phone};
use crate::support::browser::{Browser, ENTER, PHONE};
use crate::support::folder::Folder;
use crate::support::repository;
use crate::support::served::Served;

const PICTURE: &str = "docs/pictures/bench-page.png";
/// Invented readings. As the README says of the picture, five of six values are typed.
const TYPED: [&str; 5] = ["14.31", "14.24", "14.36", "10.66", "10.61"];

/// The size of a PNG: two numbers of four bytes after its first sixteen (PNG specification,
/// 11.2.2).
fn size(png: &[u8]) -> (u32, u32) {
    let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().expect("four bytes"));
    assert!(png.starts_with(b"\x89PNG"), "no picture");
    (number(16), number(20))
}

fn measured(browser: &Browser, served: &Served) {
    go(browser, served, "/measure?trial=B15&state=sewn");
    browser.until("document.activeElement.id === 'spine-1'");
    browser.keys(&TYPED.map(|value| format!("{value}{ENTER}")).concat(), 5);
    browser.sees("Write 5 readings");
    browser.sees("swell so far");
}

#[test]
fn the_picture_of_the_readme_is_the_page_itself() {
    let folder = Folder::toured();
    let trial = ["--book", "tour", "record", "trial", "B15", "--paper", "Tern wove"];
    let sewn = ["--thread", "flax 18/3", "--sections", "10", "--sheets", "4"];
    folder.run(&[&trial[..], &sewn[..]].concat()).ends(0);
    let served = Served::with(&folder, &["--port", "0", "--book", "tour"]);
    let Some(browser) = phone(&served, PHONE) else { return };
    measured(&browser, &served);
    let taken = browser.picture();
    let kept = repository(PICTURE);
    if std::env::var_os("SWELLBOOK_TEXTS").is_some_and(|value| value == "write") {
        std::fs::write(&kept, &taken).expect("the picture is written");
    }
    // Fonts differ between machines, so only the sizes are compared.
    let there = std::fs::read(&kept).expect("SWELLBOOK_TEXTS=write takes it");
    assert_eq!(size(&there), size(&taken));
    assert_eq!(size(&there), (2 * PHONE.width, 2 * PHONE.height));
}
